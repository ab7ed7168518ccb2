import { createHash } from "node:crypto";
import { cpSync, mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { writeEntry } from "@sealbook/api/platform/ledger";
import { sequenceEntries } from "@sealbook/api/platform/log/sequence-entries";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import { verify } from "@sealbook/api/verify";
import type { MeterTest } from "@sealbook/contract/meter-tests";
import pg from "pg";
import { afterAll, beforeAll, describe, expect, inject, it } from "vitest";
import { migrate } from "../../scripts/migrate.mjs";
import { type TestApp, testApp, testPin } from "../support/app.ts";
import { type FreshDatabase, freshDatabase } from "../support/fresh-database.ts";
import { type MeterBench, meterBench } from "../support/meter-bench.ts";

let shop: TestApp;
let bench: MeterBench;
let recorded: MeterTest;

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  const plan = await bench.aPlan();
  const meter = await bench.aMeter(await bench.aType(plan));
  const test = bench.aTest(meter.id, plan.id, { signature: { pin: testPin } });
  recorded = (await bench.technician.agent.post("/api/meter-tests").send(test).expect(201)).body;
  const file = { filename: "notes.txt", contentType: "text/plain" };
  await bench.technician.agent
    .post("/api/files")
    .query({ id: newId() })
    .attach("file", Buffer.from("Seen at the bench.\n"), file)
    .expect(201);
  await sequenceAll(shop.admin);
});
afterAll(() => shop.close());

async function sequenceAll(pool: pg.Pool): Promise<void> {
  while ((await inTransaction(pool, null, (tx) => sequenceEntries(tx))) > 0);
}

const sha256 = (...parts: (Uint8Array | string)[]): Buffer => {
  const hash = createHash("sha256");
  for (const part of parts) hash.update(part);
  return hash.digest();
};
const leafOf = (text: string) => sha256(Uint8Array.of(0), text);
const nodeOf = (left: Buffer, right: Buffer) => sha256(Uint8Array.of(1), left, right);

async function findings(url = shop.database.adminUrl): Promise<string[]> {
  const { verified } = await verify(url);
  return verified.findings.map(({ name, sentence }) => `${name}: ${sentence}`);
}

/** What verify finds after statements of somebody who owns the database, which are then undone by a copy. */
async function foundAfter(...statements: string[]): Promise<string[]> {
  const copy = await freshDatabaseOf(shop);
  const owner = new pg.Client({ connectionString: copy.adminUrl });
  await owner.connect();
  try {
    // Triggers and foreign keys sleep while somebody who owns the database goes about it.
    const { rows } = await owner.query(
      "SELECT tgrelid::regclass::text AS t, tgname AS name FROM pg_trigger WHERE tgenabled = 'A'",
    );
    await owner.query("SET session_replication_role = replica");
    for (const { t, name } of rows) await owner.query(`ALTER TABLE ${t} ENABLE TRIGGER ${name}`);
    for (const statement of statements) await owner.query(statement);
    for (const { t, name } of rows) {
      const there = await owner.query("SELECT FROM pg_trigger WHERE tgrelid = $1::regclass AND tgname = $2", [
        t,
        name,
      ]);
      if (there.rowCount === 1) await owner.query(`ALTER TABLE ${t} ENABLE ALWAYS TRIGGER ${name}`);
    }
    return await findings(copy.adminUrl);
  } finally {
    await owner.end();
    await copy.drop();
  }
}

/** A copy is made of a database without connections only; the pools open new ones, so it may take a few attempts. */
async function freshDatabaseOf({ database }: TestApp): Promise<FreshDatabase> {
  const server = new pg.Client({ connectionString: inject("adminUrl") });
  await server.connect();
  try {
    for (let attempt = 1; ; attempt++) {
      await server.query("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = $1", [
        database.name,
      ]);
      try {
        return await freshDatabase(database.name);
      } catch (error) {
        const objectInUse = "55006";
        if ((error as pg.DatabaseError).code !== objectInUse || attempt === 10) throw error;
      }
    }
  } finally {
    await server.end();
  }
}

