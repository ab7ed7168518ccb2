import * as operations from "@sealbook/contract/places";
import type { FastifyInstance } from "fastify";
import { reading } from "../../platform/reading.ts";
import { serveRead, serveWrite } from "../../platform/serve.ts";
import * as places from "./places.ts";

export async function placesRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listPlaces, ({ query }) => places.listPlaces(reading(app.database), query));
  serveRead(app, operations.getPlace, ({ params }) => places.getPlace(reading(app.database), params.id));
  serveRead(app, operations.listMetersInPlace, ({ params, query }) =>
    places.listMetersInPlace(reading(app.database), params.id, query),
  );
  serveWrite(app, operations.createPlace, (tx, { body }) => places.createPlace(tx, body));
  serveWrite(app, operations.changePlace, (tx, { params, version, body }) =>
    places.changePlace(tx, params.id, version, body),
  );
}
