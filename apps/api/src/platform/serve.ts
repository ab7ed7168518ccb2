import { createHash } from "node:crypto";
import type { BodyOf, Operation, ParamsOf, QueryOf, ReplyOf } from "@sealbook/contract/operation";
import { may } from "@sealbook/contract/permissions";
import { tokenMay } from "@sealbook/contract/token-scopes";
import { isUuidV7 } from "@sealbook/evidence/uuid-v7";
import type { FastifyInstance, FastifyReply, FastifyRequest } from "fastify";
import { z } from "zod";
import type { Config } from "../config.ts";
import { noSuchPage } from "./cursor.ts";
import type { Database } from "./database.ts";
import { isUnreadableValue } from "./database-errors.ts";
import { findUnkeepable } from "./find-unkeepable.ts";
import { ProblemError } from "./problem-error.ts";
import { recordLook } from "./record-look.ts";
import { type Actor, inTransactionAgain, type Tx } from "./transaction.ts";

declare module "fastify" {
  interface FastifyInstance {
    database: Database;
    config: Config;
  }
  interface FastifyContextConfig {
    /** What a route below /api serves. */
    operation?: Operation;
  }
}

/** What a handler gets: the parsed request and who asks. */
export interface Input<O extends Operation> {
  readonly params: ParamsOf<O>;
  readonly query: QueryOf<O>;
  readonly body: BodyOf<O>;
  /** Version in If-Match of a versioned operation; 0 for the others. */
  readonly version: number;
  readonly actor: Actor | null;
  readonly request: FastifyRequest;
  readonly reply: FastifyReply;
}

/** Serves an operation that only reads. */
export function serveRead<O extends Operation>(
  app: FastifyInstance,
  operation: O,
  handle: (input: Input<O>) => Promise<ReplyOf<O>>,
): void {
  route(app, operation, async (input) => {
    try {
      return await handle(input);
    } catch (error) {
      // A cursor is text that anybody can make up; the database finds out that its parts are no dates or ids.
      if (cursorIn.safeParse(input.query).success && isUnreadableValue(error)) throw noSuchPage();
      throw error;
    }
  });
}

const cursorIn = z.object({ cursor: z.string() });

/**
 * Serves an operation that changes something: the handler runs in one transaction as the signed-in person. An
 * idempotent operation is done once for a key and body, and its first reply is given again.
 */
export function serveWrite<O extends Operation>(
  app: FastifyInstance,
  operation: O,
  handle: (tx: Tx, input: Input<O>) => Promise<ReplyOf<O>>,
): void {
  route(app, operation, async (input) => {
    const key = operation.idempotent ? idempotencyKey(input.request, input.body) : null;
    return await inTransactionAgain(app.database.pool, input.actor, async (tx) => {
      if (key === null) return await handle(tx, input);
      const earlier = await claimKey(tx, operation, key, requestHash(input));
      if (earlier !== null) return earlier as ReplyOf<O>;
      const result = await handle(tx, input);
      await tx.query(
        "UPDATE idempotent_request SET status = $1, reply = $2 WHERE actor_id = current_actor() AND operation = $3 AND key = $4",
        [statusOf(operation), JSON.stringify(result ?? null), operation.id, key],
      );
      return result;
    });
  });
}

/** Serves an operation whose handler writes the reply itself: a download, a document, an upload. */
export function serveFile<O extends Operation>(
  app: FastifyInstance,
  operation: O,
  handle: (input: Input<O>) => Promise<ReplyOf<O> | FastifyReply>,
  limits: { rateLimit?: { max: number; timeWindow: string } } = {},
): void {
  route(app, operation, handle, limits);
}

function statusOf(operation: Operation): number {
  return operation.status ?? (operation.reply === undefined ? 204 : 200);
}

