import * as operations from "@sealbook/contract/saved-views";
import type { FastifyInstance } from "fastify";
import { serveRead, serveWrite } from "../../platform/serve.ts";
import * as savedViews from "./saved-views.ts";

export async function savedViewsRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, operations.listSavedViews, ({ actor }) => {
    if (actor === null) throw new Error("views belong to signed-in people");
    return savedViews.listSavedViews(app.database, actor.id);
  });
  serveWrite(app, operations.saveView, (tx, { body }) => savedViews.saveView(tx, body));
  serveWrite(app, operations.changeSavedView, (tx, { body, params, version }) =>
    savedViews.changeSavedView(tx, params.id, version, body),
  );
  serveWrite(app, operations.removeSavedView, async (tx, { params }) => {
    await savedViews.removeSavedView(tx, params.id);
    return undefined;
  });
}
