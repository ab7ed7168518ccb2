import * as operations from "@sealbook/contract/places";
import type { FastifyInstance } from "fastify";
import { serveRead, serveWrite } from "../../platform/serve.ts";
import * as places from "./places.ts";

export async function placesRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listPlaces, ({ query }) => places.listPlaces(app.database, query));
  serveRead(app, operations.getPlace, ({ params }) => places.getPlace(app.database, params.id));
  serveRead(app, operations.listMetersInPlace, ({ params, query }) =>
    places.listMetersInPlace(app.database, params.id, query),
  );
  serveWrite(app, operations.createPlace, (tx, { body }) => places.createPlace(tx, body));
  serveWrite(app, operations.changePlace, (tx, { params, version, body }) =>
    places.changePlace(tx, params.id, version, body),
  );
}
