import { createHash, timingSafeEqual } from "node:crypto";
import type { FastifyInstance } from "fastify";
import { Counter, collectDefaultMetrics, Gauge, Histogram, Registry } from "prom-client";
import type { Config } from "../config.ts";
import type { BackPressure } from "./back-pressure.ts";
import type { Database } from "./database.ts";
import type { DatabaseWatch } from "./database-watch.ts";
import { freeMegabytes } from "./disk.ts";
import { countJobs } from "./jobs.ts";
import { findDeliveryAge, findLogLag } from "./log/find-log-lag.ts";
import { findHead, findNewestCheckpoint } from "./log/store.ts";
import { ProblemError } from "./problem-error.ts";
import { reading } from "./reading.ts";

interface MetricsParts {
  config: Config;
  database: Database;
  watch: DatabaseWatch;
  pressure: BackPressure;
}

/**
 * Serves /metrics in the text format of Prometheus to whoever bears METRICS_TOKEN. Without that setting nothing is
 * measured, and the address is unknown.
 */
export function serveMetrics(app: FastifyInstance, parts: MetricsParts): void {
  const token = parts.config.METRICS_TOKEN;
  if (token === undefined) return;
  const registry = new Registry();
  collectDefaultMetrics({ register: registry });
  measureRequests(app, registry);
  measureProcess(registry, parts);
  const measureDatabase = databaseGauges(registry, parts);
  app.get("/metrics", { schema: { hide: true }, config: { isProbe: true } }, async (request, reply) => {
    if (!bears(request.headers.authorization, token)) {
      throw new ProblemError("not-signed-in", "Metrics are given to the bearer of METRICS_TOKEN alone.");
    }
    await measureDatabase();
    return reply
      .header("cache-control", "no-store")
      .type(registry.contentType)
      .send(await registry.metrics());
  });
}

/** Compares hashes, so that neither length nor place of a difference shows in the time that it takes. */
function bears(header: string | undefined, token: string): boolean {
  const hash = (text: string) => createHash("sha256").update(text).digest();
  return timingSafeEqual(hash(header ?? ""), hash(`Bearer ${token}`));
}

function measureRequests(app: FastifyInstance, registry: Registry): void {
  const seconds = new Histogram({
    name: "sealbook_request_duration_seconds",
    help: "Time from a request's head to the end of its reply, by operation and status",
    labelNames: ["operation", "status"],
    buckets: [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10],
    registers: [registry],
  });
  const problems = new Counter({
    name: "sealbook_problems_total",
    help: "Requests answered with a problem, by its slug",
    labelNames: ["problem"],
    registers: [registry],
  });
  app.addHook("onResponse", async (request, reply) => {
    const { isProbe, operation } = request.routeOptions.config;
    if (isProbe === true) return;
    seconds.observe(
      { operation: operation?.id ?? "page", status: reply.statusCode },
      reply.elapsedTime / 1000,
    );
    if (request.problem !== null) problems.inc({ problem: request.problem.slug });
  });
}

function measureProcess(registry: Registry, { config, database, watch, pressure }: MetricsParts): void {
  const gauge = (name: string, help: string, measure: () => number | null | Promise<number | null>) =>
    new Gauge({
      name,
      help,
      registers: [registry],
      async collect() {
        say(this, await measure());
      },
    });
  gauge("sealbook_requests_under_way", "Requests that are under way", () => pressure.underWay);
  gauge("sealbook_database_up", "1 while the database answers, else 0", () => (watch.isAway ? 0 : 1));
  gauge("sealbook_database_connections", "Connections of the pool", () => database.pool.totalCount);
  gauge(
    "sealbook_database_connections_idle",
    "Connections of the pool at rest",
    () => database.pool.idleCount,
  );
  gauge("sealbook_database_waiting", "Requests that wait for a connection", () => database.pool.waitingCount);
  gauge(
    "sealbook_disk_free_bytes",
    "Room on the disk of the data folder; absent where it cannot be asked",
    async () => {
      const megabytes = await freeMegabytes(config);
      return megabytes === null ? null : megabytes * 1_048_576;
    },
  );
}

/** What is not known is left out of the reply, rather than told as a number. */
function say(gauge: Gauge, value: number | null): void {
  if (value === null) gauge.remove();
  else gauge.set(value);
}

/** What only the database knows, asked once a scrape; absent while it is away. */
function databaseGauges(registry: Registry, { database, watch }: MetricsParts): () => Promise<void> {
  const gauge = (name: string, help: string) => new Gauge({ name, help, registers: [registry] });
  const gauges = {
    waiting: gauge("sealbook_log_waiting_entries", "Ledger entries that wait for their leaf"),
    lag: gauge("sealbook_log_lag_seconds", "Age of the oldest entry that waits; 0 when none does"),
    size: gauge("sealbook_log_size", "Leaves of the log"),
    headAge: gauge(
      "sealbook_log_signed_head_age_seconds",
      "Age of the newest signed head; absent before the first",
    ),
    deliveryAge: gauge(
      "sealbook_log_delivered_head_age_seconds",
      "Time since the outlet furthest behind was sent a head; absent while heads are sent nowhere",
    ),
    jobsWaiting: gauge("sealbook_jobs_waiting", "Jobs that are due and wait"),
    jobsRunning: gauge("sealbook_jobs_running", "Jobs under way, in all processes"),
    jobsFailed: gauge("sealbook_jobs_failed", "Jobs that were given up"),
  };
  return async () => {
    for (const one of Object.values(gauges)) say(one, null);
    if (watch.isAway) return;
    try {
      const source = reading(database);
      const [lag, head, signed, jobs, delivered] = await Promise.all([
        findLogLag(database),
        findHead(source),
        findNewestCheckpoint(source),
        countJobs(database),
        findDeliveryAge(database),
      ]);
      gauges.waiting.set(lag.waiting);
      gauges.lag.set(lag.seconds);
      gauges.size.set(head.size);
      say(gauges.headAge, signed === null ? null : (Date.now() - signed.at.getTime()) / 1000);
      say(gauges.deliveryAge, delivered);
      gauges.jobsWaiting.set(jobs.waiting);
      gauges.jobsRunning.set(jobs.running);
      gauges.jobsFailed.set(jobs.failed);
    } catch {
      // The database went away meanwhile; what the process knows by itself is still told.
    }
  };
}
