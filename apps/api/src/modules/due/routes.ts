import * as operations from "@sealbook/contract/due";
import type { FastifyInstance } from "fastify";
import { reading } from "../../platform/reading.ts";
import { serveRead } from "../../platform/serve.ts";
import { dueCalendar, listDue } from "./due.ts";

export async function dueRoutes(app: FastifyInstance): Promise<void> {
  const source = reading(app.database);
  serveRead(app, operations.listDue, ({ query }) => listDue(source, query));
  serveRead(app, operations.dueCalendar, ({ query }) => dueCalendar(source, query));
}
