import * as correctiveActions from "@sealbook/contract/corrective-actions";
import * as followUpOperations from "@sealbook/contract/follow-up";
import * as operations from "@sealbook/contract/sampling";
import * as schemeOperations from "@sealbook/contract/sampling-schemes";
import * as seriesOperations from "@sealbook/contract/sampling-series";
import type { FastifyInstance } from "fastify";
import { contentDisposition } from "../../platform/content-disposition.ts";
import { headToPrint } from "../../platform/log/head-to-print.ts";
import { reading } from "../../platform/reading.ts";
import { serveFile, serveRead, serveWrite } from "../../platform/serve.ts";
import * as actions from "./actions.ts";
import * as decisions from "./decisions.ts";
import * as draws from "./draws.ts";
import * as followUp from "./follow-up.ts";
import * as lots from "./lots.ts";
import * as sampleOfLot from "./sample-of-lot.ts";
import * as schemes from "./schemes.ts";
import * as series from "./series.ts";

export async function samplingRoutes(app: FastifyInstance): Promise<void> {
  const { database } = app;
  serveRead(app, schemeOperations.listSchemes, ({ query }) => schemes.listSchemes(database, query));
  serveRead(app, schemeOperations.getScheme, ({ params }) => schemes.getScheme(database, params.id));
  serveWrite(app, schemeOperations.addScheme, (tx, { body }) => schemes.addScheme(tx, body));

  serveRead(app, operations.listLots, ({ query }) => lots.listLots(database, query));
  serveRead(app, operations.getLot, ({ params, actor }) => lots.getLot(reading(database), params.id, actor));
  serveRead(app, operations.listLotMembers, ({ params, query }) =>
    lots.listLotMembers(database, params.id, query),
  );
  serveWrite(app, operations.planLot, (tx, { params, body, version }) =>
    lots.plan(tx, params.id, version, body.dueOn),
  );
  serveWrite(app, operations.listCandidates, (tx, { params, body }) =>
    draws.publishList(tx, params.id, body),
  );
  serveFile(app, operations.getCandidates, async ({ params, reply }) => {
    const { name, bytes } = await draws.getCandidates(database, params.id);
    return reply
      .type("text/plain; charset=utf-8")
      .header("content-disposition", contentDisposition(name))
      .header("x-content-type-options", "nosniff")
      .send(bytes);
  });
  serveWrite(app, operations.drawFromList, (tx, { params, body }) => draws.draw(tx, params.id, body));
  serveRead(app, followUpOperations.listDrawUnits, ({ params }) =>
    sampleOfLot.listDrawUnits(reading(database), params.id),
  );
  serveWrite(app, followUpOperations.recordDrawEvents, (tx, { params, body }) =>
    followUp.recordEvents(tx, params.id, body.events),
  );
  serveWrite(app, followUpOperations.takeBackDrawEvent, (tx, { params, body }) =>
    followUp.takeBackEvent(tx, params.id, body),
  );
  serveRead(app, operations.evaluateLot, ({ params }) => sampleOfLot.evaluate(reading(database), params.id));
  serveWrite(app, operations.decideLot, (tx, { params, body }) => decisions.decide(tx, params.id, body));
  serveWrite(app, operations.approveDecision, (tx, { params, body }) =>
    decisions.approve(tx, params.id, body),
  );
  serveFile(app, operations.getDecisionSheet, async ({ params, reply }) => {
    const { number, pdf } = await decisions.getDecisionSheet(
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
    lots.withdraw(tx, params.id, version, body.reason),
  );

  serveRead(app, correctiveActions.listCorrectiveActions, ({ query }) =>
    actions.listCorrectiveActions(database, query),
  );
  serveWrite(app, correctiveActions.addCorrectiveAction, (tx, { params, body }) =>
    actions.addCorrectiveAction(tx, params.id, body),
  );
  serveWrite(app, correctiveActions.changeCorrectiveAction, (tx, { params, body, version }) =>
    actions.changeCorrectiveAction(tx, params.id, version, body),
  );
  serveWrite(app, operations.closeGroup, (tx, { params, body, version }) =>
    lots.closeGroup(tx, params.id, version, body.reason),
  );

  serveRead(app, seriesOperations.getSeries, ({ query }) =>
    series.getSeries(reading(database), query.series, query.schemeCode),
  );
  serveWrite(app, seriesOperations.addSwitchingEvent, (tx, { body }) => series.addSwitchingEvent(tx, body));
}
