import { spawnSync } from "node:child_process";
import { appendFile, mkdtemp, readdir, readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { readConfig } from "@sealbook/api/config";
import { backUp } from "@sealbook/api/platform/backup/back-up";
import { restore } from "@sealbook/api/platform/backup/restore";
import { openDatabase } from "@sealbook/api/platform/database";
import { logSigner } from "@sealbook/api/platform/log/log-signer";
import { startSequencer } from "@sealbook/api/platform/log/start-sequencer";
import { verify } from "@sealbook/api/verify";
import { openCheckpoint } from "@sealbook/evidence/checkpoint";
import { keyOfSigner } from "@sealbook/evidence/signed-note";
import pg from "pg";
import { pino } from "pino";
import { afterAll, beforeAll, describe, expect, inject, it } from "vitest";
import { appOn, type TestApp, testApp, testPin } from "../support/app.ts";
import { type MeterBench, meterBench } from "../support/meter-bench.ts";

let shop: TestApp;
let bench: MeterBench;
let folder: string;
const databases: string[] = [];

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  folder = await mkdtemp(join(tmpdir(), "sealbook-backup-test-"));
});
afterAll(async () => {
  await shop.close();
  await rm(folder, { recursive: true });
  await onServer(async (server) => {
    for (const name of databases) await server.query(`DROP DATABASE IF EXISTS ${name} WITH (FORCE)`);
  });
});

async function onServer<Result>(work: (server: pg.Client) => Promise<Result>): Promise<Result> {
  const server = new pg.Client({ connectionString: inject("adminUrl") });
  await server.connect();
  try {
    return await work(server);
  } finally {
    await server.end();
  }
}

async function emptyDatabase(): Promise<string> {
  const name = `test_restore_${process.pid}_${databases.length}`;
  databases.push(name);
  await onServer((server) => server.query(`CREATE DATABASE ${name}`));
  const url = new URL(inject("adminUrl"));
  url.pathname = `/${name}`;
  return url.href;
}

async function rowsOf(url: string, sql: string): Promise<Record<string, unknown>[]> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    return (await client.query(sql)).rows;
  } finally {
    await client.end();
  }
}

/** Every table with the number of its rows and a hash over them, whatever their order. */
async function contentsOf(url: string): Promise<string[]> {
  const tables = await rowsOf(
    url,
    "SELECT relname AS name FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace AND relname <> '_prisma_migrations' ORDER BY 1",
  );
  const contents: string[] = [];
  for (const { name } of tables) {
    // The transaction of an entry is of the server that it was on.
    const [row] = await rowsOf(
      url,
      `SELECT count(*) AS rows, sum(hashtextextended((to_jsonb(t) - 'xact')::text, 0)::numeric) AS hash FROM "${name}" t`,
    );
    contents.push(`${name}: ${row?.rows} rows, ${row?.hash}`);
  }
  return contents;
}

