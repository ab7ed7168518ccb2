import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { readCountedTests } from "@sealbook/api/modules/reports/read-tests";
import { ensureAppRole } from "@sealbook/api/platform/database";
import { michigan } from "@sealbook/metrology/profiles/places/michigan";
import { summariser } from "@sealbook/metrology/reports/summarise";
import pg from "pg";
import { ensureDatabase } from "../../scripts/embedded-postgres.mjs";
import { migrate } from "../../scripts/migrate.mjs";
import { appOn } from "../support/app.ts";
import { countsBySql } from "../support/counts-by-sql.ts";
import { meterBench, pass, registration } from "../support/meter-bench.ts";

/**
 * Seconds to summarise a year of 500,000 tests (and half as many from the years before, which the test periods hang on),
 * beside the same counts by SQL written by hand in the same run. The goal is under 5 s. The database is filled by SQL
 * from one test that was logged through the service, so that its rows are as large as a shop's.
 */
const tests = Number(process.argv[2] ?? 500_000);
const goalSeconds = 5;

const folder = mkdtempSync(join(tmpdir(), "sealbook-bench-"));
const server = await ensureDatabase({ dataFolder: join(folder, "data"), database: "bench" });
try {
  await migrate({ connectionString: server.adminUrl });
  const appUrl = await ensureAppRole(server.adminUrl, "a password for the bench");
  const shop = await appOn({ name: "bench", adminUrl: server.adminUrl, appUrl, drop: async () => undefined });
  const bench = await meterBench(shop);
  const plan = await bench.aPlan();
  const types = await Promise.all([
    bench.aType(plan),
    bench.aType(plan, { phases: 1, wires: 2, elements: "1", form: "1S" }),
  ]);
  const meter = await bench.aMeter(types[0] ?? "");
  const logged = bench.aTest(meter.id, plan.id, {
    outcome: {
      kind: "tested",
      asFound: pass({ FL: registration("100.2"), LL: registration("99.7"), PF: registration("100.4") }),
      asLeft: { kind: "same" },
    },
  });
  await bench.technician.agent.post("/api/meter-tests").send(logged).expect(201);
  await fill(shop.admin, { testId: logged.id, meterId: meter.id, types, tests });

  const terms = {
    profileKey: "us-nc",
    placeId: null,
    from: "2025-01-01",
    to: "2025-12-31",
    timeZone: "America/New_York",
  };
  const pool = new pg.Pool({ connectionString: appUrl, max: 2 });
  for (const round of [1, 2, 3]) {
    const [service, summary] = await timed(async () => {
      const counting = summariser({
        bands: michigan.reportBands as NonNullable<typeof michigan.reportBands>,
        phasesOfType: new Map([
          [types[0] ?? "", 3],
          [types[1] ?? "", 1],
        ]),
        lateSince: null,
      });
      await readCountedTests(pool, { ...terms, cutoff: new Date() }, counting.add);
      return counting.result();
    });
    const [byHand, counts] = await timed(() => countsBySql(pool, { ...terms, cutoff: new Date() }));
    const differing = counts.filter(({ dimension, key, pass: of, measure, place, count }) => {
      const row = summary.divisions
        .find((division) => division.dimension === dimension)
        ?.rows.find((one) => one.key === key);
      return (
        row?.measures.find((one) => one.pass === of && one.measure === measure)?.classes[place] !== count
      );
    });
    const counted = summary.divisions[0]?.rows[0]?.tests;
    process.stdout.write(
      `round ${round}: ${counted} tests summarised in ${service.toFixed(2)} s, the same ${counts.length} counts by hand-written SQL in ` +
        `${byHand.toFixed(2)} s; ${differing.length} differ\n`,
    );
    if (differing.length > 0 || counted !== tests) process.exitCode = 1;
    if (round > 1 && tests >= 500_000 && service > goalSeconds) process.exitCode = 1;
  }
  await pool.end();
  await shop.close();
} finally {
  await server.stop();
  rmSync(folder, { recursive: true, force: true });
}

async function timed<Result>(work: () => Promise<Result>): Promise<[number, Result]> {
  const start = performance.now();
  const result = await work();
  return [(performance.now() - start) / 1000, result];
}

