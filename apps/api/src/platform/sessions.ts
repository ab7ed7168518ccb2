import { createHash, randomBytes } from "node:crypto";
import type { Role } from "@sealbook/contract/permissions";
import { type TokenScope, tokenScopes } from "@sealbook/contract/token-scopes";
import type { FastifyReply, FastifyRequest } from "fastify";
import type { Config } from "../config.ts";
import type { Database } from "./database.ts";
import type { Actor, Tx } from "./transaction.ts";

/**
 * By what somebody came in: a session, which is a random 256-bit token in a cookie, or an API token in the header. The
 * database holds the SHA-256 of either only.
 */
export interface OpenSession {
  readonly actor: Actor;
  readonly tokenHash: Buffer;
  readonly expiresAt: Date;
  /** The password was given by somebody else: nothing opens but its change. */
  readonly mustChangePassword: boolean;
  /** What an API token was made for; null for somebody who signed in. */
  readonly scopes: readonly TokenScope[] | null;
}

declare module "fastify" {
  interface FastifyRequest {
    session: OpenSession | null;
  }
}

type SessionConfig = Pick<Config, "COOKIE_SECURE" | "SESSION_IDLE_MINUTES" | "SESSION_HOURS">;

/** What every API token begins with, so that one that lies about in a file is known for what it is. */
export const apiTokenPrefix = "sealbook_";
const secretPattern = /^[A-Za-z0-9_-]{43}$/;
const mostSessions = 50;
const knownBrowserDays = 400;
const mostKnownBrowsers = 20;

/** "__Host-" binds a cookie to this host over HTTPS; browsers refuse that name over plain HTTP. */
function cookieName(config: SessionConfig): string {
  return config.COOKIE_SECURE ? "__Host-sealbook" : "sealbook";
}

function browserCookieName(config: SessionConfig): string {
  return config.COOKIE_SECURE ? "__Host-sealbook-browser" : "sealbook-browser";
}

/** A random secret of 256 bits, as text that a cookie or a header can carry. */
export function newSecret(): string {
  return randomBytes(32).toString("base64url");
}

export function hashOfSecret(secret: string): Buffer {
  return createHash("sha256").update(secret).digest();
}

/** By what a request came in, or null; keeps a session alive. A request with a token is asked for no cookie. */
export async function findSession(
  request: FastifyRequest,
  database: Database,
  config: SessionConfig,
): Promise<OpenSession | null> {
  const { authorization } = request.headers;
  if (authorization !== undefined && /^bearer\b/i.test(authorization)) {
    return await findTokenSession(authorization, database);
  }
  const token = request.cookies[cookieName(config)];
  if (token === undefined || !secretPattern.test(token)) return null;
  const tokenHash = hashOfSecret(token);
  const { rows } = await database.pool.query<
    AccountColumns & {
      expires_at: Date;
      stale: boolean;
    }
  >(
    `SELECT ${accountColumns}, s.expires_at, s.last_seen_at < clock_timestamp() - interval '1 minute' AS stale
     FROM session s JOIN account a ON a.id = s.account_id
     WHERE s.token_hash = $1 AND a.active AND s.expires_at > clock_timestamp()
       AND s.last_seen_at > clock_timestamp() - make_interval(mins => $2::int)`,
    [tokenHash, Math.ceil(config.SESSION_IDLE_MINUTES)],
  );
  const row = rows[0];
  if (!row) return null;
  if (row.stale) {
    await database.pool.query(
      "UPDATE session SET last_seen_at = now_to_the_millisecond() WHERE token_hash = $1",
      [tokenHash],
    );
  }
  return {
    actor: actorIn(row),
    tokenHash,
    expiresAt: row.expires_at,
    mustChangePassword: row.must_change_password === true,
    scopes: null,
  };
}

interface AccountColumns {
  id: string;
  role: Role;
  username: string;
  must_change_password: boolean | null;
  place_ids: string[] | null;
}

