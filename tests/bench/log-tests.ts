import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { ensureAppRole } from "@sealbook/api/platform/database";
import { newId } from "@sealbook/api/platform/transaction";
import pg from "pg";
import { ensureDatabase } from "../../scripts/embedded-postgres.mjs";
import { migrate } from "../../scripts/migrate.mjs";
import { appOn, testPassword } from "../support/app.ts";
import { counted, meterBench, pass, registration } from "../support/meter-bench.ts";

/**
 * Tests logged per second through the whole service (request, session, permission, judgement, ledger entry, rows,
 * reply), beside the same SQL statements with the same values from a bare script on a copy of the same database. The
 * goal is 0.6 of the bare script. On a database that forces its writes to the disk, as a shop's does.
 */
const testsPerRun = 400;
const warmUp = 50;

interface Statement {
  text: string;
  values: unknown[] | undefined;
}

/** Statements by the connection that they went over, in order, while `recording` is on. */
const logs = new Map<unknown, Statement[]>();
let recording = false;
const originalQuery = pg.Client.prototype.query as (...args: unknown[]) => unknown;
pg.Client.prototype.query = function record(this: pg.Client, ...args: unknown[]) {
  const [text, values] = args;
  if (recording && typeof text === "string") {
    const log = logs.get(this) ?? [];
    log.push({ text, values: Array.isArray(values) ? values : undefined });
    logs.set(this, log);
  }
  return originalQuery.apply(this, args);
} as typeof pg.Client.prototype.query;

const folder = mkdtempSync(join(tmpdir(), "sealbook-bench-"));
const server = await ensureDatabase({ dataFolder: join(folder, "data"), database: "bench" });
try {
  await migrate({ connectionString: server.adminUrl });
  const appUrl = await ensureAppRole(server.adminUrl, "a password for the bench");
  const at = (url: string, database: string) => {
    const address = new URL(url);
    address.pathname = `/${database}`;
    return address.href;
  };
  const onServer = async (sql: string) => {
    const admin = new pg.Client({ connectionString: at(server.adminUrl, "postgres") });
    await admin.connect();
    await admin.query(sql);
    await admin.end();
  };

  for (const connections of [1, 8]) {
    const database = `service_${connections}`;
    const copy = `bare_${connections}`;
    await onServer(`CREATE DATABASE ${database} TEMPLATE bench`);
    const shop = await appOn(
      {
        name: database,
        adminUrl: at(server.adminUrl, database),
        appUrl: at(appUrl, database),
        drop: async () => undefined,
      },
      { DATABASE_POOL: String(Math.max(2, connections)) },
    );
    const bench = await meterBench(shop);
    const plan = await bench.aPlan();
    const meter = await bench.aMeter(await bench.aType(plan));
    // A copy is made of a database without connections only; the pools open new ones.
    await onServer(`SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '${database}'`);
    await onServer(`CREATE DATABASE ${copy} TEMPLATE ${database}`);

    const address = await shop.app.listen({ host: "127.0.0.1", port: 0 });
    const session = await fetch(`${address}/api/session`, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ username: bench.technician.username, password: testPassword }),
    });
    const cookie = session.headers.get("set-cookie")?.split(";")[0] ?? "";
    const asFound = pass({ FL: counted("10", "6.012"), LL: counted("1", "0.6"), PF: registration("100.2") });
    const log = async () => {
      const test = bench.aTest(meter.id, plan.id, {
        errorAppliedByBench: false,
        outcome: { kind: "tested", asFound, asLeft: { kind: "same" } },
      });
      const reply = await fetch(`${address}/api/meter-tests`, {
        method: "POST",
        headers: { "content-type": "application/json", cookie, "idempotency-key": newId() },
        body: JSON.stringify(test),
      });
      if (reply.status !== 201) throw new Error(await reply.text());
      await reply.arrayBuffer();
    };
    const inTurns = async (times: number) => {
      let left = times;
      await Promise.all(
        Array.from({ length: connections }, async () => {
          while (left-- > 0) await log();
        }),
      );
    };
    logs.clear();
    await inTurns(warmUp);
    recording = true;
    const service = await secondsOf(() => inTurns(testsPerRun));
    recording = false;
    await shop.close();

    const bare = await replay(at(appUrl, copy));
    const statements = [...logs.values()].reduce((sum, ofOne) => sum + ofOne.length, 0);
    process.stdout.write(
      `${connections} at a time: service ${perSecond(service)}/s, bare script ${perSecond(bare)}/s, ` +
        `ratio ${(bare / service).toFixed(2)} (${(statements / testsPerRun).toFixed(1)} statements a test)\n`,
    );
  }
} finally {
  await server.stop();
  rmSync(folder, { recursive: true, force: true });
}

function perSecond(seconds: number): number {
  return Math.round(testsPerRun / seconds);
}

async function secondsOf(work: () => Promise<void>): Promise<number> {
  const start = performance.now();
  await work();
  return (performance.now() - start) / 1000;
}

/** Sends the recorded statements again, each connection's over one connection, and nothing else. */
async function replay(url: string): Promise<number> {
  const clients: { client: pg.Client; statements: Statement[] }[] = [];
  for (const statements of logs.values()) {
    const client = new pg.Client({ connectionString: url });
    await client.connect();
    clients.push({ client, statements });
  }
  const seconds = await secondsOf(async () => {
    await Promise.all(
      clients.map(async ({ client, statements }) => {
        for (const { text, values } of statements) await client.query(text, values);
      }),
    );
  });
  for (const { client } of clients) await client.end();
  return seconds;
}
