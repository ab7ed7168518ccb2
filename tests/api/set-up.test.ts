import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { once } from "node:events";
import {
  chmodSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import pg from "pg";
import { afterEach, beforeEach, describe, expect, inject, it } from "vitest";
import { ensureDatabase } from "../../scripts/embedded-postgres.mjs";
import { migrate } from "../../scripts/migrate.mjs";
import { freshDatabase } from "../support/fresh-database.ts";
import { schemaDifference } from "../support/schema-difference.ts";

const repository = dirname(dirname(dirname(fileURLToPath(import.meta.url))));
const migrations = join(repository, "prisma", "migrations");

/** A Node that keeps the server of a folder. */
interface Owner {
  readonly process: ChildProcess;
  readonly adminUrl: string;
  readonly port: number;
}

let folder: string;
let dataFolder: string;
const owners: Owner[] = [];

beforeEach(() => {
  // Of this name, so that the next run clears up after one that was killed. The space is on purpose.
  folder = mkdtempSync(join(tmpdir(), `sealbook-test-${process.pid}-set up-`));
  // For root the server runs as an account that has to pass through here.
  chmodSync(folder, 0o711);
  dataFolder = join(folder, "data");
});

afterEach(async () => {
  for (const owner of owners.splice(0)) await end(owner, "SIGKILL");
  if (existsSync(pidFile())) {
    const pid = postmaster();
    process.kill(pid, "SIGQUIT");
    await untilGone(pid);
  }
  rmSync(folder, { recursive: true, force: true, maxRetries: 10 });
});

/** Another Node that starts or adopts the server of the folder. */
async function ownerOf(data: string): Promise<Owner> {
  const program = join(repository, "tests", "support", "hold-database.mjs");
  const child = spawn(process.execPath, [program, data], { stdio: ["pipe", "pipe", "inherit"] });
  const firstLine = await new Promise<string>((resolve, reject) => {
    let text = "";
    child.stdout.on("data", (chunk) => {
      text += chunk;
      if (text.includes("\n")) resolve(text);
    });
    child.once("exit", (code) => reject(new Error(`the owner ended with ${code}`)));
  });
  const owner = { process: child, ...(JSON.parse(firstLine) as { adminUrl: string; port: number }) };
  owners.push(owner);
  return owner;
}

async function end(owner: Owner, signal: "SIGTERM" | "SIGKILL"): Promise<void> {
  if (owner.process.exitCode !== null || owner.process.signalCode !== null) return;
  const gone = once(owner.process, "exit");
  owner.process.kill(signal);
  await gone;
}

const pidFile = (): string => join(dataFolder, "postgresql", "cluster", "postmaster.pid");
const postmaster = (): number => Number(readFileSync(pidFile(), "utf8").split("\n")[0]);

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return !/^\d+ \(.*\) Z/s.test(
      existsSync(`/proc/${pid}/stat`) ? readFileSync(`/proc/${pid}/stat`, "utf8") : "",
    );
  } catch {
    return false;
  }
}

async function untilGone(pid: number): Promise<void> {
  const giveUpAt = Date.now() + 20_000;
  while (isAlive(pid)) {
    if (Date.now() > giveUpAt) throw new Error(`process ${pid} does not end`);
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
}

async function ask<Row extends pg.QueryResultRow>(
  url: string,
  sql: string,
  values: unknown[] = [],
): Promise<Row[]> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    return (await client.query<Row>(sql, values)).rows;
  } finally {
    await client.end();
  }
}

