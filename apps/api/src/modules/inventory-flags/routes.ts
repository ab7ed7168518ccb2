import * as operations from "@sealbook/contract/inventory-flags";
import type { FastifyInstance } from "fastify";
import { reading } from "../../platform/reading.ts";
import { serveRead, serveWrite } from "../../platform/serve.ts";
import * as flags from "./inventory-flags.ts";

export async function inventoryFlagsRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listInventoryFlags, ({ query }) =>
    flags.listInventoryFlags(reading(app.database), query),
  );
  serveWrite(app, operations.settleInventoryFlag, (tx, { params, body }) =>
    flags.settleInventoryFlag(tx, params.number, body),
  );
  serveWrite(app, operations.startInventoryCheck, (tx) => flags.startInventoryCheck(tx));
  serveRead(app, operations.getInventoryCheck, () => flags.getInventoryCheck(reading(app.database)));
}
