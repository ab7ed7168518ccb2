import { randomBytes } from "node:crypto";
import { statfs } from "node:fs/promises";
import { tmpdir } from "node:os";
import { Writable } from "node:stream";
import { setTimeout as sleep } from "node:timers/promises";
import { buildApp } from "@sealbook/api/app";
import { readConfig } from "@sealbook/api/config";
import { importTasks } from "@sealbook/api/modules/imports/jobs";
import { openDatabase } from "@sealbook/api/platform/database";
import { lossySettings } from "@sealbook/api/platform/durable-settings";
import { startJobs } from "@sealbook/api/platform/jobs";
import { sequenceEntries } from "@sealbook/api/platform/log/sequence-entries";
import { serviceLog } from "@sealbook/api/platform/service-log";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import { uuidV7 } from "@sealbook/evidence/uuid-v7";
import type { FastifyInstance } from "fastify";
import pg from "pg";
import { pino } from "pino";
import request from "supertest";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp, testPassword, testPin } from "../support/app.ts";
import { benchMapping } from "../support/bench-file.ts";
import { aCable } from "../support/cable.ts";
import { importBench } from "../support/import-bench.ts";

let shop: TestApp;
let technician: SignedIn;
const closing: (() => Promise<void>)[] = [];

beforeAll(async () => {
  shop = await testApp();
  technician = await shop.signIn("technician");
});
afterEach(async () => {
  for (let close = closing.pop(); close !== undefined; close = closing.pop()) await close();
});
afterAll(() => shop.close());

/** Another process's worth of the service on the same database, with settings of its own. */
async function another(
  settings: Record<string, string>,
  over: { url?: string; log?: Writable; lifecycle?: { isStopping: boolean } } = {},
): Promise<FastifyInstance> {
  const config = readConfig({
    LOG_LEVEL: over.log === undefined ? "silent" : "trace",
    DATABASE_POOL: "8",
    SIGN_INS_PER_MINUTE: "10000",
    EVENT_LOOP_DELAY_MILLISECONDS: "60000",
    ...settings,
  });
  const log = over.log === undefined ? pino({ level: "silent" }) : serviceLog(config, over.log);
  const database = openDatabase(over.url ?? shop.database.appUrl, config, log);
  const app = await buildApp({
    config,
    database,
    log,
    ...(over.lifecycle === undefined ? {} : { lifecycle: over.lifecycle }),
  });
  await app.ready();
  closing.push(async () => {
    await app.close();
    await database.close();
  });
  return app;
}

async function signedInAt(app: FastifyInstance, username: string) {
  const agent = request.agent(app.server);
  await agent.post("/api/session").send({ username, password: testPassword }).expect(200);
  return agent;
}

/** Holds a table so that whoever reads it waits. */
async function held(table: string): Promise<() => Promise<void>> {
  const client = new pg.Client({ connectionString: shop.database.adminUrl });
  await client.connect();
  await client.query(`BEGIN; LOCK TABLE ${table} IN ACCESS EXCLUSIVE MODE`);
  return () => client.end();
}

