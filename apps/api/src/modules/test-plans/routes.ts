import * as operations from "@sealbook/contract/test-plans";
import type { FastifyInstance } from "fastify";
import { serveRead, serveWrite } from "../../platform/serve.ts";
import * as testPlans from "./test-plans.ts";

export async function testPlansRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listTestPlans, ({ query }) => testPlans.listTestPlans(app.database, query));
  serveRead(app, operations.getTestPlan, ({ params }) => testPlans.getTestPlan(app.database, params.id));
  serveWrite(app, operations.addTestPlan, (tx, { body }) => testPlans.addTestPlan(tx, body));
}
