import * as operations from "@sealbook/contract/service-points";
import type { FastifyInstance } from "fastify";
import { serveRead, serveWrite } from "../../platform/serve.ts";
import * as servicePoints from "./service-points.ts";

export async function servicePointsRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listServicePoints, ({ query }) =>
    servicePoints.listServicePoints(app.database, query),
  );
  serveRead(app, operations.getServicePoint, ({ params }) =>
    servicePoints.getServicePoint(app.database, params.id),
  );
  serveWrite(app, operations.createServicePoint, (tx, { body }) =>
    servicePoints.createServicePoint(tx, body),
  );
}
