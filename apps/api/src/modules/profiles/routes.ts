import * as operations from "@sealbook/contract/profiles";
import type { FastifyInstance } from "fastify";
import { serveRead, serveWrite } from "../../platform/serve.ts";
import * as profiles from "./profiles.ts";

export async function profilesRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listProfiles, ({ query }) => profiles.listProfiles(app.database, query));
  serveRead(app, operations.getProfile, ({ params }) => profiles.getProfile(app.database, params.id));
  serveWrite(app, operations.proposeProfile, (tx, { body }) => profiles.proposeProfile(tx, body));
  serveWrite(app, operations.decideProfile, (tx, { params, body }) =>
    profiles.decideProfile(tx, params.id, body),
  );
}