describe("a backup that was made under load", () => {
  it("restores into an empty database with the very tree head of its snapshot, and verifies", async () => {
    const config = readConfig({ LOG_LEVEL: "silent", SEALBOOK_DATA_FOLDER: join(folder, "data") });
    const log = pino({ level: "silent" });
    const opened = openDatabase(shop.database.appUrl, config, log);
    const signer = await logSigner(opened.pool, config);
    const sequencer = startSequencer({ database: opened, signer, log });
    const plan = await bench.aPlan();
    const type = await bench.aType(plan);
    const meters = await Promise.all([1, 2, 3].map(() => bench.aMeter(type)));
    let isWriting = true;
    let written = 0;
    const writers = meters.map(async ({ id }) => {
      while (isWriting) {
        const test = bench.aTest(id, plan.id, { signature: { pin: testPin } });
        await bench.technician.agent.post("/api/meter-tests").send(test).expect(201);
        written += 1;
      }
    });
    let manifest: Awaited<ReturnType<typeof backUp>>;
    try {
      await expect.poll(() => written, { timeout: 20_000 }).toBeGreaterThan(5);
      const before = written;
      manifest = await backUp(shop.database.adminUrl, join(folder, "under load"));
      await expect.poll(() => written, { timeout: 20_000 }).toBeGreaterThan(before);
    } finally {
      isWriting = false;
      await Promise.all(writers);
      await sequencer.stop();
      await opened.close();
    }
    expect(manifest.log.size).toBeGreaterThan(20);

    const url = await emptyDatabase();
    expect(await restore(url, join(folder, "under load"))).toEqual(manifest);
    const [head] = await rowsOf(url, "SELECT size::int, encode(root, 'hex') AS root FROM log_head");
    expect(head).toEqual({ size: manifest.log.size, root: manifest.log.root });
    // The source, which went on, had that very head at that size, and signed one on its way there.
    const [source] = await rowsOf(shop.database.adminUrl, "SELECT size::int FROM log_head");
    expect(source?.size).toBeGreaterThan(manifest.log.size);
    const signed = openCheckpoint(manifest.log.head ?? "", [keyOfSigner(signer)]);
    expect(signed.kind).toBe("accepted");
    const { verified } = await verify(url, { note: manifest.log.head ?? "", keys: [keyOfSigner(signer)] });
    expect(verified.findings).toEqual([]);
    expect(verified.leaves).toBe(manifest.log.size);
    expect(verified.rows).toBeGreaterThan(manifest.log.size);
  });

  it("holds every row of every table, and work goes on in what was restored of it", async () => {
    const quiet = join(folder, "quiet");
    await backUp(shop.database.adminUrl, quiet);
    const url = await emptyDatabase();
    await restore(url, quiet);
    expect(await contentsOf(url)).toEqual(await contentsOf(shop.database.adminUrl));
    // Triggers, foreign keys and grants are those that the migrations make.
    const guards = `SELECT tgrelid::regclass::text AS t, tgname::text AS name, tgenabled::text AS how FROM pg_trigger WHERE NOT tgisinternal
      UNION ALL SELECT conrelid::regclass::text, conname::text, pg_get_constraintdef(oid) FROM pg_constraint ORDER BY 1, 2, 3`;
    expect(await rowsOf(url, guards)).toEqual(await rowsOf(shop.database.adminUrl, guards));

    const appUrl = new URL(shop.database.appUrl);
    appUrl.pathname = new URL(url).pathname;
    const name = appUrl.pathname.slice(1);
    const restored = await appOn(
      { name, adminUrl: url, appUrl: appUrl.href, drop: async () => undefined },
      {},
      { demo: true },
    );
    try {
      const there = await restored.stranger();
      await there
        .post("/api/session")
        .send({ username: bench.technician.username, password: "nine blue ladders" })
        .expect(200);
      await restored.admin.query("SELECT 1");
    } finally {
      await restored.close();
    }
    // An entry of old is no entry of a transaction here: no row can be put under it.
    await expect(
      rowsOf(
        url,
        "INSERT INTO place (id, kind, name, entry_id) SELECT gen_random_uuid(), 'van', 'Ghost', id FROM ledger_entry LIMIT 1",
      ),
    ).rejects.toThrow(/ledger entry of (its|their) own transaction/);
  });
});

describe("what is no whole backup", () => {
  it("is refused in words, and leaves nothing behind", async () => {
    const damaged = join(folder, "damaged");
    await backUp(shop.database.adminUrl, damaged);
    await appendFile(join(damaged, "public.meter_test.copy.gz"), "x");
    const url = await emptyDatabase();
    await expect(restore(url, damaged)).rejects.toThrow("public.meter_test.copy.gz is not what was written");
    await expect(restore(url, folder)).rejects.toThrow("holds no backup.json");
    expect(
      await rowsOf(url, "SELECT relname FROM pg_class WHERE relnamespace = 'public'::regnamespace"),
    ).toEqual([]);

    const quiet = join(folder, "quiet");
    await expect(restore(shop.database.adminUrl, quiet)).rejects.toThrow("holds tables already");
    await expect(backUp(shop.database.adminUrl, damaged)).rejects.toThrow("is not empty");
  });

  it("is one without the keys: they stay where they are, and the command says so", async () => {
    const out = join(folder, "by command");
    const program = fileURLToPath(new URL("../../apps/api/src/backup.ts", import.meta.url));
    const made = spawnSync(process.execPath, ["--import", "tsx", program, "--out", out], {
      encoding: "utf8",
      env: {
        ...process.env,
        DATABASE_URL: shop.database.adminUrl,
        SEALBOOK_DATA_FOLDER: join(folder, "data"),
      },
    });
    expect([made.status, made.stderr]).toEqual([0, ""]);
    expect(made.stdout).toContain("Not in it: the keys");
    const seed = (await readFile(join(folder, "data", "log-key-seed"), "utf8")).trim();
    for (const name of await readdir(out)) {
      const bytes = await readFile(join(out, name));
      expect(bytes.includes(seed) || bytes.includes(Buffer.from(seed, "base64"))).toBe(false);
    }
    const wrong = spawnSync(process.execPath, ["--import", "tsx", program], { encoding: "utf8" });
    expect(wrong.status).toBe(2);
    expect(wrong.stderr).toContain("Usage: backup");
  });
});
