import * as operations from "@sealbook/contract/people";
import { demoSignIns } from "@sealbook/database/demo/sign-ins";
import type { FastifyInstance, FastifyRequest } from "fastify";
import { ProblemError } from "../../platform/problem-error.ts";
import { serveFile, serveRead, serveWrite } from "../../platform/serve.ts";
import { endSession, type OpenSession } from "../../platform/sessions.ts";
import * as people from "./people.ts";
import * as shopSettings from "./shop-settings.ts";

export async function peopleRoutes(app: FastifyInstance): Promise<void> {
  // Signing in opens its own transactions: it must not hold a connection while a password is hashed.
  serveFile(
    app,
    operations.openSession,
    ({ body, reply }) => people.openSession(app.database, reply, app.config, body),
    { rateLimit: { max: app.config.SIGN_INS_PER_MINUTE, timeWindow: "1 minute" } },
  );
  serveRead(app, operations.getSession, ({ request }) => people.getSession(app.database, sessionOf(request)));
  serveWrite(app, operations.closeSession, async (tx, { request, reply }) => {
    await endSession(tx, reply, sessionOf(request).tokenHash, app.config);
    return undefined;
  });
  serveWrite(app, operations.setPin, async (tx, { body }) => {
    await people.setPin(tx, body);
    return undefined;
  });
  serveWrite(app, operations.changePassword, async (tx, { body, request }) => {
    await people.changePassword(tx, body, sessionOf(request));
    return undefined;
  });
  serveRead(app, operations.listPeople, ({ query }) => people.listPeople(app.database, query));
  serveWrite(app, operations.createPerson, (tx, { body }) => people.createPerson(tx, body));
  serveWrite(app, operations.changePerson, (tx, { params, body, version }) =>
    people.changePerson(tx, params.id, version, body),
  );
  serveWrite(app, operations.resetPassword, async (tx, { params, body }) => {
    await people.resetPassword(tx, params.id, body);
    return undefined;
  });
  serveWrite(app, operations.forgetPerson, (tx, { params, body }) =>
    people.forgetPerson(tx, params.id, body.reason),
  );
  serveRead(app, operations.getShop, () => people.getShop(app.database, new Date()));
  serveRead(app, operations.getAveraging, () => shopSettings.getAveraging(app.database));
  serveWrite(app, operations.changeShop, (tx, { body, version }) =>
    shopSettings.changeShop(tx, version, body, new Date()),
  );
  serveRead(app, operations.getWelcome, async () => {
    const shop = await people.getShop(app.database, new Date());
    return { shopName: shop.name, demo: shop.demo ? [...demoSignIns] : [] };
  });
}

function sessionOf(request: FastifyRequest): OpenSession {
  if (request.session === null) throw new ProblemError("not-signed-in", "Sign in to go on.");
  return request.session;
}
