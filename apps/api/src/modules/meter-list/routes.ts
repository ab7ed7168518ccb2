import * as operations from "@sealbook/contract/meter-list";
import { findMeter } from "@sealbook/contract/meters";
import type { FastifyInstance } from "fastify";
import { contentDisposition } from "../../platform/content-disposition.ts";
import { reading } from "../../platform/reading.ts";
import { serveFile, serveRead } from "../../platform/serve.ts";
import { exportMeters } from "./export-meters.ts";
import * as meterList from "./meter-list.ts";

export async function meterListRoutes(app: FastifyInstance): Promise<void> {
  const source = reading(app.database);
  serveRead(app, operations.listMeters, ({ query }) => meterList.listMeters(source, query));
  serveRead(app, operations.countMeters, ({ query }) => meterList.countMeters(source, query));
  serveRead(app, findMeter, ({ query }) => meterList.findMeter(source, query.number));
  serveFile(app, operations.exportMeters, async ({ actor, query, reply, request }) => {
    if (actor === null) throw new Error("taking a list out needs a signed-in person");
    const file = await exportMeters({ database: app.database, actor, log: request.log, query });
    return reply
      .header("content-type", file.mediaType)
      .header("content-disposition", contentDisposition(file.name))
      .send(file.stream);
  });
}