const accountColumns = "a.id, a.role, a.username, a.must_change_password, a.place_ids";

function actorIn(row: AccountColumns): Actor {
  return {
    id: row.id,
    role: row.role,
    username: row.username,
    ...(row.place_ids === null ? {} : { placeIds: row.place_ids }),
  };
}

async function findTokenSession(header: string, database: Database): Promise<OpenSession | null> {
  const secret = /^Bearer +(\S+)$/i.exec(header)?.[1];
  if (secret === undefined || !secret.startsWith(apiTokenPrefix)) return null;
  if (!secretPattern.test(secret.slice(apiTokenPrefix.length))) return null;
  const tokenHash = hashOfSecret(secret);
  const { rows } = await database.pool.query<
    AccountColumns & { token_id: string; scopes: string[]; expires_at: Date; stale: boolean }
  >(
    `SELECT ${accountColumns}, t.id AS token_id, t.scopes, t.expires_at,
       coalesce(u.last_used_at < clock_timestamp() - interval '1 minute', true) AS stale
     FROM api_token t JOIN account a ON a.id = t.account_id LEFT JOIN api_token_use u ON u.token_id = t.id
     WHERE t.token_hash = $1 AND t.revoked_at IS NULL AND t.expires_at > clock_timestamp() AND a.active`,
    [tokenHash],
  );
  const row = rows[0];
  if (!row) return null;
  if (row.stale) {
    await database.pool.query(
      `INSERT INTO api_token_use (token_id) VALUES ($1)
       ON CONFLICT (token_id) DO UPDATE SET last_used_at = now_to_the_millisecond()`,
      [row.token_id],
    );
  }
  return {
    actor: { ...actorIn(row), tokenId: row.token_id },
    tokenHash,
    expiresAt: row.expires_at,
    mustChangePassword: row.must_change_password === true,
    scopes: tokenScopes.filter((scope) => row.scopes.includes(scope)),
  };
}

/** Opens a session for an account and puts its cookie on the reply; the account's oldest ones end when there are many. */
export async function startSession(
  tx: Tx,
  { request, reply }: { request: FastifyRequest; reply: FastifyReply },
  accountId: string,
  config: SessionConfig,
): Promise<Date> {
  const token = newSecret();
  const expiresAt = new Date(Date.now() + config.SESSION_HOURS * 3_600_000);
  // Whoever signs in anew from this browser leaves the session before behind.
  const before = request.cookies[cookieName(config)];
  if (before !== undefined)
    await tx.query("DELETE FROM session WHERE token_hash = $1", [hashOfSecret(before)]);
  await tx.query("DELETE FROM session WHERE account_id = $1 AND expires_at < clock_timestamp()", [accountId]);
  await tx.query(
    `DELETE FROM session WHERE token_hash IN (
       SELECT token_hash FROM session WHERE account_id = $1 ORDER BY created_at DESC, token_hash OFFSET $2)`,
    [accountId, mostSessions - 1],
  );
  await tx.query(
    "INSERT INTO session (token_hash, account_id, expires_at, browser) VALUES ($1, $2, $3, $4)",
    [hashOfSecret(token), accountId, expiresAt, browserIn(request)],
  );
  reply.setCookie(cookieName(config), token, { ...cookieRules(config), expires: expiresAt });
  return expiresAt;
}

function cookieRules(config: SessionConfig) {
  return { path: "/", httpOnly: true, sameSite: "strict", secure: config.COOKIE_SECURE } as const;
}

/** What the browser calls itself, cut short and without what a line of text cannot keep. */
function browserIn(request: FastifyRequest): string {
  return (request.headers["user-agent"] ?? "").replace(/[^\x20-\x7e]/g, "").slice(0, 200);
}

/**
 * Hash of the request's browser, where the account has signed in from it before; else null. Asked before the password
 * is looked at.
 */
