import { z } from "zod";
import { idParams, idSchema, lineSchema, pageOf, pageQuery } from "./common.ts";
import { operation } from "./operation.ts";

/** Where a customer is served; its jurisdiction picks the rule profile. */
export const servicePointSchema = z.object({
  id: idSchema,
  number: z.string().describe("Service point number, text, leading zeros kept"),
  address: z.string().describe("Personal value; 'erased' once forgotten"),
  area: z.string(),
  jurisdiction: z.string().describe("Key of the rule profile"),
});
export type ServicePoint = z.infer<typeof servicePointSchema>;

export const listServicePoints = operation({
  id: "servicePoints.list",
  summary: "Service points by number",
  method: "GET",
  path: "/service-points",
  permission: "servicePoint.read",
  query: z.object({ ...pageQuery, q: z.string().max(80).optional().describe("Any part of the number") }),
  reply: pageOf(servicePointSchema),
});

export const getServicePoint = operation({
  id: "servicePoints.get",
  summary: "One service point",
  method: "GET",
  path: "/service-points/:id",
  permission: "servicePoint.read",
  params: idParams,
  reply: servicePointSchema,
  problems: ["not-found"],
});

export const createServicePoint = operation({
  id: "servicePoints.create",
  summary: "Add a service point",
  method: "POST",
  path: "/service-points",
  permission: "servicePoint.manage",
  body: z.strictObject({
    id: idSchema,
    number: lineSchema(40),
    address: lineSchema(200),
    area: lineSchema(80),
    jurisdiction: lineSchema(40),
  }),
  reply: servicePointSchema,
  status: 201,
  idempotent: true,
  problems: ["already-exists", "refused-by-rule"],
});

export const servicePointOperations = [listServicePoints, getServicePoint, createServicePoint];
