import { z } from "zod";
import {
  dateSchema,
  idParams,
  idSchema,
  instantSchema,
  pageOf,
  pageQuery,
  personRefSchema,
  textSchema,
} from "./common.ts";
import { operation } from "./operation.ts";

/** Why a meter is tested, in the trade's words. */
export const testReasons = [
  "new-shipment",
  "before-installation",
  "in-service-sample",
  "periodic",
  "customer-request",
  "referee",
  "removal",
  "investigation",
  "after-repair",
  "check-of-standard",
] as const;
export type TestReason = (typeof testReasons)[number];

export const testReasonNames: Record<TestReason, string> = {
  "new-shipment": "New-shipment acceptance",
  "before-installation": "Before installation",
  "in-service-sample": "In-service sample",
  periodic: "Periodic",
  "customer-request": "Customer request",
  referee: "Referee (regulator witnessed)",
  removal: "Removal",
  investigation: "Investigation",
  "after-repair": "After repair",
  "check-of-standard": "Check of a standard",
};

/** A test that somebody waits for: why, and by when. */
export const workItemSchema = z.object({
  id: idSchema,
  meterId: idSchema,
  utilityNumber: z.string(),
  reason: z.enum(testReasons),
  dueOn: dateSchema.nullable(),
  note: z.string(),
  openedAt: instantSchema,
  openedBy: personRefSchema.nullable(),
  doneByTestId: idSchema.nullable(),
  assignee: personRefSchema.nullable().describe("Who has taken it; null is nobody"),
  version: z.int(),
});
export type WorkItem = z.infer<typeof workItemSchema>;

export const listWorkItems = operation({
  id: "workItems.list",
  summary: "Open work, most urgent first",
  method: "GET",
  path: "/work-items",
  permission: "workItem.read",
  query: z.object({ ...pageQuery, meterId: idSchema.optional() }),
  reply: pageOf(workItemSchema),
});

export const openWorkItem = operation({
  id: "workItems.open",
  summary: "Ask for a test of a meter",
  method: "POST",
  path: "/work-items",
  permission: "workItem.open",
  body: z.strictObject({
    id: idSchema,
    meterId: idSchema,
    reason: z.enum(testReasons),
    dueOn: dateSchema.nullable(),
    note: textSchema(500),
    assigneeId: idSchema.nullable().optional().describe("Who is to make it; nobody yet when absent"),
  }),
  reply: workItemSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "already-exists", "refused-by-rule"],
});

export const assignWork = operation({
  id: "workItems.assign",
  summary: "Take a piece of work, hand it to somebody, or give it back",
  method: "PUT",
  path: "/work-items/:id/assignee",
  permission: "workItem.assign",
  params: idParams,
  body: z.strictObject({ assigneeId: idSchema.nullable() }),
  reply: workItemSchema,
  versioned: true,
  problems: ["not-found", "not-permitted", "refused-by-rule", "stale", "wrong-state"],
});

export const workItemOperations = [listWorkItems, openWorkItem, assignWork];
