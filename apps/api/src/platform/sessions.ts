import { createHash, randomBytes } from "node:crypto";
import type { Role } from "@sealbook/contract/permissions";
import type { FastifyReply, FastifyRequest } from "fastify";
import type { Config } from "../config.ts";
import type { Database } from "./database.ts";
import type { Actor, Tx } from "./transaction.ts";

/** A session is a random 256-bit token in a cookie; the database holds its SHA-256 only. */
export interface OpenSession {
  readonly actor: Actor;
  readonly tokenHash: Buffer;
  readonly expiresAt: Date;
}

declare module "fastify" {
  interface FastifyRequest {
    session: OpenSession | null;
  }
}

type SessionConfig = Pick<Config, "COOKIE_SECURE" | "SESSION_IDLE_MINUTES" | "SESSION_HOURS">;

/** "__Host-" binds the cookie to this host over HTTPS; browsers refuse that name over plain HTTP. */
function cookieName(config: SessionConfig): string {
  return config.COOKIE_SECURE ? "__Host-sealbook" : "sealbook";
}

function hashOf(token: string): Buffer {
  return createHash("sha256").update(token).digest();
}

/** The open session of a request, or null; keeps it alive. */
export async function findSession(
  request: FastifyRequest,
  database: Database,
  config: SessionConfig,
): Promise<OpenSession | null> {
  const token = request.cookies[cookieName(config)];
  if (token === undefined || !/^[A-Za-z0-9_-]{43}$/.test(token)) return null;
  const tokenHash = hashOf(token);
  const { rows } = await database.pool.query<{
    id: string;
    role: Role;
    username: string;
    expires_at: Date;
    stale: boolean;
  }>(
    `SELECT a.id, a.role, a.username, s.expires_at, s.last_seen_at < clock_timestamp() - interval '1 minute' AS stale
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
    actor: { id: row.id, role: row.role, username: row.username },
    tokenHash,
    expiresAt: row.expires_at,
  };
}

/** Opens a session for an account and puts its cookie on the reply. */
export async function startSession(
  tx: Tx,
  reply: FastifyReply,
  accountId: string,
  config: SessionConfig,
): Promise<Date> {
  const token = randomBytes(32).toString("base64url");
  const expiresAt = new Date(Date.now() + config.SESSION_HOURS * 3_600_000);
  await tx.query("DELETE FROM session WHERE account_id = $1 AND expires_at < clock_timestamp()", [accountId]);
  await tx.query("INSERT INTO session (token_hash, account_id, expires_at) VALUES ($1, $2, $3)", [
    hashOf(token),
    accountId,
    expiresAt,
  ]);
  reply.setCookie(cookieName(config), token, {
    path: "/",
    httpOnly: true,
    sameSite: "strict",
    secure: config.COOKIE_SECURE,
    expires: expiresAt,
  });
  return expiresAt;
}

export async function endSession(
  tx: Tx,
  reply: FastifyReply,
  tokenHash: Buffer,
  config: SessionConfig,
): Promise<void> {
  await tx.query("DELETE FROM session WHERE token_hash = $1", [tokenHash]);
  reply.clearCookie(cookieName(config), { path: "/" });
}

/** Ends an account's sessions, but for the one that asks, if any. */
export async function endSessionsOf(tx: Tx, accountId: string, except: Buffer | null): Promise<void> {
  await tx.query("DELETE FROM session WHERE account_id = $1 AND token_hash IS DISTINCT FROM $2", [
    accountId,
    except,
  ]);
}