describe("the probes", () => {
  it("say that the process lives, and of each thing that it needs whether it is well", async () => {
    const stranger = shop.stranger();
    expect((await stranger.get("/livez").expect(200)).body).toEqual({ status: "alive" });
    const { body } = await stranger.get("/readyz").expect(200);
    expect(body.status).toBe("ready");
    expect(body.checks.map(({ name }: { name: string }) => name)).toEqual([
      "serving",
      "disk",
      "database",
      "migrations",
      "log",
    ]);
  });

  it("say that a service which is about to stop wants no more requests, while it still answers them", async () => {
    const lifecycle = { isStopping: false };
    const app = await another({}, { lifecycle });
    await request(app.server).get("/readyz").expect(200);
    lifecycle.isStopping = true;
    const { body } = await request(app.server).get("/readyz").expect(503);
    expect(body.checks).toContainEqual({
      name: "serving",
      isWell: false,
      detail: "The service is stopping.",
    });
    await request(app.server).get("/api/welcome").expect(200);
  });

  it("name a migration that this version needs and the database lacks", async () => {
    const { rows } = await shop.admin.query<{ migration_name: string }>(
      "SELECT migration_name FROM _prisma_migrations ORDER BY migration_name DESC LIMIT 1",
    );
    const name = rows[0]?.migration_name ?? "";
    await shop.admin.query("UPDATE _prisma_migrations SET finished_at = NULL WHERE migration_name = $1", [
      name,
    ]);
    try {
      const { body } = await shop.stranger().get("/readyz").expect(503);
      expect(body.checks).toContainEqual({ name: "migrations", isWell: false, detail: `Missing: ${name}.` });
    } finally {
      await shop.admin.query("UPDATE _prisma_migrations SET finished_at = now() WHERE migration_name = $1", [
        name,
      ]);
    }
  });

  it("say that entries wait too long for the log when nobody moves them", async () => {
    // Nobody sequences in this test. The entry is written five minutes ago by the owner's clock.
    const then = Date.now() - 300_000;
    await inTransaction(shop.admin, null, async (tx) => {
      await tx.query("SELECT set_config('sealbook.demo_clock', $1, true)", [new Date(then).toISOString()]);
      await tx.query(
        "INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload) VALUES ($1, 'shop.change', 'shop', 'shop', '{}')",
        [uuidV7(then, randomBytes(10))],
      );
    });
    const { body } = await shop.stranger().get("/readyz").expect(503);
    expect(body.checks).toContainEqual({
      name: "log",
      isWell: false,
      detail: expect.stringMatching(/^The oldest waiting entry is 30\d s old\.$/),
    });
    await inTransaction(shop.admin, null, (tx) => sequenceEntries(tx));
    const after = await shop.stranger().get("/readyz").expect(200);
    expect(after.body.checks).toContainEqual({ name: "log", isWell: true, detail: "No entry waits." });
  });
});

describe("back-pressure", () => {
  it("refuses documents first, then reading, and recording last, with a time to come back", async () => {
    const app = await another({ REQUESTS_AT_ONCE: "10" });
    const agent = await signedInAt(app, technician.username);
    const release = await held("meter");
    const waiting: Promise<number>[] = [];
    const waitOn = async (count: number): Promise<void> => {
      for (let n = 0; n < count; n++) waiting.push(agent.get("/api/meters").then(({ status }) => status));
      await untilWaiting(waiting.length);
    };
    const asked = async (kind: "bulk" | "read" | "record") => {
      const reply =
        kind === "bulk"
          ? await agent.get(`/api/files/${newId()}`)
          : kind === "read"
            ? await agent.get("/api/session")
            : await agent.put("/api/session/pin").send({ password: testPassword, pin: testPin });
      if (reply.status === 503) {
        expect(reply.headers["retry-after"]).toMatch(/^\d+$/);
        expect(reply.body.type).toBe("/problems/unavailable");
      }
      return reply.status;
    };
    try {
      expect([await asked("bulk"), await asked("read"), await asked("record")]).toEqual([404, 200, 204]);
      await waitOn(5);
      expect([await asked("bulk"), await asked("read"), await asked("record")]).toEqual([503, 200, 204]);
      await waitOn(3);
      expect([await asked("bulk"), await asked("read"), await asked("record")]).toEqual([503, 503, 204]);
      // Probes are answered however busy the service is.
      await agent.get("/livez").expect(200);
    } finally {
      await release();
    }
    // Each got its answer: where this machine is slow, that the wait for the lock was too long.
    for (const status of await Promise.all(waiting)) expect([200, 503]).toContain(status);
    expect([await asked("bulk"), await asked("read"), await asked("record")]).toEqual([404, 200, 204]);
  });

  async function untilWaiting(count: number): Promise<void> {
    for (let tries = 0; tries < 300; tries++) {
      const { rows } = await shop.admin.query<{ n: number }>(
        "SELECT count(*)::int AS n FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'",
      );
      // The pool has eight connections: whoever comes after waits for one of them, not for the lock.
      if ((rows[0]?.n ?? 0) >= Math.min(count, 7)) return;
      await sleep(10);
    }
    throw new Error("nobody came to wait");
  }

  it("limits what one person asks for in a minute, and leaves the others alone", async () => {
    const app = await another({ REQUESTS_PER_MINUTE_OF_A_PERSON: "10" });
    const busy = await signedInAt(app, technician.username);
    const other = await signedInAt(app, (await shop.signIn("supervisor")).username);
    for (let n = 0; n < 10; n++) await busy.get("/api/session").expect(200);
    const refused = await busy.get("/api/session").expect(429);
    expect(Number(refused.headers["retry-after"])).toBeGreaterThan(0);
    expect(Number(refused.headers["retry-after"])).toBeLessThanOrEqual(60);
    expect(refused.body.detail).toContain("under your name");
    await other.get("/api/session").expect(200);
  });

  it("limits what one address asks for in a minute, but for the probes", async () => {
    const app = await another({ REQUESTS_PER_MINUTE: "10" });
    const agent = request.agent(app.server);
    for (let n = 0; n < 10; n++) await agent.get("/api/welcome").expect(200);
    const refused = await agent.get("/api/welcome").expect(429);
    expect(refused.body.detail).toContain("from your address");
    await agent.get("/livez").expect(200);
    await agent.get("/readyz").expect(200);
  });
});