describe("the embedded PostgreSQL", () => {
  it("forces every commit to the disk, checks its pages, and lets in by password from this machine alone", async () => {
    const { adminUrl } = await ownerOf(dataFolder);
    const settings = await ask<{ name: string; setting: string }>(
      adminUrl,
      "SELECT name, setting FROM pg_settings WHERE name = ANY($1)",
      [["fsync", "synchronous_commit", "full_page_writes", "data_checksums", "listen_addresses"]],
    );
    expect(Object.fromEntries(settings.map(({ name, setting }) => [name, setting]))).toEqual({
      fsync: "on",
      synchronous_commit: "on",
      full_page_writes: "on",
      data_checksums: "on",
      listen_addresses: "127.0.0.1",
    });
    const guessed = new URL(adminUrl);
    guessed.password = "guessed";
    // 28P01: invalid password.
    await expect(ask(guessed.href, "SELECT 1")).rejects.toMatchObject({ code: "28P01" });
    expect(statSync(join(dataFolder, "postgresql", "password")).mode & 0o777).toBe(0o600);
  });

  it("is adopted, data and port and all, after kill -9 of the Node that started it", async () => {
    const killed = await ownerOf(dataFolder);
    await ask(killed.adminUrl, "CREATE TABLE kept (n int)");
    await ask(killed.adminUrl, "INSERT INTO kept VALUES (1)");
    const pid = postmaster();
    await end(killed, "SIGKILL");
    expect(isAlive(pid)).toBe(true);

    const heir = await ownerOf(dataFolder);
    expect(heir.port).toBe(killed.port);
    expect(postmaster()).toBe(pid);
    expect(await ask(heir.adminUrl, "SELECT n FROM kept")).toEqual([{ n: 1 }]);
    await end(heir, "SIGTERM");
    await untilGone(pid);
    expect(existsSync(pidFile())).toBe(false);
  });

  it("recovers what was committed after kill -9 of Node and PostgreSQL while rows were written", async () => {
    const killed = await ownerOf(dataFolder);
    await ask(killed.adminUrl, "CREATE TABLE written (n int PRIMARY KEY)");
    const writer = new pg.Client({ connectionString: killed.adminUrl });
    // The server is killed under this connection: its end is part of the test.
    writer.on("error", () => undefined);
    await writer.connect();
    let confirmed = 0;
    const writing = (async () => {
      for (let n = 1; ; n += 1) {
        await writer.query("INSERT INTO written VALUES ($1)", [n]);
        confirmed = n;
      }
    })();
    const stopped = expect(writing).rejects.toThrow();
    while (confirmed < 50) await new Promise((resolve) => setTimeout(resolve, 5));
    const pid = postmaster();
    process.kill(pid, "SIGKILL");
    await end(killed, "SIGKILL");
    await stopped;

    const heir = await ownerOf(dataFolder);
    expect(postmaster()).not.toBe(pid);
    const rows = await ask<{ n: number }>(heir.adminUrl, "SELECT n FROM written ORDER BY n");
    const numbers = rows.map(({ n }) => n);
    expect(numbers.slice(0, confirmed)).toEqual(Array.from({ length: confirmed }, (_, index) => index + 1));
    // The statement that was under way may have been committed without its confirmation.
    expect(numbers.length - confirmed).toBeLessThanOrEqual(1);
  });

  it("starts although its pid file names a process that is no PostgreSQL, as after a crash of the machine", async () => {
    const first = await ownerOf(dataFolder);
    const content = readFileSync(pidFile(), "utf8");
    const pid = postmaster();
    await end(first, "SIGTERM");
    await untilGone(pid);
    writeFileSync(pidFile(), content.replace(/^\d+/, String(process.pid)));

    const second = await ownerOf(dataFolder);
    expect(await ask(second.adminUrl, "SELECT 1 AS one")).toEqual([{ one: 1 }]);
    expect(postmaster()).not.toBe(process.pid);
  });

  it("is made once by two Nodes that start in an empty folder at once, and stopped by the last", async () => {
    const [one, other] = await Promise.all([ownerOf(dataFolder), ownerOf(dataFolder)]);
    expect(one.adminUrl).toBe(other.adminUrl);
    const pid = postmaster();
    await end(one, "SIGTERM");
    expect(await ask(other.adminUrl, "SELECT 1 AS one")).toEqual([{ one: 1 }]);
    await end(other, "SIGTERM");
    await untilGone(pid);
  });

  it("takes another port when its own is taken", async () => {
    const first = await ownerOf(dataFolder);
    await end(first, "SIGTERM");
    const { createServer } = await import("node:net");
    const squatter = createServer();
    squatter.listen({ host: "127.0.0.1", port: first.port });
    await once(squatter, "listening");
    try {
      const second = await ownerOf(dataFolder);
      expect(second.port).not.toBe(first.port);
      expect(await ask(second.adminUrl, "SELECT 1 AS one")).toEqual([{ one: 1 }]);
    } finally {
      squatter.close();
    }
  });

  // Nobody else needs the detour.
  if (process.getuid?.() === 0) {
    it("runs for root even in a folder that is closed to all others, or says what to do", async () => {
      const closed = join(folder, "closed");
      mkdirSync(closed, { mode: 0o700 });
      const start = () => ensureDatabase({ dataFolder: join(closed, "data") });
      // Some containers allow no user namespace, and then there is no way.
      if (spawnSync("unshare", ["--user", "true"]).status !== 0) {
        await expect(start()).rejects.toThrow(/DATABASE_URL/);
        return;
      }
      const server = await start();
      expect(await ask(server.adminUrl, "SELECT 1 AS one")).toEqual([{ one: 1 }]);
      await server.stop();
    });
  }

  it("refuses a setting that is more than a name and a value", async () => {
    const settings = { work_mem: "4MB -c fsync=off" };
    await expect(ensureDatabase({ dataFolder, settings })).rejects.toThrow(RangeError);
  });
});