describe("a row in the log", () => {
  it("is hashed as its JSON text, and its entry's leaf holds the root over all its rows", async () => {
    const database = await freshDatabase();
    const pool = new pg.Pool({ connectionString: database.adminUrl, max: 1 });
    const [entry, first, second] = [newId(), newId(), newId()].sort() as [string, string, string];
    try {
      await pool.query(
        `BEGIN;
         INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload)
           VALUES ('${entry}', 'place.create', 'place', 'two', '{}');
         INSERT INTO place (id, kind, name, entry_id)
           VALUES ('${second}', 'van', 'Van "2"', '${entry}'), ('${first}', 'store', 'Cage', '${entry}');
         COMMIT`,
      );
      const { rows: live } = await pool.query("SELECT * FROM place ORDER BY id");
      // Members as PostgreSQL's jsonb orders them, shorter names first; those that are null are left out.
      const texts = live.map((row) => {
        const members = Object.keys(row)
          .filter((name) => row[name] !== null)
          .sort((a, b) => a.length - b.length || (a < b ? -1 : 1))
          .map((name) => `${JSON.stringify(name)}: ${JSON.stringify(row[name])}`);
        return `{${members.join(", ")}}`;
      });
      const hashes = texts.map(leafOf) as [Buffer, Buffer];
      const { rows: lines } = await pool.query("SELECT * FROM ledger_rows");
      expect(lines).toMatchObject([{ entry_id: entry, table_name: "place", row_count: 2 }]);
      expect(lines[0].keys.toString("hex")).toBe((first + second).replaceAll("-", ""));
      expect(lines[0].hashes.toString("hex")).toBe(Buffer.concat(hashes).toString("hex"));

      await sequenceAll(pool);
      const { rows: entries } = await pool.query("SELECT * FROM ledger_entry");
      // Canonical JSON (RFC 8785) by hand: members in order of their names, no space between.
      const entryText = JSON.stringify({
        action: "place.create",
        actorId: null,
        at: entries[0].at.toISOString(),
        format: 1,
        id: entry,
        payload: "{}",
        reason: null,
        subjectId: "two",
        subjectType: "place",
      });
      const line = JSON.stringify({
        count: 2,
        place: Number(lines[0].place),
        root: nodeOf(...hashes).toString("hex"),
        table: "place",
      });
      const leafText = JSON.stringify({
        entry: leafOf(entryText).toString("hex"),
        format: 2,
        rows: { count: 2, root: leafOf(line).toString("hex") },
      });
      const { rows: leaves } = await pool.query("SELECT format, hash FROM log_leaf");
      expect(leaves).toEqual([{ format: 2, hash: leafOf(leafText) }]);
      expect(await findings(database.adminUrl)).toEqual([]);
    } finally {
      await pool.end();
      await database.drop();
    }
  });

  it("takes 48 bytes, a thousand of one statement one line", async () => {
    const database = await freshDatabase();
    const pool = new pg.Pool({ connectionString: database.adminUrl, max: 1 });
    const entry = newId();
    try {
      await pool.query(
        `BEGIN;
         INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload)
           VALUES ('${entry}', 'place.create', 'place', 'many', '{}');
         INSERT INTO place (id, kind, name, entry_id)
           SELECT gen_random_uuid(), 'store', 'Shelf ' || n, '${entry}' FROM generate_series(1, 1000) n;
         COMMIT`,
      );
      const { rows } = await pool.query(
        "SELECT row_count AS rows, octet_length(keys) + octet_length(hashes) AS bytes FROM ledger_rows",
      );
      expect(rows).toEqual([{ rows: 1000, bytes: 48_000 }]);
    } finally {
      await pool.end();
      await database.drop();
    }
  });

  it("of every kind agrees with the log as long as nobody bends it", async () => {
    expect(await findings()).toEqual([]);
    const { rows } = await shop.admin.query(
      "SELECT count(DISTINCT table_name)::int AS tables FROM ledger_rows",
    );
    expect(rows[0].tables).toBeGreaterThan(12);
  });
});

