import * as operations from "@sealbook/contract/inventory-flags";
import type { FastifyInstance } from "fastify";
import { serveRead, serveWrite } from "../../platform/serve.ts";
import * as flags from "./inventory-flags.ts";

export async function inventoryFlagsRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listInventoryFlags, ({ query }) => flags.listInventoryFlags(app.database, query));
  serveWrite(app, operations.settleInventoryFlag, (tx, { params, body }) =>
    flags.settleInventoryFlag(tx, params.number, body),
  );
  serveWrite(app, operations.startInventoryCheck, (tx) => flags.startInventoryCheck(tx));
  serveRead(app, operations.getInventoryCheck, () => flags.getInventoryCheck(app.database));
}
