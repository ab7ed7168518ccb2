import * as operations from "@sealbook/contract/people";
import { demoSignIns } from "@sealbook/database/demo/sign-ins";
import type { FastifyInstance, FastifyRequest } from "fastify";
import { ProblemError } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { serveFile, serveRead, serveWrite } from "../../platform/serve.ts";
import { endSession, type OpenSession } from "../../platform/sessions.ts";
import * as openSessions from "./open-sessions.ts";
import * as people from "./people.ts";
import * as shopSettings from "./shop-settings.ts";
import * as signIn from "./sign-in.ts";
import * as tokens from "./tokens.ts";

export async function peopleRoutes(app: FastifyInstance): Promise<void> {
  // Signing in opens its own transactions: it must not hold a connection while a password is hashed.
  serveFile(
    app,
    operations.openSession,
    ({ body, request, reply }) => signIn.openSession(app.database, { request, reply }, app.config, body),
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
  serveRead(app, operations.listOwnSessions, ({ request }) =>
    openSessions.listOwnSessions(app.database, sessionOf(request), app.config),
  );
  serveWrite(app, operations.endOwnSession, async (tx, { params }) => {
    await openSessions.endOwnSession(tx, params.id);
    return undefined;
  });
  serveRead(app, operations.listOwnTokens, ({ query, request }) =>
    tokens.listTokens(reading(app.database), sessionOf(request).actor.id, query),
  );
  serveWrite(app, operations.createToken, (tx, { body }) => tokens.createToken(tx, body));
  serveWrite(app, operations.revokeOwnToken, (tx, { params }) => tokens.revokeOwnToken(tx, params.id));
  serveRead(app, operations.listPeople, ({ query }) => people.listPeople(app.database, query));
  serveWrite(app, operations.createPerson, (tx, { body }) => people.createPerson(tx, body, true));
  serveRead(app, operations.getPerson, ({ params }) => people.getPerson(app.database, params.id));
  serveWrite(app, operations.changePerson, (tx, { params, body, version }) =>
    people.changePerson(tx, params.id, version, body),
  );
  serveWrite(app, operations.resetPassword, (tx, { params, body }) =>
    people.resetPassword(tx, params.id, body.reason),
  );
  serveRead(app, operations.listSessionsOfPerson, ({ params, request }) =>
    openSessions.listSessionsOfPerson(app.database, params.id, sessionOf(request), app.config),
  );
  serveWrite(app, operations.endSessionsOfPerson, async (tx, { params, body }) => {
    await openSessions.endSessionsOfPerson(tx, params.id, body);
    return undefined;
  });
  serveRead(app, operations.listTokensOfPerson, ({ params, query }) =>
    tokens.listTokensOfPerson(reading(app.database), params.id, query),
  );
  serveWrite(app, operations.revokeTokenOfPerson, (tx, { params, body }) =>
    tokens.revokeToken(tx, params.id, params.tokenId, body.reason),
  );
  serveWrite(app, operations.forgetCalibrator, (tx, { body }) => people.forgetCalibrator(tx, body));
  serveWrite(app, operations.forgetPerson, (tx, { params, body }) =>
    people.forgetPerson(tx, params.id, body.reason),
  );
  serveRead(app, operations.getShop, () => people.getShop(app.database));
  serveRead(app, operations.getAveraging, () => shopSettings.getAveraging(app.database));
  serveWrite(app, operations.changeShop, (tx, { body, version }) =>
    shopSettings.changeShop(tx, version, body),
  );
  serveRead(app, operations.getWelcome, async () => {
    const shop = await people.getShop(app.database);
    return { shopName: shop.name, demo: shop.demo ? [...demoSignIns] : [] };
  });
}

function sessionOf(request: FastifyRequest): OpenSession {
  if (request.session === null) throw new ProblemError("not-signed-in", "Sign in to go on.");
  return request.session;
}
