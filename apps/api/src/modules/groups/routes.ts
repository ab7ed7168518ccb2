import * as operations from "@sealbook/contract/groups";
import type { FastifyInstance } from "fastify";
import { contentDisposition } from "../../platform/content-disposition.ts";
import { reading } from "../../platform/reading.ts";
import { serveFile, serveRead, serveWrite } from "../../platform/serve.ts";
import * as groups from "./groups.ts";

export async function groupsRoutes(app: FastifyInstance): Promise<void> {
  const { database } = app;
  serveRead(app, operations.previewProgramme, ({ query }) =>
    groups.previewProgramme(database, query.schemeId),
  );
  serveRead(app, operations.listProgrammes, ({ query }) => groups.listProgrammes(database, query));
  serveRead(app, operations.getProgramme, ({ params }) => groups.getProgramme(reading(database), params.id));
  serveWrite(app, operations.createProgramme, (tx, { body }) => groups.createProgramme(tx, body));
  serveWrite(app, operations.drawProgramme, (tx, { params, body, version }) =>
    groups.drawProgramme(tx, params.id, version, body.seed),
  );
  serveWrite(app, operations.cancelProgramme, (tx, { params, version }) =>
    groups.cancelProgramme(tx, params.id, version),
  );
  serveWrite(app, operations.resumeProgramme, (tx, { params, version }) =>
    groups.resumeProgramme(tx, params.id, version),
  );
  serveWrite(app, operations.openSecondTry, (tx, { params, body }) =>
    groups.openSecondTry(tx, params.id, body),
  );
  serveRead(app, operations.listPulls, ({ params, query }) => groups.listPulls(database, params.id, query));
  serveFile(app, operations.getPullList, async ({ params, query, reply }) => {
    const { fileName, rows } = await groups.getPullList(database, params.id, query);
    return reply
      .type("text/csv; charset=utf-8")
      .header("content-disposition", contentDisposition(fileName))
      .header("x-content-type-options", "nosniff")
      .send(rows);
  });
  serveRead(app, operations.listGroupYears, ({ query }) => groups.listGroupYears(database, query));
}
