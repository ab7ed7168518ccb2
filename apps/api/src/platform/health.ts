import { readdir } from "node:fs/promises";
import { fileURLToPath } from "node:url";
import type { FastifyInstance } from "fastify";
import type { Config } from "../config.ts";
import type { Database } from "./database.ts";
import type { DatabaseWatch } from "./database-watch.ts";
import { freeMegabytes } from "./disk.ts";
import { findLogLag } from "./log/find-log-lag.ts";

declare module "fastify" {
  interface FastifyContextConfig {
    /** A probe or the metrics: answered however busy the service is, and not counted. */
    isProbe?: boolean;
  }
}

/** Whether the service is on its way down. It goes on serving for a while, and says that it wants no more. */
export interface Lifecycle {
  isStopping: boolean;
}

/** Entries may wait so long for the log; the transaction that wrote them may itself have taken a while. */
const longestLogLagSeconds = 30;
/** Below this share of the reserve even tests may fail. */
const leastShareOfReserve = 0.25;

interface Check {
  readonly name: string;
  readonly isWell: boolean;
  readonly detail: string;
}

const migrationsFolder = fileURLToPath(new URL("../../../../prisma/migrations", import.meta.url));

/**
 * The probes of whoever runs the service: /livez, whether the process answers at all, and /readyz, whether it can do
 * its work, with one line a check. A balancer sends requests to ready processes; a supervisor restarts dead ones.
 */
export function serveHealth(
  app: FastifyInstance,
  parts: { database: Database; watch: DatabaseWatch; config: Config; lifecycle: Lifecycle },
): void {
  const options = { schema: { hide: true }, config: { isProbe: true } } as const;
  app.get("/livez", options, async (_request, reply) => {
    return reply.header("cache-control", "no-store").send({ status: "alive" });
  });
  app.get("/readyz", options, async (_request, reply) => {
    const checks = await readiness(parts);
    const isReady = checks.every(({ isWell }) => isWell);
    return reply
      .status(isReady ? 200 : 503)
      .header("cache-control", "no-store")
      .send({ status: isReady ? "ready" : "not ready", checks });
  });
}

async function readiness({
  database,
  watch,
  config,
  lifecycle,
}: Parameters<typeof serveHealth>[1]): Promise<Check[]> {
  const serving = {
    name: "serving",
    isWell: !lifecycle.isStopping,
    detail: lifecycle.isStopping ? "The service is stopping." : "The service takes requests.",
  };
  const disk = await diskCheck(config);
  if (watch.isAway || watch.answeredIn === null) {
    return [serving, disk, { name: "database", isWell: false, detail: "The database does not answer." }];
  }
  const answer = {
    name: "database",
    isWell: true,
    detail: `Answered within ${Math.ceil(watch.answeredIn)} ms.`,
  };
  return [serving, disk, answer, ...(await Promise.all([migrationCheck(database), logCheck(database)]))];
}

async function diskCheck(config: Config): Promise<Check> {
  const free = await freeMegabytes(config);
  const least = config.DISK_RESERVE_MEGABYTES * leastShareOfReserve;
  return {
    name: "disk",
    isWell: free === null || free >= least,
    detail: free === null ? "The data folder cannot be asked." : `${Math.floor(free)} MB are free.`,
  };
}

/** A newer version of the service may have migrated further: what this version needs is there all the same. */
async function migrationCheck(database: Database): Promise<Check> {
  const folders = await readdir(migrationsFolder, { withFileTypes: true });
  const known = folders.filter((entry) => entry.isDirectory()).map(({ name }) => name);
  return await orFailed("migrations", async () => {
    const { rows } = await database.pool.query<{ missing: string }>(
      `SELECT missing FROM unnest($1::text[]) AS missing
       WHERE NOT EXISTS (SELECT FROM _prisma_migrations m WHERE m.migration_name = missing AND m.finished_at IS NOT NULL)
       ORDER BY missing`,
      [known],
    );
    const missing = rows.map((row) => row.missing);
    return {
      name: "migrations",
      isWell: missing.length === 0,
      detail: missing.length === 0 ? "All are applied." : `Missing: ${missing.join(", ")}.`,
    };
  });
}

async function logCheck(database: Database): Promise<Check> {
  return await orFailed("log", async () => {
    const { seconds } = await findLogLag(database);
    return {
      name: "log",
      isWell: seconds <= longestLogLagSeconds,
      detail: seconds === 0 ? "No entry waits." : `The oldest waiting entry is ${Math.round(seconds)} s old.`,
    };
  });
}

/** A check that cannot be made has failed; why stands in the service's own log, not in the reply. */
async function orFailed(name: string, check: () => Promise<Check>): Promise<Check> {
  try {
    return await check();
  } catch {
    return { name, isWell: false, detail: "The database did not answer the question." };
  }
}
