import * as operations from "@sealbook/contract/reports";
import type { FastifyInstance } from "fastify";
import { contentDisposition } from "../../platform/content-disposition.ts";
import { headToPrint } from "../../platform/log/head-to-print.ts";
import { serveFile, serveRead, serveWrite } from "../../platform/serve.ts";
import { reportBundle } from "./bundle.ts";
import { reportCsv, reportSheet } from "./report-files.ts";
import { listReportedTests } from "./reported-tests.ts";
import * as reports from "./reports.ts";
import { verifyPage } from "./verify-page.ts";

export async function reportsRoutes(app: FastifyInstance): Promise<void> {
  const { database } = app;
  serveRead(app, operations.listReports, ({ query, actor }) => reports.listReports(database, query, actor));
  serveRead(app, operations.getReport, ({ params, actor }) => reports.getReport(database, params.id, actor));
  serveWrite(app, operations.draftReport, (tx, { body }) => reports.draftReport(database, tx, body));
  serveWrite(app, operations.reviewReport, (tx, { params, body }) =>
    reports.reviewReport(database, tx, params.id, body.password),
  );
  serveWrite(app, operations.signReport, (tx, { params, body }) =>
    reports.signReport(database, tx, params.id, body.password),
  );
  serveWrite(app, operations.releaseReport, async (tx, { params, body }) =>
    reports.releaseReport(database, tx, params.id, body.password, await headToPrint(database, app.logSigner)),
  );
  serveWrite(app, operations.withdrawReport, (tx, { params, body }) =>
    reports.withdrawReport(database, tx, params.id, body.reason),
  );
  serveRead(app, operations.listReportedTests, ({ params, query, actor }) =>
    listReportedTests(database, params.id, query, actor),
  );

  serveFile(app, operations.getReportPdf, async ({ params, actor, reply }) => {
    const { name, size, bytes } = await reports.reportPdf(database, params.id, actor);
    return reply
      .type("application/pdf")
      .header("content-length", size)
      .header("content-disposition", contentDisposition(name).replace("attachment", "inline"))
      .send(bytes);
  });
  serveFile(app, operations.getReportCsv, async ({ params, actor, reply }) => {
    const { report, body } = await reports.reportFile(database, params.id, actor);
    return reply
      .type("text/csv; charset=utf-8")
      .header("content-disposition", contentDisposition(`${nameOf(report)}.csv`))
      .send(reportCsv(body));
  });
  serveFile(app, operations.getReportSheet, async ({ params, actor, reply }) => {
    const { report, body } = await reports.reportFile(database, params.id, actor);
    return reply
      .type("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")
      .header("content-disposition", contentDisposition(`${nameOf(report)}.xlsx`))
      .send(Buffer.from(await reportSheet(body)));
  });
  serveFile(app, operations.getReportJson, async ({ params, actor, reply }) => {
    const { report, json } = await reports.reportFile(database, params.id, actor);
    return reply
      .type("application/json; charset=utf-8")
      .header("content-disposition", contentDisposition(`${nameOf(report)}.json`))
      .send(json);
  });
  serveFile(app, operations.getReportBundle, async ({ params, query, actor, reply }) => {
    const { fileName, bytes } = await reportBundle(
      database,
      app.logSigner,
      params.id,
      { names: query.names, heldSize: query.heldSize ?? null },
      actor,
    );
    return reply
      .type("application/gzip")
      .header("content-disposition", contentDisposition(fileName))
      .send(bytes);
  });
  serveRead(app, operations.getVerifyPageHash, async () => ({ sha256: (await verifyPage()).sha256 }));
  serveFile(app, operations.getVerifyPage, async ({ reply }) => {
    const { bytes } = await verifyPage();
    return reply
      .type("text/html; charset=utf-8")
      .header("content-disposition", contentDisposition("verify-bundle.html"))
      .send(bytes);
  });
  serveFile(app, operations.getReportJsonSchema, async ({ reply }) =>
    reply.type("application/schema+json").send(JSON.stringify(reports.reportJsonSchema)),
  );
}

function nameOf({
  periodFrom,
  periodTo,
  edition,
}: {
  periodFrom: string;
  periodTo: string;
  edition: number;
}) {
  return `report ${periodFrom} to ${periodTo} edition ${edition}`;
}
