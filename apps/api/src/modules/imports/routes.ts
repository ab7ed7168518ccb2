import * as operations from "@sealbook/contract/imports";
import type { FastifyInstance } from "fastify";
import { contentDisposition } from "../../platform/content-disposition.ts";
import { refuseWhenNearlyFull } from "../../platform/disk.ts";
import { serveFile, serveRead, serveWrite } from "../../platform/serve.ts";
import * as imports from "./imports.ts";

export async function importsRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listImports, ({ query }) => imports.listImports(app.database, query));
  serveRead(app, operations.getImport, ({ params }) => imports.getImport(app.database, params.id));
  serveWrite(app, operations.addImport, (tx, { body }) => imports.addImport(tx, app.database, body));
  serveWrite(app, operations.checkImport, async (tx, { params, body }) => {
    await refuseWhenNearlyFull(app.config);
    return await imports.checkImport(tx, app.database, params.id, body.mappingId);
  });
  serveWrite(app, operations.runImport, async (tx, { params }) => {
    await refuseWhenNearlyFull(app.config);
    return await imports.runImport(tx, params.id);
  });
  serveWrite(app, operations.cancelImport, (tx, { params }) => imports.cancelImport(tx, params.id));
  serveRead(app, operations.listImportProblems, ({ params, query }) =>
    imports.listImportProblems(app.database, params.id, query),
  );
  serveFile(app, operations.getSetAsideRows, async ({ params, reply }) => {
    const { fileName, rows } = await imports.getSetAsideRows(app.database, params.id);
    return reply
      .type("text/csv; charset=utf-8")
      .header("content-disposition", contentDisposition(fileName))
      .header("x-content-type-options", "nosniff")
      .send(rows);
  });
  serveRead(app, operations.listImportMappings, ({ query }) =>
    imports.listImportMappings(app.database, query),
  );
  serveWrite(app, operations.createImportMapping, (tx, { body }) => imports.createImportMapping(tx, body));
  serveWrite(app, operations.changeImportMapping, (tx, { params, body, version }) =>
    imports.changeImportMapping(tx, params.id, version, body),
  );
}