describe("the metrics", () => {
  const token = "a token for this test";

  it("are given to the bearer of the token alone, and do not exist without one", async () => {
    const app = await another({ METRICS_TOKEN: token });
    await request(app.server).get("/metrics").expect(401);
    await request(app.server)
      .get("/metrics")
      .set("authorization", "Bearer a token for thiz test")
      .expect(401);
    await request(app.server).get("/metrics").set("authorization", `Bearer ${token}`).expect(200);
    const { headers } = await shop.stranger().get("/metrics");
    expect(headers["content-type"]).not.toContain("version=0.0.4");
  });

  it("are Prometheus text with times by operation, pool, jobs and log", async () => {
    const app = await another({ METRICS_TOKEN: token, SEALBOOK_DATA_FOLDER: tmpdir() });
    const agent = await signedInAt(app, technician.username);
    await agent.get("/api/meters").expect(200);
    await agent.get(`/api/meters/${newId()}`).expect(404);
    const { text, headers } = await agent.get("/metrics").set("authorization", `Bearer ${token}`).expect(200);
    expect(headers["content-type"]).toContain("text/plain; version=0.0.4");
    // Prometheus documentation, "Exposition formats", text-based format: comments, or name, labels, value; from memory.
    for (const line of text.split("\n").filter((one) => one !== "")) {
      expect(line).toMatch(
        /^(# (HELP|TYPE) [a-zA-Z_:][\w:]* .+|[a-zA-Z_:][\w:]*(\{([a-zA-Z_]\w*="(\\.|[^"\\])*",?)*\})? (-?\d[\d.e+-]*|NaN|[+-]Inf)( \d+)?)$/,
      );
    }
    const value = (name: string) => {
      const line = text.split("\n").find((one) => one.startsWith(`${name} `));
      return line === undefined ? undefined : Number(line.slice(name.length + 1));
    };
    expect(value('sealbook_request_duration_seconds_count{operation="meters.list",status="200"}')).toBe(1);
    expect(value('sealbook_problems_total{problem="not-found"}')).toBe(1);
    expect(value("sealbook_database_up")).toBe(1);
    expect(value("sealbook_database_connections")).toBeGreaterThan(0);
    expect(value("sealbook_jobs_waiting")).toBe(0);
    const { rows } = await shop.admin.query<{ waiting: number; size: number }>(
      "SELECT (SELECT count(*)::int FROM log_pending) AS waiting, (SELECT size::int FROM log_head) AS size",
    );
    expect(value("sealbook_log_waiting_entries")).toBe(rows[0]?.waiting);
    expect(value("sealbook_log_size")).toBe(rows[0]?.size);
    // Heads of this shop are sent nowhere.
    expect(value("sealbook_log_delivered_head_age_seconds")).toBeUndefined();
    const { bavail, bsize } = await statfs(tmpdir());
    const free = value("sealbook_disk_free_bytes") ?? 0;
    // Others write on the same disk meanwhile.
    expect(Math.abs(free - bavail * bsize)).toBeLessThan(2 ** 30);
  });
});

describe("the service's own log", () => {
  it("has one line a request, named by the id that the reply carries, and no secret in any", async () => {
    const lines: string[] = [];
    const log = new Writable({
      write(chunk, _encoding, done) {
        lines.push(
          ...String(chunk)
            .split("\n")
            .filter((line) => line !== ""),
        );
        done();
      },
    });
    const app = await another({}, { log });
    const secrets = ["a password that is wrong", "a new password of mine", testPassword, testPin, "8642"];
    const agent = request.agent(app.server);
    const { username } = await shop.signIn("technician");
    const replies = [
      await agent.post("/api/session").send({ username, password: secrets[0] }).expect(401),
      await agent.post("/api/session").send({ username, password: testPassword }).expect(200),
      await agent.put("/api/session/pin").send({ password: testPassword, pin: "8642" }).expect(204),
      await agent.put("/api/session/pin").send({ password: secrets[0], pin: "8642" }),
      await agent
        .put("/api/session/password")
        .send({ currentPassword: testPassword, newPassword: secrets[1] }),
      await agent.get("/api/meters").query({ q: "Mrs. Somebody" }),
      await agent
        .get("/api/session?token=a-token-in-the-address")
        .set("authorization", "Bearer a-bearer-token"),
      await agent.post("/api/meters").set("content-type", "application/json").send('{"pin": "8642", "broken'),
      await agent.get('/api/a%0d%0a{"level":60,"msg":"forged"}'),
      await agent.get("/api/%zz"),
    ];
    const cookie = String(replies[1]?.headers["set-cookie"]).split(";")[0]?.split("=")[1] ?? "";
    expect(cookie).toMatch(/^[\w-]{43}$/);
    await sleep(50);
    const told = lines.map((line) => JSON.parse(line) as Record<string, unknown>);
    for (const reply of replies) {
      const id = reply.headers["x-request-id"];
      expect(
        told.filter(({ reqId }) => reqId === id),
        reply.text,
      ).toHaveLength(1);
      if (reply.body?.requestId !== undefined) expect(reply.body.requestId).toBe(id);
    }
    expect(told.filter(({ reqId }) => reqId !== undefined)).toHaveLength(replies.length);
    const text = lines.join("\n");
    for (const secret of [...secrets, cookie, "a-token-in-the-address", "a-bearer-token", "Mrs. Somebody"]) {
      expect(text).not.toContain(secret);
    }
    expect(told.some(({ msg }) => msg === "forged")).toBe(false);
    expect(told.find(({ status }) => status === 200)).toMatchObject({
      method: "POST",
      path: "/api/session",
      operation: "people.openSession",
    });
  });

  it("leaves secrets out even where a line was given one", () => {
    let line = "";
    const log = serviceLog(
      { LOG_LEVEL: "info" },
      new Writable({
        write(chunk, _encoding, done) {
          line += chunk;
          done();
        },
      }),
    );
    log.info({
      body: { password: "told by mistake", pin: "told by mistake" },
      headers: { cookie: "told by mistake" },
    });
    expect(line).not.toContain("told by mistake");
    expect(line).toContain("(left out)");
  });
});

describe("a database that goes away and comes back", () => {
  async function until<Value>(
    ask: () => Promise<Value>,
    isRight: (value: Value) => boolean,
    seconds: number,
  ): Promise<Value> {
    const end = Date.now() + seconds * 1000;
    for (;;) {
      const value = await ask();
      if (isRight(value)) return value;
      if (Date.now() > end) throw new Error(`still ${JSON.stringify(value)} after ${seconds} s`);
      await sleep(50);
    }
  }

  for (const kind of ["stopped", "silent"] as const) {
    it(`(${kind}) is answered with a sentence within seconds, and used again by itself`, async () => {
      const cable = await aCable(shop.database.appUrl);
      closing.push(() => cable.close());
      const app = await another({ METRICS_TOKEN: "a token for this test" }, { url: cable.url });
      const agent = await signedInAt(app, technician.username);
      if (kind === "stopped") await cable.close();
      else cable.fallSilent();
      const began = performance.now();
      // Asked at once, while nobody knows yet; and all the time until the database is back.
      const replies = await Promise.all(Array.from({ length: 12 }, () => agent.get("/api/meters")));
      const longest = performance.now() - began;
      expect(replies.map(({ status }) => status)).toEqual(replies.map(() => 503));
      for (const { body, headers } of replies) {
        expect(body.detail).toContain("The database does not answer");
        expect(headers["retry-after"]).toMatch(/^\d+$/);
      }
      // Two questions of two seconds each, a second apart, and the time that this busy machine takes.
      expect(longest).toBeLessThan(9_000);
      await until(
        () => agent.get("/readyz"),
        ({ body }) =>
          body.checks.some(
            ({ name, isWell }: { name: string; isWell: boolean }) => name === "database" && !isWell,
          ),
        10,
      );
      await agent.get("/livez").expect(200);
      const { text } = await agent
        .get("/metrics")
        .set("authorization", "Bearer a token for this test")
        .expect(200);
      expect(text).toMatch(/^sealbook_database_up 0$/m);
      expect(text).not.toMatch(/^sealbook_log_size /m);
      const quick = performance.now();
      await agent.get("/api/meters").expect(503);
      expect(performance.now() - quick).toBeLessThan(1_000);

      if (kind === "stopped") await cable.reopen();
      else cable.speakAgain();
      await until(
        () => agent.get("/api/meters"),
        ({ status }) => status === 200,
        10,
      );
    }, 60_000);
  }
});

describe("a disk that is nearly full", () => {
  it("keeps its last room for tests: files and imports are refused with a sentence, and recording goes on", async () => {
    const app = await another({ DISK_RESERVE_MEGABYTES: "10000000", SEALBOOK_DATA_FOLDER: tmpdir() });
    const agent = await signedInAt(app, technician.username);
    const refused = [
      await agent.post("/api/files").query({ id: newId() }).attach("file", Buffer.from("a,b\r\n"), "a.csv"),
      await agent.post(`/api/imports/${newId()}/check`).send({ mappingId: newId() }),
      await agent.post(`/api/imports/${newId()}/run`),
    ];
    for (const { status, body, headers } of refused) {
      expect(status).toBe(507);
      expect(body.type).toBe("/problems/storage-full");
      expect(body.detail).toMatch(
        /^The disk is nearly full: \d+ MB are left, and the last 10000000 MB are kept for tests/,
      );
      expect(headers["retry-after"]).toMatch(/^\d+$/);
    }
    await agent.put("/api/session/pin").send({ password: testPassword, pin: testPin }).expect(204);
    const { body } = await agent.get("/readyz").expect(503);
    expect(body.checks).toContainEqual({
      name: "disk",
      isWell: false,
      detail: expect.stringMatching(/^\d+ MB are free\.$/),
    });
  });

  it("ends an import under way with a sentence; what went in stays in", async () => {
    const imports = await importBench(shop, { meters: 20 });
    const row = (at: number) =>
      [
        imports.meters[at % 20]?.number,
        "2026-03-02",
        `08:${String(at).padStart(2, "0")}`,
        imports.bench.technician.username,
        ...["ROUTINE", imports.standard, "100.1", "99.9", "100.0", "no", ""],
      ].join(",");
    const csv = [
      Object.keys(benchMapping.columns).join(","),
      ...Array.from({ length: 20 }, (_, at) => row(at)),
    ];
    const { id } = await imports.add(`${csv.join("\r\n")}\r\n`);
    await imports.check(id, await imports.aMapping());
    const log = pino({ level: "silent" });
    const { database } = shop.app;
    const jobs = await startJobs({
      database,
      tasks: importTasks(database, log, async () => "The disk is nearly full."),
      log,
    });
    try {
      const { failure } = await imports.until(id, ["checked", "failed"]);
      expect(failure).toBe(
        "The disk is nearly full. Rows that went in are in; ask for another dry run when there is room.",
      );
    } finally {
      await jobs.stop();
    }
  });
});

describe("a database that would lose what was confirmed", () => {
  it("is told from one that keeps it", async () => {
    const client = new pg.Client({ connectionString: shop.database.adminUrl });
    await client.connect();
    try {
      // The throwaway server of the tests keeps nothing on purpose.
      expect(await lossySettings(client)).toEqual([
        "fsync is off; it must be on.",
        "full_page_writes is off; it must be on.",
        "synchronous_commit is off; it must be on.",
      ]);
      await client.query("SET synchronous_commit = on");
      expect(await lossySettings(client)).toHaveLength(2);
      await client.query("SET synchronous_commit = local");
      expect(await lossySettings(client)).toHaveLength(2);
    } finally {
      await client.end();
    }
  });
});
