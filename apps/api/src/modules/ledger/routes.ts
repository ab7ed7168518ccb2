import * as operations from "@sealbook/contract/ledger";
import type { FastifyInstance, FastifyReply } from "fastify";
import { contentDisposition } from "../../platform/content-disposition.ts";
import { serveFile, serveRead } from "../../platform/serve.ts";
import * as ledger from "./ledger.ts";
import * as log from "./log.ts";
import * as looks from "./looks.ts";

export async function ledgerRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listLedger, ({ query }) => ledger.listLedger(app.database, query));
  serveRead(app, operations.getLedgerEntry, ({ params }) => ledger.getLedgerEntry(app.database, params.id));
  serveRead(app, operations.listLooks, ({ query }) => looks.listLooks(app.database, query));
  serveRead(app, operations.getLogHead, () => log.getLogHead(app.database, app.logSigner));
  serveFile(app, operations.getLogHeadFile, async ({ reply }) => {
    const { size, note } = await log.getLogHead(app.database, app.logSigner);
    return textFile(reply, `log-head-${size}.txt`, note);
  });
  serveRead(app, operations.getEntryProof, ({ params }) =>
    log.getEntryProof(app.database, app.logSigner, params.id),
  );
  serveFile(app, operations.getEntryProofFile, async ({ params, reply }) => {
    const { index, file } = await log.getEntryProof(app.database, app.logSigner, params.id);
    return textFile(reply, `entry-${index}.tlog-proof`, file);
  });
  serveRead(app, operations.getConsistencyProof, ({ query }) => log.getConsistencyProof(app.database, query));
}

function textFile(reply: FastifyReply, name: string, text: string): FastifyReply {
  return reply
    .header("content-type", "text/plain; charset=utf-8")
    .header("content-disposition", contentDisposition(name))
    .send(text);
}