describe("somebody who owns the database and bends rows under it is found out when", () => {
  it.each([
    ["a test", "meter_test", "SET average_as_found = 100.00"],
    [
      "a point of a test",
      "meter_test_point",
      "SET verdict = 'pass', registration_percent = 100 WHERE ordinal = 1",
    ],
    ["a meter", "meter", "SET state = 'retired'"],
    ["an account's role", "account", "SET role = 'administrator'"],
    ["a calibration", "calibration", "SET due_on = due_on + 365"],
    ["a signature", "signature", "SET signed_at = signed_at - interval '1 day'"],
    ["a plan", "test_plan", "SET name = 'Other'"],
    ["which commitment a name has", "personal_value", "SET commitment = repeat('0', 64)"],
  ])("%s is changed: the row is named", async (_what, table, change) => {
    const found = await foundAfter(`UPDATE ${table} ${change}`);
    expect(found.length).toBeGreaterThan(0);
    for (const one of found) expect(one).toMatch(/^(row-changed|personal-value-changed): /);
    expect(found[0]).toContain(table === "meter_test" ? `Row ${recorded.id} of meter_test` : ` of ${table}`);
  });

  it("a name is exchanged under its commitment", async () => {
    const found = await foundAfter(
      "UPDATE personal_value SET value = 'Somebody Else' WHERE kind = 'person-name'",
    );
    expect(found.every((one) => one.startsWith("personal-value-changed: "))).toBe(true);
    expect(found.length).toBeGreaterThan(0);
  });

  it("the bytes of a file are exchanged", async () => {
    expect(await foundAfter("UPDATE file_chunk SET bytes = 'Never seen.'")).toEqual([
      expect.stringMatching(/^file-changed: .*notes\.txt/),
    ]);
  });

  it("a row is taken away, or one slipped in", async () => {
    expect(await foundAfter("DELETE FROM signature")).toEqual([expect.stringMatching(/^row-removed: /)]);
    const slippedIn = newId();
    const found = await foundAfter(
      `INSERT INTO place (id, kind, name, entry_id) SELECT '${slippedIn}', 'van', 'Ghost', entry_id FROM place LIMIT 1`,
    );
    expect(found).toEqual([expect.stringContaining(`row-without-entry: Row ${slippedIn} of place`)]);
  });

  it("a row is put back to what it once was, with the entry that it then had", async () => {
    const { rows } = await shop.admin.query(
      "SELECT id, role, version, entry_id FROM account ORDER BY created_at LIMIT 1",
    );
    const [{ id }] = rows;
    const { agent } = await shop.signIn("administrator");
    const person = (await agent.get("/api/people").expect(200)).body.rows.find(
      (row: { id: string }) => row.id === id,
    );
    await agent
      .put(`/api/people/${id}`)
      .set("if-match", `"${person.version}"`)
      .send({ name: person.name, role: "storekeeper", active: true, reason: "Moved to the store" })
      .expect(200);
    await sequenceAll(shop.admin);
    expect(await findings()).toEqual([]);
    const [before] = rows;
    expect(
      await foundAfter(
        `UPDATE account SET role = '${before.role}', version = ${before.version}, entry_id = '${before.entry_id}' WHERE id = '${id}'`,
      ),
    ).toEqual([expect.stringContaining(`row-changed: Row ${id} of account`)]);
  });

  it("row and hash are changed alike: the entry no longer fits its leaf", async () => {
    const found = await foundAfter(
      "UPDATE meter SET serial = 'Z9'",
      `UPDATE ledger_rows SET hashes = (SELECT sha256('\\x00'::bytea || convert_to(jsonb_strip_nulls(to_jsonb(m))::text, 'UTF8')) FROM meter m)
       WHERE table_name = 'meter'`,
    );
    expect(found).toEqual([expect.stringMatching(/^entry-changed: .*meter\.create/)]);
  });

  it("the order of two versions of a row is exchanged", async () => {
    const found = await foundAfter(
      "ALTER TABLE ledger_rows ALTER place DROP IDENTITY",
      "UPDATE ledger_rows SET place = -place",
    );
    expect(found.some((one) => one.startsWith("entry-changed: "))).toBe(true);
  });

  it("a table stops hashing", async () => {
    const found = await foundAfter("DROP TRIGGER bound_insert ON meter_test");
    expect(found).toEqual([expect.stringMatching(/^table-unbound: Table meter_test /)]);
    const gone = await foundAfter("DELETE FROM bound_table WHERE table_name = 'meter_test'");
    expect(gone).toEqual([expect.stringMatching(/^table-unbound: .*meter_test/)]);
  });

  it("a leaf goes back to the format that leaves rows out", async () => {
    const found = await foundAfter("UPDATE log_leaf SET format = 1 WHERE leaf_index = 3");
    expect(found.some((one) => one.startsWith("older-format: Leaf 3 "))).toBe(true);
  });
});