/** Meters, tests of the year and of the years before, and their points; triggers are off, for this is no record. */
async function fill(
  admin: pg.Pool,
  { testId, meterId, types, tests }: { testId: string; meterId: string; types: string[]; tests: number },
): Promise<void> {
  const client = await admin.connect();
  try {
    await client.query(`
      ALTER TABLE meter DISABLE TRIGGER ALL; ALTER TABLE meter_test DISABLE TRIGGER ALL;
      ALTER TABLE meter_test_point DISABLE TRIGGER ALL; ALTER TABLE meter_test_point ENABLE ALWAYS TRIGGER measures; SET work_mem = '256MB'`);
    const columns = async (table: string) =>
      (
        await client.query<{ name: string }>(
          "SELECT attname AS name FROM pg_attribute WHERE attrelid = $1::regclass AND attnum > 0 AND NOT attisdropped AND attgenerated = ''",
          [table],
        )
      ).rows.map(({ name }) => name);
    const copied = async (table: string, over: Record<string, string>, from: string) => {
      const names = await columns(table);
      await client.query(
        `INSERT INTO ${table} (${names.join(", ")}) SELECT ${names.map((name) => over[name] ?? `o.${name}`).join(", ")} FROM ${from}`,
      );
    };
    const uuid = (prefix: string, n: string) =>
      `(lpad(to_hex(${n}), 8, '0') || '-0000-7${prefix}-8000-000000000000')::uuid`;
    await copied(
      "meter",
      {
        id: uuid("00a", "n"),
        utility_number: "'B' || n",
        serial: "'B' || n",
        type_id: `CASE WHEN n % 5 < 4 THEN '${types[0]}'::uuid ELSE '${types[1]}'::uuid END`,
      },
      `meter o, generate_series(1, ${tests}) n WHERE o.id = '${meterId}'`,
    );
    const average =
      "round((98.8 + 2.4 * ((n::bigint * 7919) % 100000) / 100000.0 + CASE WHEN n % 29 = 0 THEN 3.3 ELSE 0 END)::numeric, 6)";
    for (const [prefix, count, when] of [
      ["00b", tests, "timestamptz '2025-01-02 12:00Z' + (n % 360) * interval '1 day'"],
      ["00c", Math.round(tests / 2), "timestamptz '2012-01-02 12:00Z' + (n % 4000) * interval '1 day'"],
    ] as const) {
      const base = prefix === "00b" ? {} : { creeping: "false" };
      await copied(
        "meter_test",
        {
          id: uuid(prefix, "n"),
          meter_id: uuid("00a", "n"),
          performed_at: when,
          recorded_at: `${when} + interval '1 hour'`,
          reasons:
            "CASE n % 4 WHEN 0 THEN '{periodic}'::text[] WHEN 1 THEN '{removal}' WHEN 2 THEN '{in-service-sample}' ELSE '{customer-request,periodic}' END",
          average_as_found: average,
          average_as_left: average,
          creeping: "n % 997 = 0",
          verdict_as_found: `CASE WHEN ${average} NOT BETWEEN 98 AND 102 THEN 'fail' ELSE 'pass' END`,
          ...base,
        },
        `meter_test o, generate_series(1, ${count}) n WHERE o.id = '${testId}'`,
      );
      await copied(
        "meter_test_point",
        {
          test_id: uuid(prefix, "n"),
          registration_percent: `o.registration_percent + round((((n::bigint * 104729) % 40001) - 20000) / 10000.0, 4)`,
        },
        `meter_test_point o, generate_series(1, ${count}) n WHERE o.test_id = '${testId}'`,
      );
    }
    await client.query(
      `
      ALTER TABLE meter ENABLE TRIGGER ALL; ALTER TABLE meter_test ENABLE TRIGGER ALL;
      ALTER TABLE meter_test_point ENABLE TRIGGER ALL; VACUUM ANALYZE`
        .split(";")
        .slice(0, 3)
        .join(";"),
    );
    await client.query("VACUUM ANALYZE meter, meter_test, meter_test_point, test_measures");
  } finally {
    client.release();
  }
}
