import { z } from "zod";
import { dateSchema, idParams, idSchema, lineSchema, reasonSchema, textSchema } from "./common.ts";
import { operation } from "./operation.ts";
import { lotSchema } from "./sampling.ts";

// A shipment is a lot of meters of one type, delivered together. Its list, plan, draw, results and decision are those of
// any lot (sampling.ts); here stands what only shipments have: taking in, releasing, returning, resubmitting.

export const lotNumberSchema = lineSchema(40).describe("Unique among lots");

export const createShipment = operation({
  id: "shipments.create",
  summary: "Open a shipment lot: type, contract and scheme; its meters follow",
  method: "POST",
  path: "/shipments",
  permission: "shipment.receive",
  body: z.strictObject({
    id: idSchema,
    number: lotNumberSchema,
    schemeId: idSchema,
    typeId: idSchema,
    contract: lineSchema(80).describe("Maker, type and contract make the series that switching follows"),
    purchaseOrder: z.string().max(80),
    receivedOn: dateSchema.describe("When the shipment was received"),
    note: textSchema(1000),
  }),
  reply: lotSchema,
  status: 201,
  idempotent: true,
  problems: ["already-exists", "refused-by-rule"],
});

/** Why a number does not enter a shipment. */
export const shipmentRefusals = [
  "unknown-meter",
  "ambiguous-serial",
  "other-type",
  "not-received",
  "in-another-lot",
  "twice-in-list",
  "number-taken",
  "malformed",
] as const;
export const shipmentRefusalNames: Record<(typeof shipmentRefusals)[number], string> = {
  "unknown-meter": "No such meter on record",
  "ambiguous-serial": "Several meters have this serial",
  "other-type": "Of another type",
  "not-received": "Not in state received",
  "in-another-lot": "In another lot",
  "twice-in-list": "Twice in the list",
  "number-taken": "Utility number belongs to another meter",
  malformed: "Not a number that can be kept",
};

export const addShipmentMetersReplySchema = z.object({
  added: z.int(),
  already: z.int().describe("In the lot before"),
  setAside: z.array(z.object({ number: z.string(), code: z.enum(shipmentRefusals), detail: z.string() })),
  members: z.int().describe("Meters in the lot now"),
});

export const addShipmentMeters = operation({
  id: "shipments.addMeters",
  summary: "Put meters on record into a shipment by utility number or serial; what cannot enter is set aside",
  method: "POST",
  path: "/shipments/:id/meters",
  permission: "shipment.receive",
  params: idParams,
  body: z.strictObject({ numbers: z.array(z.string().max(80)).min(1).max(20_000) }),
  reply: addShipmentMetersReplySchema,
  idempotent: true,
  problems: ["not-found", "wrong-state"],
});

export const releaseShipment = operation({
  id: "shipments.release",
  summary: "Put the meters of an accepted shipment in stock; those found nonconforming are held back",
  method: "POST",
  path: "/shipments/:id/release",
  permission: "shipment.dispose",
  params: idParams,
  body: z.strictObject({ placeId: idSchema.describe("The store they go to") }),
  reply: z.object({
    lot: lotSchema,
    moved: z.int(),
    heldBack: z.array(z.string()).describe("Utility numbers"),
  }),
  versioned: true,
  problems: ["not-found", "stale", "wrong-state", "refused-by-rule"],
});

export const returnShipment = operation({
  id: "shipments.return",
  summary: "Send a shipment that was not accepted back to its maker: its meters leave the inventory",
  method: "POST",
  path: "/shipments/:id/return",
  permission: "shipment.dispose",
  params: idParams,
  body: z.strictObject({ reason: reasonSchema }),
  reply: z.object({ lot: lotSchema, moved: z.int() }),
  versioned: true,
  problems: ["not-found", "stale", "wrong-state"],
});

export const listUnmended = operation({
  id: "shipments.listUnmended",
  summary:
    "Sampled meters of a shipment that are known to be nonconforming and that no later pass has found good: a resubmission leaves them out",
  method: "GET",
  path: "/shipments/:id/unmended",
  permission: "sampling.read",
  params: idParams,
  reply: z.object({ utilityNumbers: z.array(z.string()).max(10_000) }),
  problems: ["not-found"],
});

export const resubmitShipment = operation({
  id: "shipments.resubmit",
  summary:
    "Screen a shipment that was not accepted and submit the rest as a new lot; it does not count for switching",
  method: "POST",
  path: "/shipments/:id/resubmission",
  permission: "shipment.dispose",
  params: idParams,
  body: z.strictObject({
    id: idSchema.describe("Of the new lot"),
    number: lotNumberSchema,
    leftOut: z
      .array(z.string().max(80))
      .max(20_000)
      .describe("Utility numbers that the screening took out; those of the unmended stand among them"),
    reason: reasonSchema,
  }),
  reply: lotSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "already-exists", "wrong-state", "refused-by-rule"],
});

export const shipmentOperations = [
  createShipment,
  addShipmentMeters,
  releaseShipment,
  returnShipment,
  listUnmended,
  resubmitShipment,
];
