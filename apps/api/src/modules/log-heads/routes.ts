import * as operations from "@sealbook/contract/log-heads";
import type { FastifyInstance } from "fastify";
import { headFolder } from "../../platform/log/log-signer.ts";
import { reading } from "../../platform/reading.ts";
import { serveRead, serveWrite } from "../../platform/serve.ts";
import * as logHeads from "./log-heads.ts";

export async function logHeadsRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listOutlets, ({ actor }) => logHeads.listOutlets(reading(app.database), actor));
  serveWrite(app, operations.addOutlet, (tx, { body }) => logHeads.addOutlet(tx, body));
  serveWrite(app, operations.changeOutlet, (tx, { params, version, body }) =>
    logHeads.changeOutlet(tx, params.id, version, body),
  );
  serveWrite(app, operations.sendHead, async (tx, { params }) => {
    await logHeads.sendHead(tx, params.id);
    return undefined;
  });
  serveRead(app, operations.getLostHistory, () => logHeads.getLostHistory(reading(app.database)));
  serveWrite(app, operations.acceptHistory, async (tx, { params, body }) => {
    await logHeads.acceptHistory(tx, params.id, body, headFolder(app.config));
    return undefined;
  });
}
