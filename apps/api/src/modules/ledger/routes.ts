import * as operations from "@sealbook/contract/ledger";
import type { FastifyInstance } from "fastify";
import { serveRead } from "../../platform/serve.ts";
import * as ledger from "./ledger.ts";

export async function ledgerRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listLedger, ({ query }) => ledger.listLedger(app.database, query));
  serveRead(app, operations.getLedgerEntry, ({ params }) => ledger.getLedgerEntry(app.database, params.id));
}
