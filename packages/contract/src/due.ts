import { z } from "zod";
import { dateSchema, idSchema, pageOf, pageQuery, personRefSchema } from "./common.ts";
import { countedAtMost } from "./meter-list.ts";
import { operation } from "./operation.ts";
import { testReasons } from "./work-items.ts";

/** What falls due in a shop. */
export const dueKinds = ["periodic", "sample", "asked", "standard"] as const;
export type DueKind = (typeof dueKinds)[number];
export const dueKindNames: Record<DueKind, string> = {
  periodic: "Periodic test",
  sample: "Sample to test",
  asked: "Test asked for",
  standard: "Standard to calibrate",
};

/** The same of several, as a count needs them. */
export const dueKindPlurals: Record<DueKind, string> = {
  periodic: "periodic tests",
  sample: "samples to test",
  asked: "tests asked for",
  standard: "standards to calibrate",
};

/** Filters of due work; all that are given hold at once. */
export const dueFilters = {
  kind: z.enum(dueKinds).optional(),
  placeId: idSchema.optional().describe("Place where the meter is now; leaves standards out"),
  area: z
    .string()
    .max(80)
    .optional()
    .describe("Area of the service point where the meter is, exactly; leaves standards out"),
  assigneeId: idSchema.optional().describe("Work that this person has taken: asked tests and samples alone"),
  unassigned: z.literal("true").optional().describe("Only what nobody has taken"),
};

export const dueRowSchema = z.object({
  kind: z.enum(dueKinds),
  id: idSchema.describe("Meter of a periodic test, work item of an asked test or sample, standard"),
  dueOn: dateSchema.nullable().describe("Local date of the shop; null where nobody has said by when"),
  name: z.string().describe("Utility number of the meter, designation of the standard"),
  meterId: idSchema.nullable(),
  reason: z.enum(testReasons).nullable(),
  note: z.string().describe("Note of the work; for a periodic test the rule it follows from"),
  place: z.string(),
  assignee: personRefSchema.nullable(),
  version: z.int().nullable().describe("Of the work item; null for the others"),
});
export type DueRow = z.infer<typeof dueRowSchema>;

export const listDue = operation({
  id: "due.list",
  summary: "What falls due, soonest first: periodic tests, samples, asked tests, standards",
  method: "GET",
  path: "/due",
  permission: "workItem.read",
  query: z.object({
    ...pageQuery,
    ...dueFilters,
    from: dateSchema.optional().describe("Due on this day or later"),
    to: dateSchema.optional().describe("Due on this day or before; leaves out what has no date"),
  }),
  reply: pageOf(dueRowSchema),
});

export const dueCalendar = operation({
  id: "due.calendar",
  summary: "How much falls due on each day of a month, by kind, and how much is late",
  method: "GET",
  path: "/due/calendar",
  permission: "workItem.read",
  query: z.object({
    ...dueFilters,
    month: z
      .string()
      .regex(/^\d{4}-(0[1-9]|1[0-2])$/, "a month such as 2026-11")
      .describe("Month, such as 2026-11"),
  }),
  reply: z.object({
    today: dateSchema,
    days: z
      .array(z.object({ on: dateSchema, kind: z.enum(dueKinds), count: z.int().positive() }))
      .max(31 * dueKinds.length)
      .describe("Days with something due; a count is exact"),
    late: z.object({
      count: z.int().max(countedAtMost).describe("Due before today"),
      more: z.boolean().describe("There are more than this count"),
    }),
  }),
});

export const dueOperations = [listDue, dueCalendar];
