import { z } from "zod";
import {
  dateSchema,
  idParams,
  idSchema,
  pageOf,
  pageQuery,
  personRefSchema,
  reasonSchema,
  textSchema,
} from "./common.ts";
import { lotKinds } from "./lot-terms.ts";
import { operation } from "./operation.ts";

export const correctiveActionKinds = [
  "accelerate",
  "split",
  "retire-by",
  "screen-and-resubmit",
  "return-to-maker",
  "other",
] as const;

export const correctiveActionNames: Record<(typeof correctiveActionKinds)[number], string> = {
  accelerate: "Accelerate testing",
  split: "Split the group",
  "retire-by": "Retire by a date",
  "screen-and-resubmit": "Screen and resubmit",
  "return-to-maker": "Return to the maker",
  other: "Other action",
};

export const correctiveActionSchema = z.object({
  id: idSchema,
  lotId: idSchema,
  lotKind: z.enum(lotKinds),
  lotNumber: z.string(),
  lotTitle: z.string(),
  kind: z.enum(correctiveActionKinds),
  detail: z.string(),
  owner: personRefSchema,
  dueOn: dateSchema,
  doneOn: dateSchema.nullable(),
  doneNote: z.string(),
  version: z.int(),
  entryId: idSchema,
});

export type CorrectiveAction = z.infer<typeof correctiveActionSchema>;

export const listCorrectiveActions = operation({
  id: "sampling.listActions",
  summary: "Corrective actions by due date",
  method: "GET",
  path: "/corrective-actions",
  permission: "sampling.read",
  query: z.object({ ...pageQuery, state: z.enum(["open", "done"]).optional() }),
  reply: pageOf(correctiveActionSchema),
});

export const addCorrectiveAction = operation({
  id: "sampling.addAction",
  summary: "Give a decided lot an action with owner and due date",
  method: "POST",
  path: "/lots/:id/actions",
  permission: "sampling.decide",
  params: idParams,
  body: z.strictObject({
    id: idSchema,
    kind: z.enum(correctiveActionKinds),
    detail: reasonSchema,
    ownerId: idSchema,
    dueOn: dateSchema,
  }),
  reply: correctiveActionSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "already-exists", "wrong-state", "refused-by-rule"],
});

export const changeCorrectiveAction = operation({
  id: "sampling.changeAction",
  summary: "Move an action to another owner or date, or say that it is done",
  method: "PUT",
  path: "/corrective-actions/:id",
  permission: "sampling.decide",
  params: idParams,
  body: z.strictObject({
    ownerId: idSchema,
    dueOn: dateSchema,
    doneOn: dateSchema.nullable(),
    doneNote: textSchema(500),
    reason: reasonSchema,
  }),
  reply: correctiveActionSchema,
  versioned: true,
  problems: ["not-found", "stale", "refused-by-rule"],
});

export const correctiveActionOperations = [
  listCorrectiveActions,
  addCorrectiveAction,
  changeCorrectiveAction,
];
