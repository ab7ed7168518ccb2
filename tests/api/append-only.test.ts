import { newId } from "@sealbook/api/platform/transaction";
import type { MeterTest } from "@sealbook/contract/meter-tests";
import pg from "pg";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp, testPin } from "../support/app.ts";
import { type MeterBench, meterBench } from "../support/meter-bench.ts";

let shop: TestApp;
let bench: MeterBench;
let recorded: MeterTest;
/** The server's own role, on a connection of its own. */
let server: pg.Client;

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  const plan = await bench.aPlan();
  const meter = await bench.aMeter(await bench.aType(plan));
  const test = bench.aTest(meter.id, plan.id, { signature: { pin: testPin } });
  recorded = (await bench.technician.agent.post("/api/meter-tests").send(test).expect(201)).body;
  server = new pg.Client({ connectionString: shop.database.appUrl });
  await server.connect();
});
afterAll(async () => {
  await server.end();
  await shop.close();
});

/** Append-only tables, each with a column that somebody might want to bend. */
const tables = [
  ["meter_test", "verdict_as_found"],
  ["meter_test_point", "verdict"],
  ["ledger_entry", "payload"],
  ["calibration", "points"],
  ["meter_event", "reason"],
  ["signature", "record_hash"],
] as const;

const keyOf: Record<(typeof tables)[number][0], string> = {
  meter_test: "id",
  meter_test_point: "test_id, pass, ordinal",
  ledger_entry: "id",
  calibration: "id",
  meter_event: "id",
  signature: "id",
};

/** Everything on record in a table, to see that an attempt changed nothing. */
async function contentOf(table: string): Promise<string> {
  const { rows } = await shop.admin.query(
    `SELECT coalesce(json_agg(t ORDER BY t::text), '[]')::text AS all FROM ${table} t`,
  );
  return rows[0].all;
}

/** The SQLSTATE with which the database refuses the statements; the transaction is undone in any case. */
async function refusedWith(client: pg.Client, ...statements: string[]): Promise<string> {
  await client.query("BEGIN");
  try {
    await client.query("SELECT set_config('sealbook.actor', $1, true)", [bench.technician.id]);
    for (const statement of statements) await client.query(statement);
    return "taken";
  } catch (error) {
    return (error as pg.DatabaseError).code ?? "no code";
  } finally {
    await client.query("ROLLBACK");
  }
}

const insufficientPrivilege = "42501";
const restrictViolation = "23001";

describe.each(tables)("as the server's own role, %s", (table, column) => {
  const attempts: [string, string][] = [
    ["UPDATE", `UPDATE ${table} SET ${column} = ${column}`],
    ["DELETE", `DELETE FROM ${table}`],
    ["TRUNCATE", `TRUNCATE ${table} CASCADE`],
    [
      "MERGE",
      `MERGE INTO ${table} AS t USING (SELECT 1) AS s ON true WHEN MATCHED THEN UPDATE SET ${column} = t.${column}`,
    ],
    ["MERGE to delete", `MERGE INTO ${table} AS t USING (SELECT 1) AS s ON true WHEN MATCHED THEN DELETE`],
    [
      "INSERT ON CONFLICT DO UPDATE",
      `INSERT INTO ${table} SELECT * FROM ${table} ON CONFLICT (${keyOf[table]}) DO UPDATE SET ${column} = excluded.${column}`,
    ],
    ["SELECT FOR UPDATE", `SELECT * FROM ${table} FOR UPDATE`],
    ["ALTER TABLE DISABLE TRIGGER", `ALTER TABLE ${table} DISABLE TRIGGER no_change`],
    ["ALTER TABLE DISABLE TRIGGER ALL", `ALTER TABLE ${table} DISABLE TRIGGER ALL`],
    ["DROP TRIGGER", `DROP TRIGGER no_change ON ${table}`],
    ["DROP TABLE", `DROP TABLE ${table} CASCADE`],
    ["ALTER COLUMN", `ALTER TABLE ${table} ALTER ${column} DROP NOT NULL`],
    ["CREATE RULE", `CREATE RULE bend AS ON INSERT TO ${table} DO ALSO NOTHING`],
    // PostgreSQL only warns where there is nothing to grant; the UPDATE after it shows that nothing was granted.
    [
      "UPDATE after a GRANT to itself",
      `GRANT UPDATE ON ${table} TO sealbook_app; UPDATE ${table} SET ${column} = ${column}`,
    ],
    [
      "CREATE TRIGGER",
      `CREATE TRIGGER bend BEFORE INSERT ON ${table} FOR EACH ROW EXECUTE FUNCTION require_entry()`,
    ],
  ];

  it.each(attempts)("refuses %s", async (_name, statement) => {
    const before = await contentOf(table);
    expect(before).not.toBe("[]");
    expect(await refusedWith(server, statement)).toBe(insufficientPrivilege);
    expect(await contentOf(table)).toBe(before);
  });
});

