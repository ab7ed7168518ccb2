import { EventEmitter } from "node:events";
import { setTimeout as sleep } from "node:timers/promises";
import { Logger, run, runMigrations, type WorkerEvents } from "graphile-worker";
import pg from "pg";
import type { Logger as Log } from "pino";
import type { Database } from "./database.ts";
import { isDatabaseAway } from "./database-errors.ts";
import type { Tx } from "./transaction.ts";

/** What a task gets beside its payload. */
export interface JobContext {
  /** Aborted when the service stops: the task ends at the next good place by throwing, and is taken up again later. */
  readonly signal: AbortSignal;
  /** Whether an error now ends the job for good: the task then records its failure instead of throwing. */
  readonly lastAttempt: boolean;
}

/** Long work by name. A task is taken up again after an error or a crash, so it must be able to resume. */
export type JobTasks = Readonly<Record<string, (payload: unknown, context: JobContext) => Promise<void>>>;

export interface Jobs {
  /** Takes no more jobs, asks those under way to end at their next good place, and waits for them. */
  stop(): Promise<void>;
}

const schema = "graphile_worker";
const attempts = 5;
const livenessCheckMilliseconds = 5_000;
/** Pause before something that failed for want of the database is tried again. */
const restartMilliseconds = 1_000;

/** Tables of the queue that the server's role works on. Row security is on in them, so each needs a policy, too. */
const tables = ["_private_jobs", "_private_job_queues", "_private_tasks", "_private_known_crontabs"];

/**
 * Brings the queue's own schema to its newest version and lets the server's role use it while owning nothing of it.
 *
 * @param adminUrl address of the migrated database as the role that owns its tables
 */
export async function migrateJobs(adminUrl: string): Promise<void> {
  await runMigrations({ connectionString: adminUrl, schema, logger: quiet });
  const client = new pg.Client({ connectionString: adminUrl });
  await client.connect();
  try {
    // Several processes may start at once: making one policy at the same moment fails, so they take turns.
    await client.query("SELECT pg_advisory_lock(hashtext('sealbook jobs'))");
    const statements = tables.map(
      (table) => `
        GRANT SELECT, INSERT, UPDATE, DELETE ON ${schema}.${table} TO sealbook_app;
        DROP POLICY IF EXISTS sealbook_app ON ${schema}.${table};
        CREATE POLICY sealbook_app ON ${schema}.${table} TO sealbook_app USING (true) WITH CHECK (true);`,
    );
    await client.query(
      `BEGIN;
       GRANT USAGE ON SCHEMA ${schema} TO sealbook_app;
       GRANT SELECT ON ${schema}.migrations TO sealbook_app;
       ${statements.join("\n")}
       COMMIT`,
    );
  } finally {
    await client.end();
  }
}

/**
 * Puts a job in the queue in the caller's transaction: it is there when, and only when, that commits.
 *
 * @param key names the job while it waits; a second one of the same key replaces it
 */
export async function addJob(
  tx: Tx,
  job: { task: string; payload: { readonly [name: string]: string }; key: string },
): Promise<void> {
  await tx.query(`SELECT 1 FROM ${schema}.add_job($1, payload => $2::json, job_key => $3)`, [
    job.task,
    JSON.stringify(job.payload),
    job.key,
  ]);
}

/** Jobs in the queue, of all processes: due and waiting, under way, and given up after their last attempt. */
export async function countJobs(
  database: Pick<Database, "pool">,
): Promise<{ waiting: number; running: number; failed: number }> {
  const { rows } = await database.pool.query<{ waiting: number; running: number; failed: number }>(
    `SELECT count(*) FILTER (WHERE locked_at IS NULL AND attempts < max_attempts AND run_at <= now())::int AS waiting,
       count(*) FILTER (WHERE locked_at IS NOT NULL)::int AS running,
       count(*) FILTER (WHERE locked_at IS NULL AND attempts >= max_attempts)::int AS failed
     FROM ${schema}._private_jobs`,
  );
  return rows[0] ?? { waiting: 0, running: 0, failed: 0 };
}

/**
 * Works on the queue, one job at a time in this process. Further processes beside it share the queue.
 *
 * A process that dies leaves its job locked. Each holds an advisory lock under its worker pool's name while it lives,
 * so the others, and itself when started anew, see within seconds whose jobs are nobody's, and free them.
 */
