import { randomBytes } from "node:crypto";
import { mkdir, readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { PrismaPg } from "@prisma/adapter-pg";
import pg from "pg";
import type { Logger } from "pino";
import type { Config } from "../config.ts";
import { destroy } from "./destroy-connection.ts";
import { PrismaClient } from "./prisma/client.ts";

/**
 * The server's two ways to PostgreSQL over one pool: Prisma where people read, SQL in store.ts for every write and
 * for the hot reads. A write is SQL because it shares one connection with its ledger entry, its idempotency key and
 * its row locks, and because the server's role may insert by column only.
 */
export interface Database {
  readonly pool: pg.Pool;
  readonly prisma: PrismaClient;
  /** Address as the server's own role; holds the password, never logged. */
  readonly url: string;
  /** Breaks every connection that is in use, so that whoever waits on one fails now; the pool opens new ones. */
  breakConnections(): void;
  close(): Promise<void>;
}

// Calendar dates stay text: a date has no time zone to be shifted by.
pg.types.setTypeParser(pg.types.builtins.DATE, (text) => text);

export function openDatabase(
  url: string,
  config: Pick<Config, "DATABASE_POOL" | "STATEMENT_TIMEOUT_SECONDS">,
  log: Logger,
): Database {
  const pool = new pg.Pool({
    connectionString: url,
    max: config.DATABASE_POOL,
    application_name: "sealbook",
    connectionTimeoutMillis: 5_000,
    idleTimeoutMillis: 30_000,
    statement_timeout: config.STATEMENT_TIMEOUT_SECONDS * 1000,
    lock_timeout: 5_000,
    idle_in_transaction_session_timeout: 30_000,
  });
  // A connection that breaks while idle is replaced by the pool; without a listener it would end the process.
  pool.on("error", (error) => log.warn({ err: error }, "an idle database connection broke"));
  const connections = new Set<pg.PoolClient>();
  pool.on("connect", (client) => {
    connections.add(client);
    // One that breaks while it is lent out and no statement runs tells so by an event; the next statement fails anyhow.
    client.on("error", () => undefined);
  });
  pool.on("remove", (client) => connections.delete(client));
  const prisma = new PrismaClient({ adapter: new PrismaPg(pool) });
  return {
    pool,
    prisma,
    url,
    breakConnections() {
      for (const client of connections) destroy(client);
    },
    async close() {
      await prisma.$disconnect();
      if (!pool.ended) await pool.end();
    },
  };
}

/**
 * Gives the server's role sealbook_app its password and the right to sign in, and returns the address to use it by.
 * The role owns nothing; the migrations say what it may do.
 *
 * @param adminUrl address of the migrated database as the role that owns its tables
 */
export async function ensureAppRole(adminUrl: string, password: string): Promise<string> {
  const client = new pg.Client({ connectionString: adminUrl });
  await client.connect();
  try {
    // Several processes may start at once: changing one role at the same moment fails, so they take turns.
    await client.query("SELECT pg_advisory_lock(hashtext('sealbook_app role'))");
    await client.query(`ALTER ROLE sealbook_app LOGIN PASSWORD ${client.escapeLiteral(password)}`);
  } finally {
    await client.end();
  }
  const url = new URL(adminUrl);
  url.username = "sealbook_app";
  url.password = encodeURIComponent(password);
  return url.toString();
}

/** Password of the server's role: the setting, else one made at first start and kept in the data folder. */
export async function appRolePassword(
  config: Pick<Config, "DATABASE_APP_PASSWORD" | "SEALBOOK_DATA_FOLDER">,
): Promise<string> {
  if (config.DATABASE_APP_PASSWORD !== undefined) return config.DATABASE_APP_PASSWORD;
  const path = join(config.SEALBOOK_DATA_FOLDER, "app-role-password");
  await mkdir(config.SEALBOOK_DATA_FOLDER, { recursive: true });
  try {
    await writeFile(path, randomBytes(24).toString("base64url"), { mode: 0o600, flag: "wx" });
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== "EEXIST") throw error;
  }
  return await readFile(path, "utf8");
}
