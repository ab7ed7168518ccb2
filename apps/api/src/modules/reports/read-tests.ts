import {
  type CountedTest,
  type Measure,
  measures,
  type ReportedPass,
  type ReportedTest,
} from "@sealbook/metrology/reports/reported-test";
import type pg from "pg";
import { to as copyTo } from "pg-copy-streams";
import type { Source } from "../../platform/transaction.ts";

/** Which records of tests a report is about. */
export interface TestsOfReport {
  /** Key of the jurisdiction's profile: tests judged by any version of it. */
  readonly profileKey: string;
  readonly placeId: string | null;
  /** Local dates of the shop, inclusive. */
  readonly from: string;
  readonly to: string;
  readonly timeZone: string;
  /** Records up to this moment. */
  readonly cutoff: Date;
}

/** Cells of a record's line that its figures hang on, but for the day of the test before. */
const countedCells = [
  "m.type_id",
  "(t.performed_at AT TIME ZONE :zone)::date",
  "t.recorded_at AT TIME ZONE 'UTC'",
  "array_to_string(t.reasons, ',')",
  "CASE WHEN s.id IS NOT NULL THEN 'amended' WHEN t.outcome = 'withdrawn' THEN 'withdrawn' ELSE 'counted' END",
  "t.standard_id",
  "t.calibration_id",
  "t.untestable_reason",
  "CASE WHEN t.outcome = 'tested' THEN t.verdict_as_found END",
  "p.full_load_as_found",
  "p.light_load_as_found",
  "p.power_factor_as_found",
  "t.average_as_found",
  "t.creeping",
  "p.outside_as_found",
  "t.verdict_as_left",
  "p.full_load_as_left",
  "p.light_load_as_left",
  "p.power_factor_as_left",
  "t.average_as_left",
  "p.creeping_as_left",
  "p.outside_as_left",
];

/** Cells that say whose record it is. */
const ownCells = ["t.id", "t.entry_id", "t.meter_id"];

/**
 * Records of tests performed in a period, one line each, as they stood at the cutoff. What a report counts of a test's
 * points stands beside it already (test_measures); of a load that a plan has twice the greater registration stands, as in
 * every list of tests.
 *
 * The test before is the meter's last one with results that no record before the cutoff superseded. Most meters were
 * tested once in the period, and then it is their newest from before the period; the others are gone through in order.
 *
 * The subquery stands apart (OFFSET 0) so that several processes of PostgreSQL read its rows and put their lines together.
 */
const linesSql = (cells: readonly string[]) => `
  WITH superseded AS NOT MATERIALIZED (
    SELECT supersedes_id AS id FROM meter_test WHERE supersedes_id IS NOT NULL AND recorded_at <= :cutoff
  ), history AS (
    SELECT t.meter_id,
      max(t.performed_at) FILTER (WHERE t.performed_at < :begin AND t.outcome = 'tested'
        AND t.id NOT IN (SELECT id FROM superseded)) AS before
    FROM meter_test t
    WHERE t.performed_at < :end AND t.recorded_at <= :cutoff
    GROUP BY t.meter_id
  ), again AS (
    SELECT t.id, max(t.performed_at) FILTER (WHERE t.outcome = 'tested' AND s.id IS NULL) OVER (
        PARTITION BY t.meter_id ORDER BY t.performed_at, t.id ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
      ) AS performed_at
    FROM meter_test t LEFT JOIN superseded s ON s.id = t.id
    WHERE t.performed_at >= :begin AND t.performed_at < :end AND t.recorded_at <= :cutoff AND t.meter_id IN (
      SELECT meter_id FROM meter_test WHERE performed_at >= :begin AND performed_at < :end
      GROUP BY meter_id HAVING count(*) > 1
    )
  )
  SELECT concat(r.line, '|', (coalesce(a.performed_at, h.before) AT TIME ZONE :zone)::date)
  FROM (
    SELECT t.id, t.meter_id, t.performed_at, concat(${cells.join(", '|', ")}) AS line
    FROM meter_test t JOIN meter m ON m.id = t.meter_id
    LEFT JOIN test_measures p ON p.test_id = t.id LEFT JOIN superseded s ON s.id = t.id
    WHERE t.performed_at >= :begin AND t.performed_at < :end AND t.recorded_at <= :cutoff
      AND t.profile_id IN (:profiles) AND (:place::uuid IS NULL OR t.place_id = :place::uuid)
    OFFSET 0
  ) r JOIN history h ON h.meter_id = r.meter_id LEFT JOIN again a ON a.id = r.id`;

/** Hands the records of tests of a report to a function, one by one in the order of their ids, as a manifest wants them. */
export async function readTests(
  pool: Pick<pg.Pool, "connect">,
  tests: TestsOfReport,
  take: (test: ReportedTest) => void,
): Promise<void> {
  const sql = `${linesSql([...ownCells, ...countedCells])} ORDER BY r.id`;
  await readLines(pool, tests, sql, (line) => {
    const cells = line.split("|");
    const counted = toCounted(cells, ownCells.length);
    take({ id: needed(cells, 0), entryId: needed(cells, 1), meterId: needed(cells, 2), ...counted });
  });
}

/** Hands what the figures of a report hang on to a function, record by record in any order, which is faster. */
export async function readCountedTests(
  pool: Pick<pg.Pool, "connect">,
  tests: TestsOfReport,
  take: (test: CountedTest) => void,
): Promise<void> {
  await readLines(pool, tests, linesSql(countedCells), (line) => take(toCounted(line.split("|"), 0)));
}

