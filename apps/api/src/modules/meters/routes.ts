import * as eventOperations from "@sealbook/contract/meter-events";
import * as operations from "@sealbook/contract/meters";
import type { FastifyInstance } from "fastify";
import { reading } from "../../platform/reading.ts";
import { serveRead, serveWrite } from "../../platform/serve.ts";
import { changeMeter } from "./change-meter.ts";
import { liftMeterHold, placeMeterHold } from "./holds.ts";
import * as meters from "./meters.ts";
import * as moves from "./move-meters.ts";
import * as receipts from "./receive-meters.ts";
import { getMeterStory } from "./story.ts";
import { takeBackMeterEvent, takeBackMeterMove } from "./take-back.ts";

export async function metersRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.getMeter, ({ params }) => meters.getMeter(app.database, params.id));
  serveWrite(app, operations.createMeter, (tx, { body }) => meters.createMeter(tx, body));
  serveWrite(app, operations.changeMeter, async (tx, { params, version, body }) => {
    await changeMeter(tx, params.id, version, body);
    return await meters.meterOnRecord(tx, params.id);
  });

  serveRead(app, eventOperations.getMeterStory, ({ params, query }) =>
    getMeterStory(reading(app.database), params.id, query),
  );
  serveWrite(app, eventOperations.recordMeterEvent, async (tx, { params, body }) => {
    await moves.recordMeterEvent(tx, params.id, body);
    return await meters.meterOnRecord(tx, params.id);
  });
  serveWrite(app, eventOperations.takeBackMeterEvent, async (tx, { params, body }) => {
    const { meterId } = await takeBackMeterEvent(tx, params.id, body);
    return await meters.meterOnRecord(tx, meterId);
  });

  serveRead(app, eventOperations.checkMeterMove, ({ body }) =>
    moves.checkMeterMove(reading(app.database), body),
  );
  serveWrite(app, eventOperations.moveMeterTray, (tx, { body }) => moves.moveMeterTray(tx, body));
  serveRead(app, eventOperations.listMeterMoves, ({ query }) =>
    moves.listMeterMoves(reading(app.database), query),
  );
  serveRead(app, eventOperations.getMeterMove, ({ params }) =>
    moves.getMeterMove(reading(app.database), params.id),
  );
  serveRead(app, eventOperations.listMovedMeters, ({ params, query }) =>
    moves.listMovedMeters(reading(app.database), params.id, query),
  );
  serveWrite(app, eventOperations.takeBackMeterMove, (tx, { params, body }) =>
    takeBackMeterMove(tx, params.id, body),
  );

  serveRead(app, eventOperations.checkMeterReceipt, ({ body }) =>
    receipts.checkMeterReceipt(reading(app.database), body),
  );
  serveWrite(app, eventOperations.receiveMeters, (tx, { body }) => receipts.receiveMeters(tx, body));

  serveWrite(app, eventOperations.placeMeterHold, (tx, { params, body }) =>
    placeMeterHold(tx, params.id, body),
  );
  serveWrite(app, eventOperations.liftMeterHold, async (tx, { params, body }) => {
    await liftMeterHold(tx, params.id, body.reason);
    return undefined;
  });
}
