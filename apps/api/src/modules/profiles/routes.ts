import * as operations from "@sealbook/contract/profiles";
import type { FastifyInstance } from "fastify";
import { serveRead } from "../../platform/serve.ts";
import * as profiles from "./profiles.ts";

export async function profilesRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listProfiles, ({ query }) => profiles.listProfiles(app.database, query));
  serveRead(app, operations.getProfile, ({ params }) => profiles.getProfile(app.database, params.id));
}
