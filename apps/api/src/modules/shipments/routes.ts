import * as operations from "@sealbook/contract/shipments";
import type { FastifyInstance } from "fastify";
import { reading } from "../../platform/reading.ts";
import { serveRead, serveWrite } from "../../platform/serve.ts";
import * as shipments from "./shipments.ts";

export async function shipmentsRoutes(app: FastifyInstance): Promise<void> {
  serveWrite(app, operations.createShipment, (tx, { body }) => shipments.createShipment(tx, body));
  serveWrite(app, operations.addShipmentMeters, (tx, { params, body }) =>
    shipments.addShipmentNumbers(tx, params.id, body.numbers),
  );
  serveWrite(app, operations.releaseShipment, (tx, { params, body, version }) =>
    shipments.releaseShipment(tx, params.id, version, body.placeId),
  );
  serveWrite(app, operations.returnShipment, (tx, { params, body, version }) =>
    shipments.returnShipment(tx, params.id, version, body.reason),
  );
  serveRead(app, operations.listUnmended, ({ params }) =>
    shipments.listUnmended(reading(app.database), params.id),
  );
  serveWrite(app, operations.resubmitShipment, (tx, { params, body }) =>
    shipments.resubmitShipment(tx, params.id, body),
  );
}
