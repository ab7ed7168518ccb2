import type { ReportBody } from "@sealbook/contract/reports";
import { groupedBy } from "@sealbook/metrology/grouped-by";
import { lotEvaluationSchema } from "@sealbook/metrology/sampling/decision/lot-evaluation-schema";
import type { SampledPlace } from "@sealbook/metrology/sampling/decision/sampled-place";
import type { Database } from "../../platform/database.ts";
import type { Source } from "../../platform/transaction.ts";
import { getCandidates } from "../sampling/sampling.ts";

/**
 * The rule profiles of a report as they are stored: whose rules it is about, whose bands it counts in, and every version of
 * its rules that judged a test of the period.
 */
export async function findProfileLines(
  source: Source,
  { profile, layout, period, timeZone, cutoff }: ReportBody,
): Promise<{ kind: "profile"; id: string; key: string; version: string; text: string }[]> {
  const rows = await source.query<{ id: string; key: string; version: string; body: string }>(
    `SELECT id, key, version, body FROM rule_profile p
     WHERE id = ANY($1) OR (key = $2 AND EXISTS (
       SELECT FROM meter_test t WHERE t.profile_id = p.id AND t.performed_at >= $3::date::timestamp AT TIME ZONE $5
         AND t.performed_at < ($4::date + 1)::timestamp AT TIME ZONE $5 AND t.recorded_at <= $6))
     ORDER BY key, version, id`,
    [[profile.id, layout.id], profile.key, period.from, period.to, timeZone, cutoff],
  );
  return rows.map(({ id, key, version, body }) => ({ kind: "profile", id, key, version, text: body }));
}

/**
 * Entries of tests that stand outside a report and are needed beside it: what stands in for its amended records, and what
 * counted in its lots.
 *
 * @param amendedIds records of the report that another one stands in for
 */
export async function findEntriesBeside(
  source: Source,
  {
    amendedIds,
    lotIds,
    cutoff,
  }: { amendedIds: readonly string[]; lotIds: readonly string[]; cutoff: string },
): Promise<string[]> {
  const rows = await source.query<{ entry_id: string }>(
    `SELECT entry_id FROM meter_test WHERE supersedes_id = ANY($1::uuid[]) AND recorded_at <= $3
     UNION
     SELECT t.entry_id FROM decision k JOIN decision_test dt ON dt.decision_id = k.id AND dt.counted
     JOIN meter_test t ON t.id = dt.test_id WHERE k.lot_id = ANY($2::uuid[])
     ORDER BY 1`,
    [amendedIds, lotIds, cutoff],
  );
  return rows.map(({ entry_id }) => entry_id);
}

/** Test plans: they say which load a point is. */
export async function findPlanLines(source: Source, ids: readonly string[]): Promise<object[]> {
  const rows = await source.query<{ id: string; code: string; revision: number; body: string }>(
    "SELECT id, code, revision, body FROM test_plan WHERE id = ANY($1) ORDER BY code, revision",
    [ids],
  );
  return rows.map(({ id, code, revision, body }) => ({ kind: "plan", id, code, revision, text: body }));
}

/** Calibrations that the tests leaned on. Who performed one is a personal value and stays out. */
export async function findCalibrationLines(source: Source, ids: readonly string[]): Promise<object[]> {
  const rows = await source.query<{
    id: string;
    standard_id: string;
    designation: string;
    calibrated_on: string;
    due_on: string;
    certificate_number: string;
    laboratory: string;
    points: string;
    entry_id: string;
  }>(
    `SELECT c.id, c.standard_id, s.designation, c.calibrated_on, c.due_on, c.certificate_number, c.laboratory, c.points, c.entry_id
     FROM calibration c JOIN standard s ON s.id = c.standard_id WHERE c.id = ANY($1) ORDER BY c.id`,
    [ids],
  );
  return rows.map((row) => ({
    kind: "calibration",
    id: row.id,
    standardId: row.standard_id,
    designation: row.designation,
    calibratedOn: row.calibrated_on,
    dueOn: row.due_on,
    certificateNumber: row.certificate_number,
    laboratory: row.laboratory,
    points: row.points,
    entryId: row.entry_id,
  }));
}