export async function startJobs({
  database,
  tasks,
  log,
}: {
  database: Database;
  tasks: JobTasks;
  log: Log;
}): Promise<Jobs> {
  const pool = new pg.Pool({
    connectionString: database.url,
    max: 3,
    application_name: "sealbook jobs",
    connectionTimeoutMillis: 5_000,
  });
  pool.on("error", (error) => log.warn({ err: error }, "an idle connection of the job queue broke"));
  pool.on("connect", (client) => client.on("error", () => undefined));

  const liveness = keepAlive(database.url, log);
  await liveness.check();
  const events: WorkerEvents = new EventEmitter();
  events.on("pool:create", ({ workerPool }) => liveness.liveAs(workerPool.id));
  const start = () =>
    run({
      pgPool: pool,
      schema,
      events,
      concurrency: 1,
      noHandleSignals: true,
      parsedCronItems: [],
      gracefulShutdownAbortTimeout: 1,
      // Only in batches does the queue notice when it cannot write down how a job ended; else that ends the process.
      preset: { worker: { completeJobBatchDelay: 0, failJobBatchDelay: 0 } },
      logger: new Logger(({ taskIdentifier, jobId }) => (level, message) => {
        const pinoLevel = level === "error" ? "error" : level === "warning" ? "warn" : "debug";
        log[pinoLevel]({ task: taskIdentifier, job: jobId }, message);
      }),
      taskList: Object.fromEntries(
        Object.entries(tasks).map(([name, task]) => [
          name,
          async (payload, { abortSignal, job }) => {
            if (abortSignal === undefined) throw new Error("the queue gives each task an abort signal");
            const context = { signal: abortSignal, lastAttempt: job.attempts >= attempts };
            await outlastingOutages(abortSignal, () => task(payload, context));
          },
        ]),
      ),
    });
  const stopping = new AbortController();
  let runner = await start();
  // The queue gives itself up when its database goes away at a bad moment. It is started anew until it holds.
  const supervised = (async () => {
    while (!stopping.signal.aborted) {
      await runner.promise.catch((error: unknown) => log.warn({ err: error }, "the job queue stopped"));
      while (!stopping.signal.aborted) {
        await sleep(restartMilliseconds, undefined, { signal: stopping.signal }).catch(() => undefined);
        if (stopping.signal.aborted) return;
        try {
          runner = await start();
          log.info("the job queue works again");
          break;
        } catch (error) {
          log.warn({ err: error }, "the job queue does not start yet");
        }
      }
    }
  })();
  return {
    async stop() {
      stopping.abort();
      // It may have stopped by itself just now.
      await runner.stop().catch(() => undefined);
      await supervised;
      await liveness.stop();
      await pool.end();
    },
  };
}

/**
 * Does a task, and does it again when the database went away meanwhile: that is no fault of the job's, and costs it
 * none of its attempts.
 */
async function outlastingOutages(signal: AbortSignal, task: () => Promise<void>): Promise<void> {
  for (;;) {
    try {
      await task();
      return;
    } catch (error) {
      if (!isDatabaseAway(error) || signal.aborted) throw error;
      await sleep(restartMilliseconds, undefined, { signal });
    }
  }
}

/** Holds the lock of this process's worker pool, and frees the jobs of pools whose lock nobody holds. */
function keepAlive(url: string, log: Log) {
  let client: pg.Client | null = null;
  let poolId: string | null = null;
  const connect = async (): Promise<pg.Client> => {
    const fresh = new pg.Client({ connectionString: url, application_name: "sealbook job liveness" });
    fresh.on("error", () => {
      if (client === fresh) client = null;
    });
    await fresh.connect();
    if (poolId !== null) await lock(fresh, poolId);
    client = fresh;
    return fresh;
  };
  const lock = (holder: pg.Client, id: string) =>
    holder.query("SELECT pg_advisory_lock(hashtextextended($1, 0))", [id]);
  const check = async () => {
    const holder = client ?? (await connect());
    // A pool takes its first job in the moment in which it takes its lock: a job just taken tells nothing yet.
    const { rows } = await holder.query<{ pool: string }>(
      `SELECT locked_by AS pool FROM ${schema}._private_jobs WHERE locked_by <> coalesce($1, '')
       GROUP BY locked_by HAVING max(locked_at) < now() - interval '2 seconds'`,
      [poolId],
    );
    for (const { pool } of rows) {
      const tried = await holder.query<{ dead: boolean }>(
        "SELECT pg_try_advisory_lock(hashtextextended($1, 0)) AS dead",
        [pool],
      );
      if (tried.rows[0]?.dead !== true) continue;
      await holder.query(`SELECT ${schema}.force_unlock_workers(ARRAY[$1])`, [pool]);
      await holder.query("SELECT pg_advisory_unlock(hashtextextended($1, 0))", [pool]);
      log.warn({ pool }, "freed the job of a process that died");
    }
  };
  // One thing at a time on the one connection; a failure is told and tried again with the next check.
  let doing: Promise<void> = Promise.resolve();
  const inTurn = (what: () => Promise<unknown>) => {
    doing = doing.then(what).then(
      () => undefined,
      (error: unknown) => log.warn({ err: error }, "could not look after the job queue"),
    );
    return doing;
  };
  const timer = setInterval(() => inTurn(check), livenessCheckMilliseconds);
  timer.unref();
  return {
    check: () => inTurn(check),
    liveAs(id: string) {
      poolId = id;
      inTurn(async () => (client === null ? await connect() : await lock(client, id)));
    },
    async stop() {
      clearInterval(timer);
      await doing;
      await client?.end();
    },
  };
}

/** Migrating logs what it does at length; its errors are thrown. */
const quiet = new Logger(() => () => undefined);