/**
 * Hands lines to a function, one by one, so that a year of them is never held at once. They come over a connection of their
 * own, as a COPY, which is several times faster than rows: every value is a code, a number, a date or an id, so a line
 * needs no unescaping.
 */
async function readLines(
  pool: Pick<pg.Pool, "connect">,
  tests: TestsOfReport,
  sql: string,
  take: (line: string) => void,
): Promise<void> {
  const client = await pool.connect();
  let broken: Error | undefined;
  try {
    // Sorting and grouping a year's tests belongs in memory; compiling the query costs more than it saves here. Lines go
    // from one process of PostgreSQL to another at less than it thinks, and every join is of a year's rows, also where it
    // has not counted them yet.
    await client.query(
      "BEGIN READ ONLY; SET LOCAL work_mem = '256MB'; SET LOCAL jit = off; SET LOCAL parallel_tuple_cost = 0.01; SET LOCAL enable_nestloop = off; SET LOCAL statement_timeout = '10min'",
    );
    const { rows: profiles } = await client.query<{ id: string }>(
      "SELECT id FROM rule_profile WHERE key = $1",
      [tests.profileKey],
    );
    const zone = client.escapeLiteral(tests.timeZone);
    const values: Record<string, string> = {
      zone,
      begin: `(${client.escapeLiteral(tests.from)}::date::timestamp AT TIME ZONE ${zone})`,
      end: `((${client.escapeLiteral(tests.to)}::date + 1)::timestamp AT TIME ZONE ${zone})`,
      cutoff: `${client.escapeLiteral(tests.cutoff.toISOString())}::timestamptz`,
      place: tests.placeId === null ? "NULL" : client.escapeLiteral(tests.placeId),
      // Of no profile there is no test; the list may not be empty.
      profiles: ["NULL", ...profiles.map(({ id }) => client.escapeLiteral(id))].join(", "),
    };
    const filled = sql.replace(
      /:(zone|begin|end|cutoff|place|profiles)\b/g,
      (_, name: string) => values[name] ?? "",
    );
    const lines = client.query(copyTo(`COPY (${filled}) TO STDOUT`));
    lines.setEncoding("latin1");
    let rest = "";
    for await (const chunk of lines as AsyncIterable<string>) {
      const text = rest + chunk;
      let from = 0;
      for (let end = text.indexOf("\n", from); end !== -1; end = text.indexOf("\n", from)) {
        take(text.slice(from, end));
        from = end + 1;
      }
      rest = text.slice(from);
    }
    await client.query("COMMIT");
  } catch (error) {
    broken = error as Error;
    throw error;
  } finally {
    client.release(broken);
  }
}

/** What figures hang on, from the cells that begin at a place. */
function toCounted(cells: readonly string[], at: number): CountedTest {
  return {
    typeId: needed(cells, at),
    performedOn: needed(cells, at + 1),
    recordedAt: toInstant(needed(cells, at + 2)),
    reasons: needed(cells, at + 3).split(","),
    state: needed(cells, at + 4) as CountedTest["state"],
    standardId: orNull(cells, at + 5),
    calibrationId: orNull(cells, at + 6),
    untestableReason: orNull(cells, at + 7),
    asFound: toPass(cells, at + 8),
    asLeft: toPass(cells, at + 15),
    previousOn: orNull(cells, at + countedCells.length),
  };
}

/** The pass whose seven cells begin with its verdict; null where there is none. */
function toPass(cells: readonly string[], at: number): ReportedPass | null {
  const verdict = orNull(cells, at);
  if (verdict === null) return null;
  const creeps = orNull(cells, at + 5);
  const outside = orNull(cells, at + 6);
  return {
    verdict: verdict as ReportedPass["verdict"],
    fullLoad: orNull(cells, at + 1),
    lightLoad: orNull(cells, at + 2),
    powerFactor: orNull(cells, at + 3),
    average: orNull(cells, at + 4),
    outside: outside === null ? nothing : measuresOf(outside.split(",")),
    creeps: creeps === null ? null : creeps === "t",
  };
}

/** ISO 8601 with milliseconds, from a time of UTC as PostgreSQL writes it: "2026-03-01 14:05:00.12". */
function toInstant(text: string): string {
  return `${text.slice(0, 10)}T${text.slice(11, 19)}.${text.slice(20).padEnd(3, "0")}Z`;
}

/** No cell is ever an empty text: that stands for NULL. */
function orNull(cells: readonly string[], place: number): string | null {
  const cell = cells[place];
  return cell === undefined || cell === "" ? null : cell;
}

function needed(cells: readonly string[], place: number): string {
  const cell = cells[place];
  if (cell === undefined || cell === "") throw new Error(`cell ${place + 1} of a test is empty`);
  return cell;
}

const nothing: readonly Measure[] = [];

const roleOf: Readonly<Record<Measure, string>> = {
  fullLoad: "full-load",
  lightLoad: "light-load",
  powerFactor: "power-factor",
  average: "average",
};

const measuresOf = (roles: readonly string[]): readonly Measure[] =>
  measures.filter((measure) => roles.includes(roleOf[measure]));

/**
 * A moment up to which every record of the database is committed: now, or just before the oldest change under way began.
 * A record that is committed later carries a later time.
 */
export async function settledMoment(source: Source): Promise<Date> {
  const [row] = await source.query<{ moment: Date }>(
    `SELECT date_trunc('milliseconds', least(
       now_to_the_millisecond(),
       (SELECT min(xact_start) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid())
     ) - interval '1 millisecond') AS moment`,
  );
  if (row === undefined) throw new Error("the database tells no time");
  return row.moment;
}