describe("the server's own role", () => {
  const refused = async (sql: string): Promise<string> => {
    const server = new pg.Client({ connectionString: shop.database.appUrl });
    await server.connect();
    try {
      await server.query(sql);
      return "taken";
    } catch (error) {
      return (error as pg.DatabaseError).code ?? "no code";
    } finally {
      await server.end();
    }
  };

  it.each([
    ["write a line", "INSERT INTO ledger_rows (entry_id) SELECT id FROM ledger_entry LIMIT 1"],
    ["change a line", "UPDATE ledger_rows SET row_count = 1"],
    ["unbind a table", "DELETE FROM bound_table"],
    [
      "hash a table of its own with the function of another",
      `CREATE TEMP TABLE meter (LIKE public.meter);
       CREATE TRIGGER t AFTER INSERT ON meter REFERENCING NEW TABLE AS added FOR EACH STATEMENT EXECUTE FUNCTION bind_meter()`,
    ],
    ["bind rows anew", "SELECT bind_rows_anew('{meter}', 'because')"],
  ])("may not %s", async (_what, statement) => {
    expect(await refused(statement)).toBe("42501");
  });
});

describe("parts of a record", () => {
  it("come in one statement, so that their hash is that of all of them", async () => {
    const copy = await freshDatabaseOf(shop);
    const owner = new pg.Client({ connectionString: copy.adminUrl });
    await owner.connect();
    const id = newId();
    const entry = newId();
    const point = (ordinal: number) =>
      `INSERT INTO meter_test_point (test_id, pass, ordinal, point_key, role, registration_percent, verdict)
       VALUES ('${id}', 'as-found', ${ordinal}, 'FL', 'full-load', 100, 'pass')`;
    try {
      await owner.query("BEGIN");
      await owner.query(
        `INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload) VALUES ('${entry}', 'meterTest.record', 'meterTest', '${id}', '{}')`,
      );
      const { rows } = await owner.query(
        "SELECT string_agg(quote_ident(attname), ', ') AS columns FROM pg_attribute WHERE attrelid = 'meter_test'::regclass AND attnum > 0 AND NOT attisdropped AND attname NOT IN ('id', 'entry_id', 'performed_at')",
      );
      await owner.query(
        `INSERT INTO meter_test (id, entry_id, performed_at, ${rows[0].columns})
         SELECT '${id}', '${entry}', performed_at - interval '1 day', ${rows[0].columns} FROM meter_test LIMIT 1`,
      );
      await owner.query(point(1));
      await expect(owner.query(point(2))).rejects.toThrow("come in one statement");
    } finally {
      await owner.end();
      await copy.drop();
    }
  });
});

/** Tables whose rows no entry answers for, each with the reason. */
const unbound: Record<string, string> = {
  _prisma_migrations: "tells what the code brought",
  bound_table: "tells what is bound; verify holds it against the lines",
  ledger_entry: "is in the log itself",
  ledger_rows: "is in the log itself",
  log_checkpoint: "is the log",
  log_head: "is the log",
  log_leaf: "is the log",
  log_pending: "is the log",
  file_chunk: "the file's row holds the SHA-256 of all its chunks",
  personal_value: "bound with the row that names it",
};

