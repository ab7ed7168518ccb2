import * as operations from "@sealbook/contract/search";
import type { FastifyInstance } from "fastify";
import { reading } from "../../platform/reading.ts";
import { serveRead } from "../../platform/serve.ts";
import { searchBook } from "./search.ts";

export async function searchRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.searchBook, ({ query }) => searchBook(reading(app.database), query.q));
}
