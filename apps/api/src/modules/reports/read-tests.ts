import {
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

/**
 * Records of tests performed in a period, one line each. Of a load that a plan has twice the greater registration stands,
 * as in every list of tests. What hangs on the whole evaluation or entry is looked up where it can matter alone: the
 * average's verdict where the test failed, creep as left where the meter was tested again.
 *
 * The test before is the last one with results that no record before the cutoff superseded: of the same period by a window
 * over the meter's tests, else the newest from before the period.
 *
 * Nothing here is fenced off that PostgreSQL could do in parallel; the window sees no column that it does not need.
 *
 * @param withAsLeft  false leaves results as left empty, but for the verdict: a third of the work
 */
const testsSql = (withAsLeft: boolean) => `
  WITH superseded AS NOT MATERIALIZED (
    SELECT supersedes_id AS id FROM meter_test WHERE supersedes_id IS NOT NULL AND recorded_at <= :cutoff
  ), record AS NOT MATERIALIZED (
    SELECT t.*, (t.performed_at AT TIME ZONE :zone)::date AS performed_on,
      CASE WHEN s.id IS NOT NULL THEN 'amended' WHEN t.outcome = 'withdrawn' THEN 'withdrawn' ELSE 'counted' END AS state
    FROM meter_test t LEFT JOIN superseded s ON s.id = t.id
    WHERE t.performed_at >= :from::date::timestamp AT TIME ZONE :zone
      AND t.performed_at < (:to::date + 1)::timestamp AT TIME ZONE :zone AND t.recorded_at <= :cutoff
  ), again AS (
    SELECT id, within FROM (
      SELECT id, max(performed_on) FILTER (WHERE state = 'counted' AND outcome = 'tested') OVER (
          PARTITION BY meter_id ORDER BY performed_at, id ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
        ) AS within
      FROM record
    ) w WHERE within IS NOT NULL
  ), earlier AS (
    SELECT t.meter_id, (max(t.performed_at) AT TIME ZONE :zone)::date AS performed_on
    FROM meter_test t LEFT JOIN superseded s ON s.id = t.id
    WHERE t.performed_at < :from::date::timestamp AT TIME ZONE :zone AND t.recorded_at <= :cutoff AND s.id IS NULL
      AND t.outcome = 'tested'
    GROUP BY t.meter_id
  ), point AS (
    SELECT p.test_id,
      max(registration_percent) FILTER (WHERE pass = 'as-found' AND role = 'full-load') AS found_fl,
      max(registration_percent) FILTER (WHERE pass = 'as-found' AND role = 'light-load') AS found_ll,
      max(registration_percent) FILTER (WHERE pass = 'as-found' AND role = 'power-factor') AS found_pf,
      ${["full-load", "light-load", "power-factor"]
        .map((role, place) =>
          withAsLeft
            ? `max(registration_percent) FILTER (WHERE pass = 'as-left' AND role = '${role}') AS left_${place}`
            : `NULL::numeric AS left_${place}`,
        )
        .join(", ")},
      string_agg(pass || ' ' || role, ',') FILTER (WHERE verdict = 'fail') AS fails
    FROM meter_test_point p JOIN meter_test t ON t.id = p.test_id
    WHERE t.performed_at >= :from::date::timestamp AT TIME ZONE :zone
      AND t.performed_at < (:to::date + 1)::timestamp AT TIME ZONE :zone AND t.recorded_at <= :cutoff
      ${withAsLeft ? "" : "AND p.pass = 'as-found'"}
    GROUP BY p.test_id
  )
  SELECT c.id, c.entry_id, c.meter_id, m.type_id, c.performed_on, (extract(epoch FROM c.recorded_at) * 1000)::bigint,
    array_to_string(c.reasons, ','), coalesce(a.within, e.performed_on), c.state, c.standard_id, c.calibration_id,
    c.untestable_reason, CASE WHEN c.outcome = 'tested' THEN c.verdict_as_found END, p.found_fl, p.found_ll, p.found_pf,
    c.average_as_found, c.creeping,
    CASE WHEN c.verdict_as_found = 'fail' THEN c.evaluation::json #>> '{asFound,average,verdict}' END,
    c.verdict_as_left, p.left_0, p.left_1, p.left_2,
    ${
      withAsLeft
        ? `c.average_as_left,
    CASE WHEN c.verdict_as_left IS NULL THEN NULL
      WHEN position('"asLeft":{"kind":"same"}' IN c.entry_body) > 0 THEN c.creeping
      ELSE nullif(c.entry_body::json #>> '{outcome,asLeft,pass,creep}', 'not-checked') = 'creeps' END,
    CASE WHEN c.verdict_as_left = 'fail' THEN c.evaluation::json #>> '{asLeft,average,verdict}' END`
        : "NULL, NULL, NULL"
    },
    p.fails
  FROM record c JOIN meter m ON m.id = c.meter_id
  LEFT JOIN point p ON p.test_id = c.id LEFT JOIN again a ON a.id = c.id LEFT JOIN earlier e ON e.meter_id = c.meter_id
  WHERE c.profile_id IN (:profiles) AND (:place::uuid IS NULL OR c.place_id = :place::uuid)`;

/**
 * Hands the records of tests of a report to a function, one by one, so that a year of them is never held at once. They come
 * over a connection of their own, as a COPY, which is several times faster than rows: every value is a code, a number, a
 * date or an id, so a line needs no unescaping.
 *
 * @param options.inOrder     by id, as a manifest wants them; otherwise in any order, which is faster
 * @param options.withAsLeft  false where nobody counts results as left: of that pass the verdict comes alone
 */
export async function readTests(
  pool: Pick<pg.Pool, "connect">,
  tests: TestsOfReport,
  take: (test: ReportedTest) => void,
  { inOrder, withAsLeft }: { inOrder: boolean; withAsLeft: boolean },
): Promise<void> {
  const client = await pool.connect();
  let broken: Error | undefined;
  try {
    // Sorting and grouping a year's tests belongs in memory; compiling the query costs more than it saves here.
    await client.query(
      "BEGIN READ ONLY; SET LOCAL work_mem = '256MB'; SET LOCAL jit = off; SET LOCAL statement_timeout = '10min'",
    );
    const { rows: profiles } = await client.query<{ id: string }>(
      "SELECT id FROM rule_profile WHERE key = $1",
      [tests.profileKey],
    );
    const values: Record<string, string> = {
      zone: client.escapeLiteral(tests.timeZone),
      from: client.escapeLiteral(tests.from),
      to: client.escapeLiteral(tests.to),
      cutoff: `${client.escapeLiteral(tests.cutoff.toISOString())}::timestamptz`,
      place: tests.placeId === null ? "NULL" : client.escapeLiteral(tests.placeId),
      // Of no profile there is no test; the list may not be empty.
      profiles: ["NULL", ...profiles.map(({ id }) => client.escapeLiteral(id))].join(", "),
    };
    const sql = testsSql(withAsLeft).replace(
      /:(zone|from|to|cutoff|place|profiles)\b/g,
      (_, name: string) => values[name] ?? "",
    );
    const lines = client.query(copyTo(`COPY (${sql}${inOrder ? " ORDER BY c.id" : ""}) TO STDOUT`));
    lines.setEncoding("latin1");
    let rest = "";
    for await (const chunk of lines as AsyncIterable<string>) {
      const text = rest + chunk;
      let from = 0;
      for (let end = text.indexOf("\n", from); end !== -1; end = text.indexOf("\n", from)) {
        take(toTest(text.slice(from, end)));
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

function toTest(line: string): ReportedTest {
  const cells = line.split("\t");
  const text = (place: number) => {
    const cell = cells[place];
    return cell === undefined || cell === "\\N" ? null : cell;
  };
  const needed = (place: number) => {
    const cell = text(place);
    if (cell === null) throw new Error(`column ${place + 1} of a test is empty`);
    return cell;
  };
  const fails = text(26);
  return {
    id: needed(0),
    entryId: needed(1),
    meterId: needed(2),
    typeId: needed(3),
    performedOn: needed(4),
    recordedAt: new Date(Number(needed(5))).toISOString(),
    reasons: needed(6).split(","),
    previousOn: text(7),
    state: needed(8) as ReportedTest["state"],
    standardId: text(9),
    calibrationId: text(10),
    asFound: passOf("as-found", text(12), text(13), text(14), text(15), text(16), text(17), text(18), fails),
    asLeft: passOf("as-left", text(19), text(20), text(21), text(22), text(23), text(24), text(25), fails),
    untestableReason: text(11),
  };
}

function passOf(
  name: "as-found" | "as-left",
  verdict: string | null,
  fullLoad: string | null,
  lightLoad: string | null,
  powerFactor: string | null,
  average: string | null,
  creeps: string | null,
  averageVerdict: string | null,
  fails: string | null,
): ReportedPass | null {
  if (verdict === null) return null;
  return {
    verdict: verdict as ReportedPass["verdict"],
    fullLoad,
    lightLoad,
    powerFactor,
    average,
    outside: outsideOf(name, fails, averageVerdict),
    creeps: creeps === null ? null : creeps === "t",
  };
}

const nothing: readonly Measure[] = [];

const measureOfRole: Readonly<Record<string, Measure | undefined>> = {
  "full-load": "fullLoad",
  "light-load": "lightLoad",
  "power-factor": "powerFactor",
};

function outsideOf(name: string, fails: string | null, averageVerdict: string | null): readonly Measure[] {
  if (fails === null && averageVerdict !== "fail") return nothing;
  const found = new Set<Measure>();
  for (const fail of fails === null ? [] : fails.split(",")) {
    const [pass, role = ""] = fail.split(" ");
    const measure = measureOfRole[role];
    if (pass === name && measure !== undefined) found.add(measure);
  }
  if (averageVerdict === "fail") found.add("average");
  return measures.filter((measure) => found.has(measure));
}

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