it("is true of every table that has an entry, and no other names one", async () => {
  const { rows } = await shop.admin.query<{ table: string; hasEntry: boolean; isBound: boolean }>(
    `SELECT c.relname AS table,
       EXISTS (SELECT FROM pg_attribute a WHERE a.attrelid = c.oid AND a.attname = 'entry_id') AS "hasEntry",
       EXISTS (SELECT FROM bound_table b WHERE b.table_name = c.relname) AS "isBound"
     FROM pg_class c WHERE c.relkind = 'r' AND c.relnamespace = 'public'::regnamespace ORDER BY 1`,
  );
  const loose = rows.filter(({ table, hasEntry, isBound }) => hasEntry && !isBound && !(table in unbound));
  expect(loose).toEqual([]);
  // Each bound table has its triggers: verify would say so of one that has not.
  expect(rows.filter(({ isBound }) => isBound).length).toBeGreaterThan(25);
});

describe("migrations", () => {
  const migrations = fileURLToPath(new URL("../../prisma/migrations", import.meta.url));
  const underTest = "20261129090000_rows_in_the_log";

  it("bind what was on record before, and bind anew the tables whose rows they change", async () => {
    const server = new pg.Client({ connectionString: inject("adminUrl") });
    await server.connect();
    const name = `test_rows_${process.pid}`;
    const folder = mkdtempSync(join(tmpdir(), "migrations-"));
    const url = new URL(inject("adminUrl"));
    url.pathname = `/${name}`;
    const pool = new pg.Pool({ connectionString: url.href, max: 2 });
    pool.on("error", () => undefined);
    try {
      await server.query(`CREATE DATABASE ${name}`);
      for (const migration of readdirSync(migrations).filter((one) => one < underTest)) {
        cpSync(join(migrations, migration), join(folder, migration), { recursive: true });
      }
      await migrate({ connectionString: url.href, folder });
      const place = newId();
      await inTransaction(pool, null, async (tx) => {
        const entry = await writeEntry(tx, {
          action: "place.create",
          subjectType: "place",
          subjectId: place,
          payload: {},
        });
        await tx.query("INSERT INTO place (id, kind, name, entry_id) VALUES ($1, 'store', 'Cage', $2)", [
          place,
          entry,
        ]);
      });
      // The log of today asks for what came with its heads, too.
      for (const migration of readdirSync(migrations).filter(
        (one) => one >= underTest && one < "202611291",
      )) {
        cpSync(join(migrations, migration), join(folder, migration), { recursive: true });
      }
      await migrate({ connectionString: url.href, folder });
      await sequenceAll(pool);
      expect(await findings(url.href)).toEqual([]);

      await migrate({ connectionString: url.href });
      const { rows } = await pool.query(
        "SELECT reason, payload FROM ledger_entry WHERE action = 'ledger.bindRows' ORDER BY id",
      );
      expect(rows[0]).toEqual({
        reason: "Rows that were on record before rows stood in the log",
        payload: '{"tables":["place"]}',
      });
      // A later migration gave places columns that are not null.
      expect(rows.at(-1).reason).toMatch(/^Migration \d+_life_cycle changed the columns of these tables$/);
      await sequenceAll(pool);
      expect(await findings(url.href)).toEqual([]);

      // One that changes rows without an entry is stopped: it has to bind them anew by itself.
      await expect(
        pool.query("ALTER TABLE place DISABLE TRIGGER entered; UPDATE place SET name = 'Cage 2'"),
      ).rejects.toThrow("calls bind_rows_anew");
    } finally {
      await pool.end();
      await server.query(`DROP DATABASE IF EXISTS ${name} WITH (FORCE)`);
      await server.end();
      rmSync(folder, { recursive: true });
    }
  });
});
