import { z } from "zod";
import { idParams, idSchema, lineSchema } from "./common.ts";
import { meterColumns } from "./meter-list.ts";
import { operation } from "./operation.ts";

/** A view of the list of meters that somebody keeps by name: filters, order and columns. */
export const savedViewBodySchema = z.strictObject({
  search: z
    .record(z.string().max(40), z.string().max(80))
    .describe("Filters and order by name, as they stand in the address"),
  columns: z.array(z.enum(meterColumns)).min(1).max(meterColumns.length),
});
export type SavedViewBody = z.infer<typeof savedViewBodySchema>;

export const savedViewSchema = z.object({
  id: idSchema,
  name: z.string(),
  shared: z.boolean().describe("Everybody sees it; its owner alone changes it"),
  own: z.boolean().describe("It belongs to whoever asks"),
  ownerName: z.string().describe("'erased' once the person was forgotten"),
  body: savedViewBodySchema,
  version: z.int(),
});
export type SavedView = z.infer<typeof savedViewSchema>;

/** A person keeps at most so many views; all can be shown at once. */
export const mostSavedViews = 50;

export const listSavedViews = operation({
  id: "savedViews.list",
  summary: "Views of the list of meters: one's own, then those that others share, by name",
  method: "GET",
  path: "/saved-views",
  permission: "meter.read",
  reply: z.object({
    rows: z.array(savedViewSchema).max(250).describe("One's own, and the first 200 shared ones"),
  }),
});

const fields = { name: lineSchema(60), shared: z.boolean(), body: savedViewBodySchema };

export const saveView = operation({
  id: "savedViews.save",
  summary: "Keep a view of the list of meters by name",
  method: "POST",
  path: "/saved-views",
  permission: "meter.read",
  body: z.strictObject({ id: idSchema, ...fields }),
  reply: savedViewSchema,
  status: 201,
  idempotent: true,
  problems: ["already-exists", "refused-by-rule"],
});

export const changeSavedView = operation({
  id: "savedViews.change",
  summary: "Change a view of one's own",
  method: "PUT",
  path: "/saved-views/:id",
  permission: "meter.read",
  params: idParams,
  body: z.strictObject(fields),
  reply: savedViewSchema,
  versioned: true,
  problems: ["not-found", "already-exists", "stale"],
});

export const removeSavedView = operation({
  id: "savedViews.remove",
  summary: "Remove a view of one's own",
  method: "DELETE",
  path: "/saved-views/:id",
  permission: "meter.read",
  params: idParams,
  problems: ["not-found"],
});

export const savedViewOperations = [listSavedViews, saveView, changeSavedView, removeSavedView];
