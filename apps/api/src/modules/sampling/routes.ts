import * as operations from "@sealbook/contract/sampling";
import type { FastifyInstance } from "fastify";
import { contentDisposition } from "../../platform/content-disposition.ts";
import { headToPrint } from "../../platform/log/head-to-print.ts";
import { reading } from "../../platform/reading.ts";
import { serveFile, serveRead, serveWrite } from "../../platform/serve.ts";
import * as actions from "./actions.ts";
import * as sampling from "./sampling.ts";
import * as schemes from "./schemes.ts";
import * as series from "./series.ts";

export async function samplingRoutes(app: FastifyInstance): Promise<void> {
  const { database } = app;
  serveRead(app, operations.listSchemes, ({ query }) => schemes.listSchemes(database, query));
  serveRead(app, operations.getScheme, ({ params }) => schemes.getScheme(database, params.id));
  serveWrite(app, operations.addScheme, (tx, { body }) => schemes.addScheme(tx, body));

  serveRead(app, operations.listLots, ({ query }) => sampling.listLots(database, query));
  serveRead(app, operations.getLot, ({ params, actor }) =>
    sampling.getLot(reading(database), params.id, actor),
  );
  serveRead(app, operations.listLotMembers, ({ params, query }) =>
    sampling.listLotMembers(database, params.id, query),
  );
  serveWrite(app, operations.planLot, (tx, { params, body, version }) =>
    sampling.plan(tx, params.id, version, body.dueOn),
  );
  serveWrite(app, operations.listCandidates, (tx, { params, body }) =>
    sampling.publishList(tx, params.id, body),
  );
  serveFile(app, operations.getCandidates, async ({ params, reply }) => {
    const { name, bytes } = await sampling.getCandidates(database, params.id);
    return reply
      .type("text/plain; charset=utf-8")
      .header("content-disposition", contentDisposition(name))
      .header("x-content-type-options", "nosniff")
      .send(bytes);
  });
  serveWrite(app, operations.drawFromList, (tx, { params, body }) => sampling.draw(tx, params.id, body));
  serveRead(app, operations.listDrawUnits, ({ params }) =>
    sampling.listDrawUnits(reading(database), params.id),
  );
  serveWrite(app, operations.recordDrawEvents, (tx, { params, body }) =>
    sampling.recordEvents(tx, params.id, body.events),
  );
  serveWrite(app, operations.takeBackDrawEvent, (tx, { params, body }) =>
    sampling.takeBackEvent(tx, params.id, body),
  );
  serveRead(app, operations.evaluateLot, ({ params }) => sampling.evaluate(reading(database), params.id));
  serveWrite(app, operations.decideLot, (tx, { params, body }) => sampling.decide(tx, params.id, body));
  serveWrite(app, operations.approveDecision, (tx, { params, body }) =>
    sampling.approve(tx, params.id, body),
  );
  serveFile(app, operations.getDecisionSheet, async ({ params, reply }) => {
    const { number, pdf } = await sampling.getDecisionSheet(
      database,
      params.id,
      await headToPrint(database, app.logSigner),
    );
    return reply
      .type("application/pdf")
      .header(
        "content-disposition",
        contentDisposition(`decision ${number}.pdf`).replace("attachment", "inline"),
      )
      .send(pdf);
  });
  serveWrite(app, operations.withdrawLot, (tx, { params, body, version }) =>
    sampling.withdraw(tx, params.id, version, body.reason),
  );

  serveRead(app, operations.listCorrectiveActions, ({ query }) =>
    actions.listCorrectiveActions(database, query),
  );
  serveWrite(app, operations.addCorrectiveAction, (tx, { params, body }) =>
    actions.addCorrectiveAction(tx, params.id, body),
  );
  serveWrite(app, operations.changeCorrectiveAction, (tx, { params, body, version }) =>
    actions.changeCorrectiveAction(tx, params.id, version, body),
  );
  serveWrite(app, operations.closeGroup, (tx, { params, body, version }) =>
    sampling.closeGroup(tx, params.id, version, body.reason),
  );

  serveRead(app, operations.getSeries, ({ query }) =>
    series.getSeries(reading(database), query.series, query.schemeCode),
  );
  serveWrite(app, operations.addSwitchingEvent, (tx, { body }) => series.addSwitchingEvent(tx, body));
}