interface LotRow {
  id: string;
  number: string;
  scheme_id: string;
  scheme: string;
  plan: string;
  evaluation: string;
  decision_id: string;
}

interface CountedTestRow {
  lot_id: string;
  place: number;
  outcome: string;
  untestable_reason: string | null;
  verdict: "pass" | "fail" | "incomplete";
  average: string | null;
  full_load: string | null;
  light_load: string | null;
  power_factor: string | null;
}

interface ListRow {
  lot_id: string;
  list_id: string;
  seed: string;
  n: number;
  spares: number;
}

/**
 * Decided lots with all that repeats their draws and their decision: scheme, plan, candidate lists with seeds, and what
 * each place of the sample was when the lot was decided.
 */
export async function findLotLines(
  database: Database,
  source: Source,
  ids: readonly string[],
): Promise<object[]> {
  const lots = await source.query<LotRow>(
    `SELECT l.id, l.number, s.id AS scheme_id, s.body AS scheme, p.body AS plan, k.evaluation, k.id AS decision_id
     FROM lot l JOIN sampling_scheme s ON s.id = l.scheme_id JOIN lot_plan p ON p.lot_id = l.id JOIN decision k ON k.lot_id = l.id
     WHERE l.id = ANY($1) ORDER BY l.number, l.id`,
    [ids],
  );
  const counted = groupedBy(
    await source.query<CountedTestRow>(
      `SELECT k.lot_id, dt.place, t.outcome, t.untestable_reason, t.verdict_as_found AS verdict, t.average_as_found::text AS average,
         g.full_load::text AS full_load, g.light_load::text AS light_load, g.power_factor::text AS power_factor
       FROM decision k JOIN decision_test dt ON dt.decision_id = k.id AND dt.counted JOIN meter_test t ON t.id = dt.test_id
       CROSS JOIN LATERAL (
         SELECT max(registration_percent) FILTER (WHERE role = 'full-load') AS full_load,
           max(registration_percent) FILTER (WHERE role = 'light-load') AS light_load,
           max(registration_percent) FILTER (WHERE role = 'power-factor') AS power_factor
         FROM meter_test_point WHERE test_id = t.id AND pass = 'as-found'
       ) g
       WHERE k.lot_id = ANY($1)`,
      [ids],
    ),
    ({ lot_id }) => lot_id,
  );
  const lists = groupedBy(
    await source.query<ListRow>(
      `SELECT l.lot_id, l.id AS list_id, d.seed, l.n, l.spares FROM draw_list l JOIN draw d ON d.list_id = l.id
       WHERE l.lot_id = ANY($1) ORDER BY l.lot_id, l.ordinal`,
      [ids],
    ),
    ({ lot_id }) => lot_id,
  );
  const lines: object[] = [];
  for (const lot of lots) {
    const draws: object[] = [];
    for (const list of lists.get(lot.id) ?? []) {
      const { bytes } = await getCandidates(database, list.list_id);
      draws.push({
        listId: list.list_id,
        candidates: (await textOf(bytes)).split("\n").filter((line) => line !== ""),
        seed: list.seed,
        n: list.n,
        spares: list.spares,
      });
    }
    lines.push({
      kind: "lot",
      id: lot.id,
      number: lot.number,
      schemeId: lot.scheme_id,
      scheme: lot.scheme,
      plan: lot.plan,
      draws,
      decisionId: lot.decision_id,
      places: placesOf(lot.evaluation, counted.get(lot.id) ?? []),
      evaluation: lot.evaluation,
    });
  }
  return lines;
}

