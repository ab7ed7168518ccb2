import * as operations from "@sealbook/contract/meter-types";
import type { FastifyInstance } from "fastify";
import { serveRead, serveWrite } from "../../platform/serve.ts";
import * as meterTypes from "./meter-types.ts";

export async function meterTypesRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listMeterTypes, ({ query }) => meterTypes.listMeterTypes(app.database, query));
  serveRead(app, operations.getMeterType, ({ params }) => meterTypes.getMeterType(app.database, params.id));
  serveWrite(app, operations.createMeterType, (tx, { body }) => meterTypes.createMeterType(tx, body));
  serveWrite(app, operations.changeMeterType, (tx, { params, version, body }) =>
    meterTypes.changeMeterType(tx, params.id, version, body),
  );
}
