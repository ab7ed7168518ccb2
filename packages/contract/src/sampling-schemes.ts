import { samplingSchemeSchema } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { z } from "zod";
import {
  idParams,
  idSchema,
  instantSchema,
  lineSchema,
  pageOf,
  pageQuery,
  personRefSchema,
  reasonSchema,
} from "./common.ts";
import { operation } from "./operation.ts";

/** A scheme never changes: a change is a new revision, and lots keep the one they were made under. */
export const schemeSchema = z.object({
  id: idSchema,
  code: z.string(),
  revision: z.int(),
  name: z.string(),
  body: samplingSchemeSchema,
  recordedAt: instantSchema,
  recordedBy: personRefSchema.nullable(),
  current: z.boolean().describe("Whether it is the newest revision of its code"),
  entryId: idSchema,
});

export type Scheme = z.infer<typeof schemeSchema>;

export const schemeRefSchema = z.object({
  id: idSchema,
  code: z.string(),
  revision: z.int(),
  name: z.string(),
});

export const schemeCodeSchema = z
  .string()
  .regex(/^[A-Z0-9][A-Z0-9-]{1,39}$/, "capital letters, digits and dashes");

export const listSchemes = operation({
  id: "sampling.listSchemes",
  summary: "Sampling schemes, current revisions by code",
  method: "GET",
  path: "/sampling-schemes",
  permission: "sampling.read",
  query: z.object({ ...pageQuery, purpose: z.enum(["shipment", "in-service"]).optional() }),
  reply: pageOf(schemeSchema),
});

export const getScheme = operation({
  id: "sampling.getScheme",
  summary: "One revision of a sampling scheme with its revisions",
  method: "GET",
  path: "/sampling-schemes/:id",
  permission: "sampling.read",
  params: idParams,
  reply: schemeSchema.extend({ revisions: z.array(schemeRefSchema).describe("Newest first") }),
  problems: ["not-found"],
});

export const addScheme = operation({
  id: "sampling.addScheme",
  summary: "Add a sampling scheme, or a new revision of one (same code, next revision)",
  method: "POST",
  path: "/sampling-schemes",
  permission: "sampling.manageSchemes",
  body: z.strictObject({
    id: idSchema,
    code: schemeCodeSchema,
    revision: z.int().min(1).max(999),
    name: lineSchema(120),
    body: samplingSchemeSchema,
    reason: reasonSchema,
  }),
  reply: schemeSchema,
  status: 201,
  idempotent: true,
  problems: ["already-exists", "refused-by-rule"],
});

export const samplingSchemeOperations = [listSchemes, getScheme, addScheme];
