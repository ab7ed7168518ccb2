import * as operations from "@sealbook/contract/meter-tests";
import type { FastifyInstance } from "fastify";
import { headToPrint } from "../../platform/log/head-to-print.ts";
import { ProblemError } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { serveFile, serveRead, serveWrite } from "../../platform/serve.ts";
import * as meterTests from "./meter-tests.ts";

export async function meterTestsRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.prepareMeterTest, ({ params, query }) =>
    meterTests.prepareMeterTest(app.database, params.id, query),
  );
  serveRead(app, operations.listMeterTests, ({ query, actor }) => {
    if (actor === null) throw new ProblemError("not-signed-in", "Sign in to go on.");
    return meterTests.listMeterTests(app.database, query, actor.id);
  });
  serveRead(app, operations.getMeterTest, ({ params }) =>
    meterTests.getMeterTest(reading(app.database), params.id),
  );
  serveWrite(app, operations.recordMeterTest, (tx, { body }) =>
    meterTests.recordMeterTest(tx, body, new Date()),
  );
  serveWrite(app, operations.amendMeterTest, (tx, { params, body }) =>
    meterTests.amendMeterTest(tx, params.id, body, new Date()),
  );
  serveWrite(app, operations.signMeterTests, (tx, { body }) => meterTests.signMeterTests(tx, body));
  serveFile(app, operations.getTestCertificate, async ({ params, reply }) => {
    const { number, pdf } = await meterTests.getCertificate(
      app.database,
      params.id,
      await headToPrint(app.database, app.logSigner),
    );
    return reply
      .type("application/pdf")
      .header("content-disposition", `inline; filename="meter-test-${number}.pdf"`)
      .send(pdf);
  });
}
