import * as operations from "@sealbook/contract/meters";
import type { FastifyInstance } from "fastify";
import { serveRead, serveWrite } from "../../platform/serve.ts";
import * as meters from "./meters.ts";

export async function metersRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listMeters, ({ query }) => meters.listMeters(app.database, query));
  serveRead(app, operations.findMeter, ({ query }) => meters.findMeter(app.database, query.number));
  serveRead(app, operations.getMeter, ({ params }) => meters.getMeter(app.database, params.id));
  serveWrite(app, operations.createMeter, (tx, { body }) => meters.createMeter(tx, body));
}
