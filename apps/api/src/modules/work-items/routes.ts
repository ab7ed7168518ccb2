import * as operations from "@sealbook/contract/work-items";
import type { FastifyInstance } from "fastify";
import { serveRead, serveWrite } from "../../platform/serve.ts";
import * as workItems from "./work-items.ts";

export async function workItemsRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listWorkItems, ({ query }) => workItems.listWorkItems(app.database, query));
  serveWrite(app, operations.openWorkItem, (tx, { body }) => workItems.openWorkItem(tx, body));
  serveWrite(app, operations.assignWork, (tx, { body, params, version }) =>
    workItems.assignWork(tx, params.id, version, body.assigneeId),
  );
}