export async function findKnownBrowser(
  tx: Tx,
  request: FastifyRequest,
  username: string,
  config: SessionConfig,
): Promise<Buffer | null> {
  const token = request.cookies[browserCookieName(config)];
  if (token === undefined || !secretPattern.test(token)) return null;
  const tokenHash = hashOfSecret(token);
  const known = await tx.query(
    `SELECT FROM known_browser b JOIN account a ON a.id = b.account_id WHERE b.token_hash = $1 AND a.username = $2
       AND b.last_used_at > clock_timestamp() - make_interval(days => $3)`,
    [tokenHash, username, knownBrowserDays],
  );
  return known.length > 0 ? tokenHash : null;
}

/** Remembers that the account signed in from this browser. */
export async function keepKnownBrowser(
  tx: Tx,
  { request, reply }: { request: FastifyRequest; reply: FastifyReply },
  accountId: string,
  config: SessionConfig,
): Promise<void> {
  const sent = request.cookies[browserCookieName(config)];
  const token = sent !== undefined && secretPattern.test(sent) ? sent : newSecret();
  await tx.query(
    `INSERT INTO known_browser (token_hash, account_id) VALUES ($1, $2)
     ON CONFLICT (token_hash, account_id) DO UPDATE SET last_used_at = now_to_the_millisecond()`,
    [hashOfSecret(token), accountId],
  );
  await tx.query(
    `DELETE FROM known_browser WHERE account_id = $1 AND token_hash IN (
       SELECT token_hash FROM known_browser WHERE account_id = $1 ORDER BY last_used_at DESC, token_hash OFFSET $2)`,
    [accountId, mostKnownBrowsers],
  );
  reply.setCookie(browserCookieName(config), token, {
    ...cookieRules(config),
    maxAge: knownBrowserDays * 86_400,
  });
}

/** Ends the session of a request; what the browser has kept of its pages goes, too. */
export async function endSession(
  tx: Tx,
  reply: FastifyReply,
  tokenHash: Buffer,
  config: SessionConfig,
): Promise<void> {
  await tx.query("DELETE FROM session WHERE token_hash = $1", [tokenHash]);
  reply.clearCookie(cookieName(config), { path: "/", secure: config.COOKIE_SECURE });
  // Storage stays: tests that wait to be sent lie there, and the next sign-in sends them.
  reply.header("clear-site-data", '"cache"');
}

/** Ends an account's sessions, but for the one that asks, if any; returns how many. */
export async function endSessionsOf(tx: Tx, accountId: string, except: Buffer | null): Promise<number> {
  const ended = await tx.query(
    "DELETE FROM session WHERE account_id = $1 AND token_hash IS DISTINCT FROM $2 RETURNING 1 AS one",
    [accountId, except],
  );
  return ended.length;
}

/** Ends one session of an account by the id that it is told apart by; false if there is none. */
export async function endSessionById(tx: Tx, accountId: string, id: string): Promise<boolean> {
  const ended = await tx.query("DELETE FROM session WHERE account_id = $1 AND id = $2 RETURNING 1 AS one", [
    accountId,
    id,
  ]);
  return ended.length > 0;
}

export interface SessionRow {
  id: string;
  created_at: Date;
  last_seen_at: Date;
  expires_at: Date;
  browser: string;
  is_this: boolean;
}

/** An account's open sessions, newest first. */
export async function listSessionRows(
  tx: Pick<Tx, "query">,
  accountId: string,
  own: Buffer | null,
  config: SessionConfig,
): Promise<SessionRow[]> {
  return await tx.query<SessionRow>(
    `SELECT id, created_at, last_seen_at, expires_at, browser, token_hash IS NOT DISTINCT FROM $2 AS is_this
     FROM session WHERE account_id = $1 AND expires_at > clock_timestamp()
       AND last_seen_at > clock_timestamp() - make_interval(mins => $3::int)
     ORDER BY created_at DESC, id LIMIT ${mostSessions}`,
    [accountId, own, Math.ceil(config.SESSION_IDLE_MINUTES)],
  );
}
