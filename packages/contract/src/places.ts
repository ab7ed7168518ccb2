import { z } from "zod";
import { idParams, idSchema, lineSchema, pageOf, pageQuery } from "./common.ts";
import { operation } from "./operation.ts";

/** Kinds of place where a meter can be; a service point is one of its own area. */
export const placeKinds = ["shop", "store", "shelf", "van", "service-point"] as const;
export type PlaceKind = (typeof placeKinds)[number];

export const placeKindNames: Record<PlaceKind, string> = {
  shop: "Shop",
  store: "Store room",
  shelf: "Shelf",
  van: "Van",
  "service-point": "Service point",
};

/** Where a meter can be. */
export const placeSchema = z.object({
  id: idSchema,
  kind: z.enum(placeKinds),
  name: z.string().describe("A shelf's begins with that of its store"),
});
export type Place = z.infer<typeof placeSchema>;

/** A place of the utility's own as its list shows it. */
export const placeRowSchema = placeSchema.extend({
  ownName: z.string().describe("The name without that of the place around it"),
  parentId: idSchema.nullable().describe("The shop of a store, the store of a shelf"),
  closed: z.boolean().describe("Nothing is put there any more"),
  version: z.int(),
});
export type PlaceRow = z.infer<typeof placeRowSchema>;

export const listPlaces = operation({
  id: "places.list",
  summary: "Shops, store rooms, shelves and vans by name",
  method: "GET",
  path: "/places",
  permission: "place.read",
  query: z.object({
    ...pageQuery,
    q: z.string().max(80).optional().describe("Any part of the name"),
    closed: z.enum(["yes", "no"]).default("no").describe("Whether closed places are listed, too"),
  }),
  reply: pageOf(placeRowSchema),
});

export const getPlace = operation({
  id: "places.get",
  summary: "One place and how many meters of each state are in it",
  method: "GET",
  path: "/places/:id",
  permission: "place.read",
  params: idParams,
  reply: placeRowSchema.extend({
    meters: z
      .array(z.object({ state: z.string(), meters: z.int() }))
      .describe("Meters in it, shelves of it not counted"),
    within: z
      .array(placeSchema.extend({ meters: z.int() }))
      .max(200)
      .describe("Places inside it"),
  }),
  problems: ["not-found"],
});

const metersInPlaceSchema = z.object({
  id: idSchema,
  utilityNumber: z.string(),
  serial: z.string(),
  type: z.string(),
  state: z.string(),
  held: z.boolean(),
});

export const listMetersInPlace = operation({
  id: "places.meters",
  summary: "The meters in a place by utility number",
  method: "GET",
  path: "/places/:id/meters",
  permission: "place.read",
  params: idParams,
  query: z.object({ ...pageQuery }),
  reply: pageOf(metersInPlaceSchema),
});

export const newPlaceSchema = z.strictObject({
  id: idSchema,
  kind: z.enum(["shop", "store", "shelf", "van"]),
  name: lineSchema(80),
  parentId: idSchema.nullable().describe("A shelf needs its store; a store may name its shop"),
});

export const createPlace = operation({
  id: "places.create",
  summary: "Add a shop, a store room, a shelf or a van",
  method: "POST",
  path: "/places",
  permission: "place.manage",
  body: newPlaceSchema,
  reply: placeRowSchema,
  status: 201,
  idempotent: true,
  problems: ["already-exists", "refused-by-rule"],
});

export const changePlace = operation({
  id: "places.change",
  summary: "Rename a place, close it when it is empty, or open it again",
  method: "PUT",
  path: "/places/:id",
  permission: "place.manage",
  params: idParams,
  body: z.strictObject({ name: lineSchema(80), closed: z.boolean() }),
  reply: placeRowSchema,
  versioned: true,
  problems: ["not-found", "stale", "already-exists", "refused-by-rule"],
});

export const placeOperations = [listPlaces, getPlace, listMetersInPlace, createPlace, changePlace];
