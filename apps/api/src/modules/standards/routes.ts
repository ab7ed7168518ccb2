import * as operations from "@sealbook/contract/standards";
import type { FastifyInstance } from "fastify";
import { serveRead, serveWrite } from "../../platform/serve.ts";
import * as standards from "./standards.ts";

export async function standardsRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listStandards, ({ query }) => standards.listStandards(app.database, query));
  serveRead(app, operations.getStandard, ({ params }) => standards.getStandard(app.database, params.id));
  serveWrite(app, operations.createStandard, (tx, { body }) => standards.createStandard(tx, body));
  serveWrite(app, operations.changeStandard, (tx, { params, body, version }) =>
    standards.changeStandard(tx, params.id, version, body),
  );
  serveWrite(app, operations.recordCalibration, (tx, { params, body }) =>
    standards.recordCalibration(tx, params.id, body),
  );
  serveWrite(app, operations.signCalibration, (tx, { params, body }) =>
    standards.signCalibration(tx, params.id, params.calibrationId, body.password),
  );
}
