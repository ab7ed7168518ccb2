import { type ChildProcess, spawn } from "node:child_process";
import { randomBytes } from "node:crypto";
import { once } from "node:events";
import { mkdtempSync, rmSync } from "node:fs";
import { type IncomingMessage, request } from "node:http";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as sleep } from "node:timers/promises";
import { fileURLToPath } from "node:url";
import pg from "pg";
import { afterAll, describe, expect, inject, it } from "vitest";

/** The whole process, as whoever runs the service starts and stops it. */
const main = fileURLToPath(new URL("../../apps/api/src/main.ts", import.meta.url));
const children: ChildProcess[] = [];
const folders: string[] = [];
const databases: string[] = [];

afterAll(async () => {
  for (const child of children) child.kill("SIGKILL");
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
  const client = new pg.Client({ connectionString: inject("adminUrl") });
  await client.connect();
  for (const name of databases) await client.query(`DROP DATABASE IF EXISTS ${name} WITH (FORCE)`);
  await client.end();
});

async function anEmptyDatabase(): Promise<string> {
  const name = `test_${randomBytes(6).toString("hex")}`;
  const client = new pg.Client({ connectionString: inject("adminUrl") });
  await client.connect();
  await client.query(`CREATE DATABASE ${name}`);
  await client.end();
  databases.push(name);
  const url = new URL(inject("adminUrl"));
  url.pathname = `/${name}`;
  return url.href;
}

function aDataFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), "sealbook-starting-"));
  folders.push(folder);
  return folder;
}

async function freePort(): Promise<number> {
  const server = createServer();
  server.listen(0, "127.0.0.1");
  await once(server, "listening");
  const address = server.address();
  server.close();
  await once(server, "close");
  return typeof address === "object" && address !== null ? address.port : 0;
}

interface Started {
  readonly child: ChildProcess;
  readonly port: number;
  /** What it has said so far, on both outputs. */
  said(): string;
  /** Until it is ready, or has ended without. */
  readonly ready: Promise<boolean>;
  readonly ended: Promise<number | null>;
}

async function start(settings: Record<string, string>): Promise<Started> {
  const port = await freePort();
  const child = spawn(process.execPath, ["--import", "tsx", main], {
    env: {
      ...process.env,
      PORT: String(port),
      LOG_LEVEL: "warn",
      SEALBOOK_DEMO: "false",
      // The password of the role that all databases of the throwaway server share.
      DATABASE_APP_PASSWORD: inject("appRolePassword"),
      // The throwaway server of the tests keeps nothing on purpose.
      REQUIRE_DURABLE_DATABASE: "false",
      ...settings,
    },
    stdio: ["ignore", "pipe", "pipe"],
  });
  children.push(child);
  let said = "";
  const ended = once(child, "exit").then(([code]) => code as number | null);
  const ready = new Promise<boolean>((resolve) => {
    for (const stream of [child.stdout, child.stderr]) {
      stream.on("data", (text) => {
        said += text;
        if (said.includes("Sealbook is ready")) resolve(true);
      });
    }
    void ended.then(() => resolve(false));
  });
  return { child, port, said: () => said, ready, ended };
}

describe("four processes that start at once on an empty database", () => {
  it("make its tables once and one shop, and all serve it", async () => {
    const url = await anEmptyDatabase();
    const folder = aDataFolder();
    const started = await Promise.all(
      Array.from({ length: 4 }, () => start({ DATABASE_URL: url, SEALBOOK_DATA_FOLDER: folder })),
    );
    expect(
      await Promise.all(started.map(({ ready }) => ready)),
      started.map(({ said }) => said()).join("\n"),
    ).toEqual([true, true, true, true]);
    for (const { port } of started) {
      expect((await fetch(`http://127.0.0.1:${port}/readyz`)).status).toBe(200);
    }
    // One of them made the first administrator, and told its password.
    expect(started.filter(({ said }) => said().includes("First sign-in")).length).toBe(1);
    const client = new pg.Client({ connectionString: url });
    await client.connect();
    const { rows } = await client.query<{ what: string; n: number }>(
      `SELECT 'shops' AS what, count(*)::int AS n FROM shop
       UNION ALL SELECT 'people', count(*)::int FROM account
       UNION ALL SELECT 'keys of the log', count(*)::int FROM ledger_entry WHERE action = 'logKey.use'
       UNION ALL SELECT 'migrations twice', count(*)::int FROM (
         SELECT FROM _prisma_migrations GROUP BY migration_name HAVING count(*) > 1) AS twice
       UNION ALL SELECT 'migrations unfinished', count(*)::int FROM _prisma_migrations WHERE finished_at IS NULL`,
    );
    await client.end();
    expect(Object.fromEntries(rows.map(({ what, n }) => [what, n]))).toEqual({
      shops: 1,
      people: 1,
      "keys of the log": 1,
      "migrations twice": 0,
      "migrations unfinished": 0,
    });
    for (const { child } of started) child.kill("SIGTERM");
    expect(await Promise.all(started.map(({ ended }) => ended))).toEqual([0, 0, 0, 0]);
  }, 240_000);
});

describe("a service that is asked to stop", () => {
  it("says that it is not ready, finishes what is under way, and ends with 0", async () => {
    const url = await anEmptyDatabase();
    const { child, port, ready, ended, said } = await start({
      DATABASE_URL: url,
      SEALBOOK_DATA_FOLDER: aDataFolder(),
      DRAIN_SECONDS: "3",
    });
    expect(await ready, said()).toBe(true);
    // A request whose body comes slowly is under way until the last of it has come.
    const body = JSON.stringify({ username: "nobody", password: "whatever it was" });
    const slow = request({ port, path: "/api/session", method: "POST", headers: jsonOf(body) });
    const answer = once(slow, "response");
    slow.write(body.slice(0, 10));
    await until(async () => (await fetch(`http://127.0.0.1:${port}/readyz`)).status === 200);
    child.kill("SIGTERM");
    await until(async () => (await fetch(`http://127.0.0.1:${port}/readyz`)).status === 503);
    expect((await fetch(`http://127.0.0.1:${port}/livez`)).status).toBe(200);
    // Past the drain it takes nobody new, and still waits for the one under way.
    await until(async () => {
      const { code } = await fetch(`http://127.0.0.1:${port}/livez`).then(
        () => ({ code: "" }),
        (error) => error.cause,
      );
      return code === "ECONNREFUSED";
    });
    slow.end(body.slice(10));
    const [{ statusCode }] = (await answer) as [IncomingMessage];
    expect(statusCode).toBe(401);
    expect(await ended).toBe(0);
  }, 120_000);
});

function jsonOf(body: string): Record<string, string> {
  return { "content-type": "application/json", "content-length": String(Buffer.byteLength(body)) };
}

async function until(isSo: () => Promise<boolean>): Promise<void> {
  const end = Date.now() + 60_000;
  while (!(await isSo())) {
    if (Date.now() > end) throw new Error("it never came to that");
    await sleep(50);
  }
}

describe("a database that would lose what was confirmed", () => {
  it("is refused at the start with a sentence that says which setting, and what to do", async () => {
    const { ready, ended, said } = await start({
      DATABASE_URL: await anEmptyDatabase(),
      SEALBOOK_DATA_FOLDER: aDataFolder(),
      REQUIRE_DURABLE_DATABASE: "true",
    });
    expect(await ready).toBe(false);
    expect(await ended).toBe(1);
    expect(said()).toContain("would lose records that the service has confirmed");
    expect(said()).toContain("fsync is off; it must be on.");
    expect(said()).toContain("REQUIRE_DURABLE_DATABASE=false");
  }, 120_000);
});