describe("migrations", () => {
  /** A folder of two migrations of our own, so that a test may spoil them. */
  function twoMigrations(): string {
    const own = join(folder, "migrations");
    const files = {
      "20260101000000_one":
        "CREATE TABLE one (n int); CREATE FUNCTION f() RETURNS int LANGUAGE sql AS $$ SELECT 1; $$;",
      "20260102000000_two": "CREATE TABLE two (n int);",
    };
    for (const [name, sql] of Object.entries(files)) {
      mkdirSync(join(own, name), { recursive: true });
      writeFileSync(join(own, name, "migration.sql"), sql);
    }
    return own;
  }

  async function emptyDatabase(): Promise<string> {
    const name = `empty_${Math.random().toString(36).slice(2)}`;
    const serverUrl = inject("adminUrl");
    await ask(serverUrl, `CREATE DATABASE ${name}`);
    const url = new URL(serverUrl);
    url.pathname = `/${name}`;
    return url.href;
  }

  it("are applied once although several processes start at once", async () => {
    const connectionString = await emptyDatabase();
    const applied = await Promise.all(Array.from({ length: 6 }, () => migrate({ connectionString })));
    const [first, ...rest] = applied.filter((names) => names.length > 0);
    expect(rest).toEqual([]);
    const rows = await ask<{ name: string }>(
      connectionString,
      "SELECT migration_name AS name FROM _prisma_migrations WHERE finished_at IS NOT NULL ORDER BY name",
    );
    expect(rows.map(({ name }) => name)).toEqual(first);
    expect(await migrate({ connectionString })).toEqual([]);
  });

  it("are recorded with the SHA-256 of their file, as Prisma does", async () => {
    const connectionString = await emptyDatabase();
    const own = twoMigrations();
    await migrate({ connectionString, folder: own });
    const [row] = await ask<{ checksum: string; steps: number }>(
      connectionString,
      `SELECT checksum, applied_steps_count AS steps FROM _prisma_migrations WHERE migration_name = '20260102000000_two'`,
    );
    // printf '%s' 'CREATE TABLE two (n int);' | sha256sum   (GNU coreutils)
    const checksum = "5e5f9df74267e04473f0a9a4a66c0b4af1d55d221b5d0884e27cb32f048f27e2";
    expect(row).toEqual({ checksum, steps: 1 });
  });

  it("refuse a file that was changed after it was applied", async () => {
    const connectionString = await emptyDatabase();
    const own = twoMigrations();
    await migrate({ connectionString, folder: own });
    writeFileSync(join(own, "20260101000000_one", "migration.sql"), "CREATE TABLE one (n bigint);");
    await expect(migrate({ connectionString, folder: own })).rejects.toThrow(
      /20260101000000_one was changed after it was applied/,
    );
  });

  it("refuse a database that has a migration of a newer version", async () => {
    const connectionString = await emptyDatabase();
    const own = twoMigrations();
    await migrate({ connectionString, folder: own });
    rmSync(join(own, "20260102000000_two"), { recursive: true });
    await expect(migrate({ connectionString, folder: own })).rejects.toThrow(
      /20260102000000_two, which this version does not know/,
    );
  });

  it("leave nothing behind of one that fails, and keep those before it", async () => {
    const connectionString = await emptyDatabase();
    const own = twoMigrations();
    const second = join(own, "20260102000000_two", "migration.sql");
    writeFileSync(second, "CREATE TABLE two (n int);\nCREATE TABLE three (n no_such_type);");
    await expect(migrate({ connectionString, folder: own })).rejects.toThrow(
      /20260102000000_two failed.*\(line 2\)/,
    );
    const tables = () =>
      ask<{ one: boolean; two: boolean }>(
        connectionString,
        "SELECT to_regclass('one') IS NOT NULL AS one, to_regclass('two') IS NOT NULL AS two",
      );
    expect(await tables()).toEqual([{ one: true, two: false }]);
    writeFileSync(second, "CREATE TABLE two (n int);");
    expect(await migrate({ connectionString, folder: own })).toEqual(["20260102000000_two"]);
    expect(await tables()).toEqual([{ one: true, two: true }]);
  });

  describe("of this version", () => {
    const schema = readFileSync(join(repository, "prisma", "schema.prisma"), "utf8");

    it("make exactly what schema.prisma says", async () => {
      const database = await freshDatabase();
      expect(await schemaDifference(database.adminUrl, schema)).toBeNull();
      await database.drop();
    });

    it.each([
      ["a column too many", "ALTER TABLE meter ADD COLUMN colour text", "DROP COLUMN"],
      ["a column too few", "ALTER TABLE meter DROP COLUMN version", "ADD COLUMN"],
      ["a column that may be empty", "ALTER TABLE meter ALTER COLUMN version DROP NOT NULL", "SET NOT NULL"],
      ["a column of another type", "ALTER TABLE meter ALTER COLUMN version TYPE bigint", '"version"'],
    ])("are seen to differ from it by %s", async (_, sql, expected) => {
      const database = await freshDatabase();
      await ask(database.adminUrl, sql);
      expect(await schemaDifference(database.adminUrl, schema)).toContain(expected);
      await database.drop();
    });

    it("lie in folders that say when and what", () => {
      const names = readdirSync(migrations);
      expect(names.filter((name) => !/^\d{14}_[a-z_]+$|^migration_lock\.toml$/.test(name))).toEqual([]);
    });
  });
});