/** What each place was when the lot was decided: the test that counted, or why there was none. */
function placesOf(evaluationText: string, tests: readonly CountedTestRow[]): SampledPlace[] {
  const evaluation = lotEvaluationSchema.parse(JSON.parse(evaluationText));
  const testAt = new Map(tests.map((test) => [test.place, test]));
  const meterAt = new Map<number, string>();
  for (const { readings } of evaluation.characteristics) {
    for (const { place, meter } of readings) meterAt.set(place, meter);
  }
  return Array.from({ length: evaluation.sampleSize }, (_, index): SampledPlace => {
    const place = index + 1;
    const meter = meterAt.get(place) ?? "";
    const test = testAt.get(place);
    if (test === undefined) return { place, meter, outcome: { kind: "left-out", reason: "" } };
    if (test.outcome !== "tested") {
      return { place, meter, outcome: { kind: "untestable", reason: test.untestable_reason ?? "" } };
    }
    return {
      place,
      meter,
      outcome: {
        kind: "tested",
        verdict: test.verdict,
        readings: {
          ...(test.full_load === null ? {} : { "full-load": test.full_load }),
          ...(test.light_load === null ? {} : { "light-load": test.light_load }),
          ...(test.power_factor === null ? {} : { "power-factor": test.power_factor }),
        },
        average: test.average,
      },
    };
  });
}

/** Entries beside those of the tests, under the head: of the report, its profiles, plans, calibrations, lots and their schemes. */
export async function findOtherEntries(
  source: Source,
  of: {
    reportId: string;
    profileIds: readonly string[];
    planIds: readonly string[];
    calibrationIds: readonly string[];
    lotIds: readonly string[];
    headSize: number;
  },
): Promise<string[]> {
  const rows = await source.query<{ id: string }>(
    `SELECT e.id FROM ledger_entry e JOIN log_leaf l ON l.entry_id = e.id
     WHERE l.leaf_index < $2
       AND (e.subject_id = ANY($1::text[]) OR e.subject_id IN (SELECT scheme_id::text FROM lot WHERE id = ANY($3::uuid[])))
       AND e.action = ANY('{report.draft,report.fix,report.sign,report.release,profile.add,profile.decide,testPlan.add,
         calibration.record,samplingScheme.add,lot.create,lot.plan,lot.list,lot.draw,lot.follow,lot.takeBack,lot.decide,lot.approve}'::text[])
     ORDER BY l.leaf_index`,
    [
      [of.reportId, ...of.profileIds, ...of.planIds, ...of.calibrationIds, ...of.lotIds],
      of.headSize,
      [...of.lotIds],
    ],
  );
  return rows.map(({ id }) => id);
}

/** Names of people with their salts, and the entries that hold their commitments; who was forgotten is left out. */
export async function findNames(
  source: Source,
  accountIds: readonly string[],
): Promise<{ lines: object[]; entryIds: string[] }> {
  const rows = await source.query<{
    id: string;
    name: string;
    salt: Buffer;
    commitment: string;
    entry_id: string | null;
  }>(
    `SELECT a.id, v.value AS name, v.salt, v.commitment,
       (SELECT e.id FROM ledger_entry e
          WHERE e.subject_id = a.id::text AND e.action IN ('account.create', 'account.change')
            AND e.payload::json ->> 'nameCommitment' = v.commitment ORDER BY e.id DESC LIMIT 1) AS entry_id
     FROM account a JOIN personal_value v ON v.id = a.name_id
     WHERE a.id = ANY($1) AND v.value IS NOT NULL AND v.salt IS NOT NULL ORDER BY a.id`,
    [accountIds],
  );
  return {
    lines: rows.map(({ id, name, salt, commitment }) => ({
      kind: "name",
      accountId: id,
      name,
      salt: salt.toString("hex"),
      commitment,
    })),
    entryIds: rows.flatMap(({ entry_id }) => entry_id ?? []),
  };
}

async function textOf(bytes: AsyncIterable<unknown>): Promise<string> {
  const chunks: Buffer[] = [];
  for await (const chunk of bytes) chunks.push(chunk as Buffer);
  return Buffer.concat(chunks).toString("utf8");
}