describe("as the server's own role", () => {
  it.each([
    ["SET session_replication_role", "SET session_replication_role = replica"],
    ["SET ROLE of the owner", "SET ROLE postgres"],
    ["SET SESSION AUTHORIZATION", "SET SESSION AUTHORIZATION postgres"],
    ["CREATE TABLE", "CREATE TABLE copy_of_tests AS SELECT * FROM meter_test"],
    [
      "CREATE FUNCTION",
      "CREATE FUNCTION forbid_change() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN NEW; END'",
    ],
    ["ALTER FUNCTION", "ALTER FUNCTION forbid_change() SECURITY DEFINER"],
    ["make_append_only", "SELECT make_append_only('meter_test', 'id, recorded_at')"],
  ])("%s fails", async (_name, statement) => {
    expect(await refusedWith(server, statement)).toBe(insufficientPrivilege);
  });

  it("time and author of a ledger entry cannot be given", async () => {
    const entry = (columns: string, values: string) =>
      `INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload${columns})
       VALUES ('${newId()}', 'meterTest.record', 'meterTest', 'x', '{}'${values})`;
    expect(await refusedWith(server, entry(", at", ", '2020-01-01T00:00:00Z'"))).toBe(insufficientPrivilege);
    expect(await refusedWith(server, entry(", actor_id", `, '${bench.engineer.id}'`))).toBe(
      insufficientPrivilege,
    );
    expect(await refusedWith(server, entry(", xact", ", 1"))).toBe(insufficientPrivilege);
    expect(await refusedWith(server, entry("", ""))).toBe("taken");
  });

  it.each([
    ["meter_test", "recorded_at", "now()"],
    ["meter_test", "actor_id", "current_actor()"],
    ["calibration", "recorded_at", "now()"],
    ["calibration", "actor_id", "current_actor()"],
    ["signature", "signed_at", "now()"],
    ["signature", "account_id", "current_actor()"],
  ])("%s.%s cannot be given", async (table, column, value) => {
    expect(
      await refusedWith(server, `INSERT INTO ${table} (id, ${column}) VALUES (gen_random_uuid(), ${value})`),
    ).toBe(insufficientPrivilege);
  });

  it("the demo's clock moves no time", async () => {
    await server.query("BEGIN");
    await server.query("SELECT set_config('sealbook.demo_clock', '2020-01-01T00:00:00Z', true)");
    const { rows } = await server.query("SELECT now_to_the_millisecond() AS at, clock_timestamp() AS clock");
    await server.query("ROLLBACK");
    expect(Math.abs(rows[0].at - rows[0].clock)).toBeLessThan(5000);
  });

  it("a row cannot lean on an old ledger entry", async () => {
    const again = `INSERT INTO signature (id, subject_type, subject_id, meaning, record_hash, entry_id)
      VALUES ('${newId()}', 'meterTest', '${recorded.id}', 'tested', repeat('0', 64), '${recorded.entryId}')`;
    expect(await refusedWith(server, again)).toBe(restrictViolation);
  });
});

describe("parts of a record on record", () => {
  it.each([
    [
      "a point",
      () => `INSERT INTO meter_test_point (test_id, pass, ordinal, point_key, role, registration_percent, verdict)
             VALUES ('${recorded.id}', 'as-found', 99, 'FL', 'full-load', 100, 'pass')`,
    ],
    [
      "a file of a test",
      (file: string) => `INSERT INTO meter_test_file VALUES ('${recorded.id}', '${file}')`,
    ],
    ["a chunk of a file", (file: string) => `INSERT INTO file_chunk VALUES ('${file}', 99, 'x')`],
  ])("%s is not slipped in afterwards", async (_name, statement) => {
    const fileId = newId();
    await bench.technician.agent
      .post("/api/files")
      .query({ id: fileId })
      .attach("file", Buffer.from("A note.\n"), "note.txt")
      .expect(201);
    expect(await refusedWith(server, statement(fileId))).toBe(restrictViolation);
    const owner = new pg.Client({ connectionString: shop.database.adminUrl });
    await owner.connect();
    try {
      const replica = "SET LOCAL session_replication_role = replica";
      expect(await refusedWith(owner, replica, statement(fileId))).toBe(restrictViolation);
    } finally {
      await owner.end();
    }
  });
});

describe.each(tables)("as the role that owns the tables, %s", (table, column) => {
  it.each([
    ["UPDATE", `UPDATE ${table} SET ${column} = ${column}`],
    ["DELETE", `DELETE FROM ${table}`],
    ["TRUNCATE", `TRUNCATE ${table} CASCADE`],
    [
      "MERGE",
      `MERGE INTO ${table} AS t USING (SELECT 1) AS s ON true WHEN MATCHED THEN UPDATE SET ${column} = t.${column}`,
    ],
  ])("triggers stand behind the privileges: %s", async (_name, statement) => {
    const owner = new pg.Client({ connectionString: shop.database.adminUrl });
    await owner.connect();
    try {
      expect(await refusedWith(owner, statement)).toBe(restrictViolation);
      // ENABLE ALWAYS: a replica's session skips ordinary triggers, but not these.
      expect(await refusedWith(owner, "SET LOCAL session_replication_role = replica", statement)).toBe(
        restrictViolation,
      );
    } finally {
      await owner.end();
    }
  });
});