function route<O extends Operation>(
  app: FastifyInstance,
  operation: O,
  handle: (input: Input<O>) => Promise<unknown>,
  limits: { rateLimit?: { max: number; timeWindow: string } } = {},
): void {
  const status = statusOf(operation);
  app.route({
    method: operation.method,
    url: operation.path,
    schema: {
      operationId: operation.id,
      summary: operation.summary,
      tags: [operation.id.slice(0, operation.id.indexOf("."))],
      ...(operation.params ? { params: operation.params } : {}),
      ...(operation.query ? { querystring: operation.query } : {}),
      ...(operation.body ? { body: operation.body } : {}),
      ...(operation.upload ? { consumes: ["multipart/form-data"] } : {}),
      ...(operation.reply === undefined || operation.reply === "file"
        ? {}
        : { response: { [status]: operation.reply } }),
    },
    config: { operation, ...limits },
    // The permission is checked before the body is parsed: a stranger learns nothing from a malformed request.
    onRequest: async (request) => {
      const refusal = refusalOf(request, operation);
      await recordLook(app, request, operation, refusal === null);
      if (refusal !== null) throw refusal;
    },
    preValidation: async ({ query, body }) => {
      const found = findUnkeepable(query) ?? findUnkeepable(body);
      if (found === null) return;
      throw new ProblemError(
        "malformed-request",
        "A value cannot be kept as it stands; nothing was changed.",
        {
          errors: [found],
        },
      );
    },
    handler: async (request, reply) => {
      const result = await handle({
        params: request.params as ParamsOf<O>,
        query: request.query as QueryOf<O>,
        body: request.body as BodyOf<O>,
        version: operation.versioned ? versionIn(request) : 0,
        actor: request.session?.actor ?? null,
        request,
        reply,
      });
      if (reply.sent || result === reply) return reply;
      reply.status(status);
      return status === 204 ? reply.send() : result;
    },
  });
}

/** What still opens to somebody whose password was given by somebody else. */
const opensBeforeChange = new Set([
  "people.getSession",
  "people.closeSession",
  "people.changePassword",
  "people.getShop",
]);

function refusalOf(request: FastifyRequest, operation: Operation): ProblemError | null {
  const { session } = request;
  if (!may(session?.actor.role ?? null, operation.permission)) {
    return session === null
      ? new ProblemError("not-signed-in", "Sign in to go on.")
      : new ProblemError("not-permitted", "Your role may not do this.");
  }
  if (session === null) return null;
  const { actor, scopes, mustChangePassword } = session;
  if (scopes !== null && !tokenMay(actor.role, scopes, operation.permission)) {
    return new ProblemError("not-permitted", "This API token was not made for this.");
  }
  if (mustChangePassword && operation.permission !== "session.open" && !opensBeforeChange.has(operation.id)) {
    return new ProblemError(
      "password-change-needed",
      "Choose a password of your own first: the one that you signed in with was given by somebody else.",
    );
  }
  return null;
}

function versionIn(request: FastifyRequest): number {
  const header = request.headers["if-match"];
  if (header === undefined)
    throw new ProblemError("version-missing", "Say with If-Match which version this edit was based on.");
  const match = /^"(\d{1,9})"$/.exec(header);
  if (!match) {
    throw new ProblemError("malformed-request", "If-Match is a version number in double quotes.", {
      errors: [{ pointer: "If-Match", detail: 'Must look like "3".' }],
    });
  }
  return Number(match[1]);
}

const bodyWithId = z.object({ id: z.string() });

/** The key of a retryable change: the header, else the id that the client made for the new record. */
function idempotencyKey(request: FastifyRequest, body: unknown): string {
  const header = request.headers["idempotency-key"];
  const key = typeof header === "string" ? header : bodyWithId.safeParse(body).data?.id;
  if (key === undefined || !isUuidV7(key)) {
    throw new ProblemError("malformed-request", "A change that may be retried carries an Idempotency-Key.", {
      errors: [{ pointer: "Idempotency-Key", detail: "Must be a UUID of version 7." }],
    });
  }
  return key;
}

const secretFields = new Set(["pin", "password", "currentPassword", "newPassword", "ownPassword"]);

/** Hash of what was asked. Secrets stay out: a PIN has so few values that a hash of it could be searched. */
function requestHash(input: { params: unknown; body: unknown }): Buffer {
  const text = JSON.stringify([input.params ?? null, input.body ?? null], (field, value: unknown) =>
    secretFields.has(field) ? undefined : value,
  );
  return createHash("sha256").update(text).digest();
}

/** Takes the key in this transaction, or returns the reply of the request that took it before. */
async function claimKey(tx: Tx, operation: Operation, key: string, bodyHash: Buffer): Promise<unknown> {
  const claimed = await tx.query(
    "INSERT INTO idempotent_request (operation, key, body_hash) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING RETURNING 1 AS taken",
    [operation.id, key, bodyHash],
  );
  if (claimed.length > 0) return null;
  const [earlier] = await tx.query<{ same: boolean; reply: string }>(
    `SELECT body_hash = $3 AS same, reply FROM idempotent_request
     WHERE actor_id = current_actor() AND operation = $1 AND key = $2`,
    [operation.id, key, bodyHash],
  );
  if (!earlier)
    throw new ProblemError("unavailable", "The same request is under way; try again in a moment.");
  if (!earlier.same) {
    throw new ProblemError(
      "key-reused",
      "This key came before with another body. Nothing was changed; reload and send your change as a new one.",
    );
  }
  return JSON.parse(earlier.reply);
}
