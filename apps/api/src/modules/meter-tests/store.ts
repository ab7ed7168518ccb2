import type { AnsweredByTest } from "@sealbook/contract/asked-of-test";
import type { MeterTest } from "@sealbook/contract/meter-tests";
import type { TestRow, Verdict } from "@sealbook/contract/meters";
import type { TestReason } from "@sealbook/contract/work-items";
import { ledgerEntryHash } from "@sealbook/evidence/ledger-entry";
import { personRef } from "../../platform/person-ref.ts";
import { placeWords } from "../../platform/place-words.ts";
import type { Source, Tx } from "../../platform/transaction.ts";
import { parseAverageMethods } from "../people/people.ts";
import { entryBodySchema } from "./entry-body.ts";
import type { RulesOfRecord } from "./keep-rules.ts";
import type { BuiltTest, MeterToTest, PlaceOfTest } from "./recording-terms.ts";
import { storedEvaluationSchema } from "./stored-evaluation.ts";

export interface ShopRules {
  timeZone: string;
  homeJurisdiction: string;
  /** Averaging methods that the utility has chosen: jurisdiction -> key of the profile's average. */
  averageMethods: Record<string, string>;
}

export async function findShopRules(source: Source): Promise<ShopRules> {
  const [shop] = await source.query<{
    time_zone: string;
    home_jurisdiction: string;
    average_methods: string;
  }>("SELECT time_zone, home_jurisdiction, average_methods FROM shop");
  if (shop === undefined) throw new Error("there is no shop yet");
  return {
    timeZone: shop.time_zone,
    homeJurisdiction: shop.home_jurisdiction,
    averageMethods: parseAverageMethods(shop.average_methods),
  };
}

/** The last moment of a local date of the shop. */
export async function findEndOfDay(source: Source, date: string): Promise<Date> {
  const [shop] = await source.query<{ last: Date }>(
    `SELECT ($1::date + 1)::timestamp AT TIME ZONE time_zone - interval '1 millisecond' AS last FROM shop`,
    [date],
  );
  if (shop === undefined) throw new Error("there is no shop yet");
  return shop.last;
}

interface MeterToTestRow {
  id: string;
  utility_number: string;
  serial: string;
  first_event_on: string | null;
  held_for: string | null;
  type_id: string;
}

/** Meters with what a test of them leans on: the day they came into the book, which type. */
export async function findMetersToTest(
  source: Source,
  ids: readonly string[],
): Promise<(Omit<MeterToTest, "type"> & { typeId: string })[]> {
  const rows = await source.query<MeterToTestRow>(
    `SELECT m.id, m.utility_number, m.serial,
       (SELECT (min(v.performed_at) AT TIME ZONE (SELECT time_zone FROM shop))::date
        FROM standing_meter_event v WHERE v.meter_id = m.id) AS first_event_on,
       (SELECT h.reason FROM standing_meter_hold h WHERE h.meter_id = m.id ORDER BY h.recorded_at LIMIT 1) AS held_for,
       m.type_id
     FROM meter m WHERE m.id = ANY($1)`,
    [ids],
  );
  return rows.map((row) => ({
    id: row.id,
    utilityNumber: row.utility_number,
    serial: row.serial,
    firstEventOn: row.first_event_on,
    heldFor: row.held_for,
    typeId: row.type_id,
  }));
}

/**
 * Where meters were at given moments: at the place of the last event until then. A meter whose first event comes later
 * was where that event put it, since one that is added on the spot is often taken into the book after its test began;
 * one without events is where it is now. One row for each pair whose meter is on record; no jurisdiction is the
 * shop's own.
 */
export async function findPlacesAt(
  source: Source,
  pairs: readonly { meterId: string; performedAt: Date }[],
): Promise<{ meterId: string; performedAt: Date; placeId: string; jurisdiction: string | null }[]> {
  const rows = await source.query<{
    meter_id: string;
    performed_at: Date;
    place_id: string;
    jurisdiction: string | null;
  }>(
    `SELECT w.meter_id, w.performed_at, at.place_id, sp.jurisdiction
     FROM unnest($1::uuid[], $2::timestamptz[]) AS w (meter_id, performed_at)
     JOIN meter m ON m.id = w.meter_id
     CROSS JOIN LATERAL (
       SELECT coalesce(
         (SELECT v.place_id FROM standing_meter_event v WHERE v.meter_id = m.id AND v.place_id IS NOT NULL AND v.performed_at <= w.performed_at
          ORDER BY v.performed_at DESC, v.id DESC LIMIT 1),
         (SELECT v.place_id FROM standing_meter_event v WHERE v.meter_id = m.id AND v.place_id IS NOT NULL ORDER BY v.performed_at, v.id LIMIT 1),
         m.place_id) AS place_id
     ) at
     LEFT JOIN service_point sp ON sp.id = at.place_id`,
    [pairs.map(({ meterId }) => meterId), pairs.map(({ performedAt }) => performedAt)],
  );
  return rows.map((row) => ({
    meterId: row.meter_id,
    performedAt: row.performed_at,
    placeId: row.place_id,
    jurisdiction: row.jurisdiction,
  }));
}

/** Which of these files are on record. */
export async function findFileIds(source: Source, ids: readonly string[]): Promise<Set<string>> {
  if (ids.length === 0) return new Set();
  const rows = await source.query<{ id: string }>("SELECT id FROM file WHERE id = ANY($1)", [ids]);
  return new Set(rows.map(({ id }) => id));
}

/** Puts tests on record, any number with a handful of statements. Each entry is written before and named here. */
export async function insertTestRows(
  tx: Tx,
  tests: readonly BuiltTest[],
  entryIds: readonly string[],
): Promise<void> {
  const each = <Value>(value: (test: BuiltTest) => Value) => tests.map(value);
  await tx.query(
    `INSERT INTO meter_test (id, meter_id, plan_id, profile_id, place_id, reasons, performed_at, tester_id, method,
       import_id, import_row, standard_id, calibration_id, error_applied_by_bench, outcome, untestable_reason,
       entry_body, evaluation, engine_version, verdict_as_found, verdict_as_left, average_as_found, average_as_left,
       creeping, supersedes_id, amendment_reason, entry_id)
     SELECT id, meter_id, plan_id, profile_id, place_id, string_to_array(reasons, ' '), performed_at, tester_id, method,
       import_id, import_row, standard_id, calibration_id, error_applied_by_bench, outcome, untestable_reason,
       entry_body, evaluation, engine_version, verdict_as_found, verdict_as_left, average_as_found, average_as_left,
       creeping, supersedes_id, amendment_reason, entry_id
     FROM unnest($1::uuid[], $2::uuid[], $3::uuid[], $4::uuid[], $5::uuid[], $6::text[], $7::timestamptz[],
       $8::uuid[], $9::text[], $10::uuid[], $11::int[], $12::uuid[], $13::uuid[], $14::boolean[], $15::text[],
       $16::text[], $17::text[], $18::text[], $19::text[], $20::text[], $21::text[], $22::numeric[], $23::numeric[],
       $24::boolean[], $25::uuid[], $26::text[], $27::uuid[])
     AS t (id, meter_id, plan_id, profile_id, place_id, reasons, performed_at, tester_id, method, import_id, import_row,
       standard_id, calibration_id, error_applied_by_bench, outcome, untestable_reason, entry_body, evaluation,
       engine_version, verdict_as_found, verdict_as_left, average_as_found, average_as_left, creeping, supersedes_id,
       amendment_reason, entry_id)`,
    [
      each((test) => test.id),
      each((test) => test.meterId),
      each((test) => test.planId),
      each((test) => test.profileId),
      each((test) => test.placeId),
      each((test) => test.reasons.join(" ")),
      each((test) => test.performedAt),
      each((test) => test.testerId),
      each((test) => (test.imported === null ? "entered" : "imported")),
      each((test) => test.imported?.importId ?? null),
      each((test) => test.imported?.row ?? null),
      each((test) => test.standardId),
      each((test) => test.calibrationId),
      each((test) => test.errorAppliedByBench),
      each((test) => test.outcome),
      each((test) => test.untestableReason),
      each((test) => test.entryBody),
      each((test) => test.evaluation),
      each((test) => test.engineVersion),
      each((test) => test.verdictAsFound),
      each((test) => test.verdictAsLeft),
      each((test) => test.averageAsFound),
      each((test) => test.averageAsLeft),
      each((test) => test.creeping),
      each((test) => test.supersedes?.id ?? null),
      each((test) => test.supersedes?.reason ?? null),
      entryIds,
    ],
  );
  const points = tests.flatMap(({ id, points: ofTest }) => ofTest.map((point) => ({ id, ...point })));
  if (points.length > 0) {
    await tx.query(
      `INSERT INTO meter_test_point (test_id, pass, ordinal, point_key, role, registration_percent, verdict)
       SELECT * FROM unnest($1::uuid[], $2::text[], $3::smallint[], $4::text[], $5::text[], $6::numeric[], $7::text[])`,
      [
        points.map((point) => point.id),
        points.map((point) => point.pass),
        points.map((point) => point.ordinal),
        points.map((point) => point.pointKey),
        points.map((point) => point.role),
        points.map((point) => point.registrationPercent),
        points.map((point) => point.verdict),
      ],
    );
  }
  const files = tests.flatMap(({ id, fileIds }) => fileIds.map((fileId) => ({ id, fileId })));
  if (files.length > 0) {
    await tx.query(
      "INSERT INTO meter_test_file (test_id, file_id) SELECT * FROM unnest($1::uuid[], $2::uuid[])",
      [files.map(({ id }) => id), files.map(({ fileId }) => fileId)],
    );
  }
}

/** Printed name of an account; a subquery by key, because each further join makes the planner try many more orders. */
const nameOf = (account: string) =>
  `(SELECT v.value FROM account a JOIN personal_value v ON v.id = a.name_id WHERE a.id = ${account})`;

/** One test as lists show it. Figures by role are the first point of that role, as found. */
const pointOf = (role: string) =>
  `(SELECT q.registration_percent FROM meter_test_point q
    WHERE q.test_id = t.id AND q.pass = 'as-found' AND q.role = '${role}' ORDER BY q.ordinal LIMIT 1)`;

const rowColumns = `t.id, t.meter_id, m.utility_number, t.performed_at,
  (t.performed_at AT TIME ZONE (SELECT time_zone FROM shop))::date AS performed_on, t.reasons, p.code AS plan_code,
  t.verdict_as_found, t.verdict_as_left, t.average_as_found, t.average_as_left,
  ${pointOf("full-load")} AS full_load, ${pointOf("light-load")} AS light_load,
  ${pointOf("power-factor")} AS power_factor, t.tester_id, ${nameOf("t.tester_id")} AS tester_name,
  (SELECT designation FROM standard WHERE id = t.standard_id) AS standard, t.method,
  EXISTS (SELECT FROM signature g WHERE g.subject_id = t.id) AS signed, t.supersedes_id, n.id AS superseded_by_id`;

const rowTables = `FROM meter_test t
  JOIN meter m ON m.id = t.meter_id
  JOIN test_plan p ON p.id = t.plan_id
  LEFT JOIN meter_test n ON n.supersedes_id = t.id`;

interface ListRow {
  id: string;
  meter_id: string;
  utility_number: string;
  performed_at: Date;
  performed_on: string;
  reasons: TestReason[];
  plan_code: string;
  verdict_as_found: Verdict;
  verdict_as_left: Verdict | null;
  average_as_found: string | null;
  average_as_left: string | null;
  full_load: string | null;
  light_load: string | null;
  power_factor: string | null;
  tester_id: string;
  tester_name: string | null;
  standard: string | null;
  method: "entered" | "imported";
  signed: boolean;
  supersedes_id: string | null;
  superseded_by_id: string | null;
}

function toTestRow(row: ListRow): TestRow {
  return {
    id: row.id,
    meterId: row.meter_id,
    utilityNumber: row.utility_number,
    performedAt: row.performed_at.toISOString(),
    performedOn: row.performed_on,
    reasons: row.reasons,
    planCode: row.plan_code,
    asFound: row.verdict_as_found,
    asLeft: row.verdict_as_left,
    averageAsFound: row.average_as_found,
    averageAsLeft: row.average_as_left,
    fullLoadAsFound: row.full_load,
    lightLoadAsFound: row.light_load,
    powerFactorAsFound: row.power_factor,
    tester: personRef(row.tester_id, row.tester_name),
    standard: row.standard,
    method: row.method,
    signed: row.signed,
    supersedesId: row.supersedes_id,
    supersededById: row.superseded_by_id,
  };
}

export interface TestFilter {
  meterId?: string | undefined;
  reason?: TestReason | undefined;
  asFound?: Verdict | undefined;
  /** Local dates of the shop, both inclusive. */
  performedFrom?: string | undefined;
  performedTo?: string | undefined;
  /** Tests of this tester that nobody has signed and nothing supersedes. */
  unsignedBy?: string | undefined;
  importId?: string | undefined;
  standardId?: string | undefined;
}

/** Tests, newest first, ties by id: the indexes on performed_at end in id for this order. */
export async function findTestRows(
  source: Source,
  filter: TestFilter & { before: { performedAt: string; id: string } | null; limit: number },
): Promise<TestRow[]> {
  const values: unknown[] = [];
  const bind = (value: unknown) => `$${values.push(value)}`;
  const zone = "(SELECT time_zone FROM shop)";
  const conditions = ["true"];
  if (filter.meterId !== undefined) conditions.push(`t.meter_id = ${bind(filter.meterId)}`);
  if (filter.reason !== undefined) conditions.push(`${bind(filter.reason)} = ANY(t.reasons)`);
  if (filter.asFound !== undefined) conditions.push(`t.verdict_as_found = ${bind(filter.asFound)}`);
  if (filter.performedFrom !== undefined) {
    conditions.push(`t.performed_at >= ${bind(filter.performedFrom)}::date::timestamp AT TIME ZONE ${zone}`);
  }
  if (filter.performedTo !== undefined) {
    conditions.push(
      `t.performed_at < (${bind(filter.performedTo)}::date + 1)::timestamp AT TIME ZONE ${zone}`,
    );
  }
  if (filter.unsignedBy !== undefined) {
    conditions.push(
      `t.tester_id = ${bind(filter.unsignedBy)} AND n.id IS NULL
       AND NOT EXISTS (SELECT FROM signature g WHERE g.subject_id = t.id AND g.account_id = t.tester_id)`,
    );
  }
  if (filter.importId !== undefined) conditions.push(`t.import_id = ${bind(filter.importId)}`);
  if (filter.standardId !== undefined) conditions.push(`t.standard_id = ${bind(filter.standardId)}`);
  if (filter.before !== null) {
    conditions.push(
      `(t.performed_at, t.id) < (${bind(filter.before.performedAt)}::timestamptz, ${bind(filter.before.id)}::uuid)`,
    );
  }
  const rows = await source.query<ListRow>(
    `SELECT ${rowColumns} ${rowTables} WHERE ${conditions.join(" AND ")}
     ORDER BY t.performed_at DESC, t.id DESC LIMIT ${bind(filter.limit)}`,
    values,
  );
  return rows.map(toTestRow);
}

/** The newest test of a meter that stands: neither superseded nor withdrawn. */
export async function findLastTest(source: Source, meterId: string): Promise<TestRow | null> {
  const [row] = await source.query<ListRow>(
    `SELECT ${rowColumns} ${rowTables} WHERE t.meter_id = $1 AND n.id IS NULL AND t.outcome <> 'withdrawn'
     ORDER BY t.performed_at DESC, t.id DESC LIMIT 1`,
    [meterId],
  );
  return row === undefined ? null : toTestRow(row);
}

/** The record that supersedes a test; null while none does. */
export async function findSuccessor(source: Source, testId: string): Promise<TestRow | null> {
  const [row] = await source.query<ListRow>(`SELECT ${rowColumns} ${rowTables} WHERE t.supersedes_id = $1`, [
    testId,
  ]);
  return row === undefined ? null : toTestRow(row);
}

interface WholeRow extends ListRow {
  recorded_at: Date;
  actor_id: string | null;
  recorder_name: string | null;
  plan_id: string;
  plan_is_current: boolean;
  profile_id: string;
  place: string;
  standard_id: string | null;
  calibration_id: string | null;
  error_applied_by_bench: boolean | null;
  entry_body: string;
  evaluation: string;
  engine_version: string;
  amendment_reason: string | null;
  import_id: string | null;
  import_file_name: string | null;
  import_row: number | null;
  entry_id: string;
  entry_at: Date;
  entry_actor_id: string | null;
  entry_action: string;
  entry_subject_type: string;
  entry_subject_id: string;
  entry_reason: string | null;
  entry_payload: string;
  signatures: (Omit<MeterTest["signatures"][number], "person"> & {
    person: { id: string; name: string | null };
  })[];
  files: MeterTest["files"];
}

const utc = (column: string) => `to_char(${column} AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"')`;

/** A test with everything but the documents of plan, profile and calibration, which are named by id. */
export type TestWithoutDocuments = Omit<MeterTest, "plan" | "profile" | "calibration"> & {
  planId: string;
  /** No newer revision of the plan is on record. */
  planIsCurrent: boolean;
  profileId: string;
  calibrationId: string | null;
};

export async function findWholeTest(source: Source, id: string): Promise<TestWithoutDocuments | null> {
  const [row] = await source.query<WholeRow>(
    `SELECT ${rowColumns}, t.recorded_at, t.actor_id, ${nameOf("t.actor_id")} AS recorder_name, t.plan_id,
       NOT EXISTS (SELECT FROM test_plan x WHERE x.code = p.code AND x.revision > p.revision) AS plan_is_current,
       t.profile_id, (SELECT ${placeWords("x")} FROM place x WHERE x.id = t.place_id) AS place, t.standard_id, t.calibration_id, t.error_applied_by_bench, t.entry_body, t.evaluation,
       t.engine_version, t.amendment_reason, t.import_id,
       (SELECT f.name FROM import i JOIN file f ON f.id = i.file_id WHERE i.id = t.import_id) AS import_file_name, t.import_row, t.entry_id,
       e.at AS entry_at, e.actor_id AS entry_actor_id, e.action AS entry_action, e.subject_type AS entry_subject_type,
       e.subject_id AS entry_subject_id, e.reason AS entry_reason, e.payload AS entry_payload,
       (SELECT coalesce(json_agg(json_build_object('id', g.id, 'person', json_build_object('id', a.id, 'name', v.value),
            'meaning', g.meaning, 'signedAt', ${utc("g.signed_at")}, 'recordHash', g.record_hash) ORDER BY g.signed_at, g.id), '[]')
        FROM signature g JOIN account a ON a.id = g.account_id JOIN personal_value v ON v.id = a.name_id
        WHERE g.subject_id = t.id) AS signatures,
       (SELECT coalesce(json_agg(json_build_object('id', b.id, 'name', b.name, 'mediaType', b.media_type,
            'size', b.size, 'sha256', b.sha256, 'recordedAt', ${utc("b.recorded_at")}) ORDER BY b.recorded_at, b.id), '[]')
        FROM meter_test_file x JOIN file b ON b.id = x.file_id WHERE x.test_id = t.id) AS files
     ${rowTables}
     JOIN ledger_entry e ON e.id = t.entry_id
     WHERE t.id = $1`,
    [id],
  );
  if (row === undefined) return null;
  const body = entryBodySchema.parse(JSON.parse(row.entry_body));
  const evaluation = storedEvaluationSchema.parse(JSON.parse(row.evaluation));
  const { circuitFactors: _, ...nameplate } = body.nameplate;
  return {
    ...toTestRow(row),
    recordedAt: row.recorded_at.toISOString(),
    recordedBy: personRef(row.actor_id, row.recorder_name),
    meter: { id: row.meter_id, ...nameplate },
    outcome: body.outcome,
    evaluation: {
      asFound: evaluation.asFound,
      asLeft: evaluation.asLeft,
      engineVersion: row.engine_version,
    },
    standardInUse:
      body.standard === null || row.standard_id === null ? null : { id: row.standard_id, ...body.standard },
    errorAppliedByBench: row.error_applied_by_bench,
    conditions: body.conditions,
    preconditionsConfirmed: body.preconditionsConfirmed,
    place: row.place,
    readingBefore: body.readingBefore,
    readingAfter: body.readingAfter,
    sealsRemoved: body.sealsRemoved,
    sealsApplied: body.sealsApplied,
    confirmedUnusual: body.confirmedUnusual ?? false,
    remarks: body.remarks,
    files: row.files,
    workItemIds: body.workItemIds,
    signatures: row.signatures.map((signature) => ({
      ...signature,
      person: personRef(signature.person.id, signature.person.name),
    })),
    amendmentReason: row.amendment_reason,
    source:
      row.import_id === null || row.import_row === null
        ? null
        : { importId: row.import_id, fileName: row.import_file_name ?? "", rowNumber: row.import_row },
    entryId: row.entry_id,
    entryHash: ledgerEntryHash({
      id: row.entry_id,
      at: row.entry_at.toISOString(),
      actorId: row.entry_actor_id,
      action: row.entry_action,
      subjectType: row.entry_subject_type,
      subjectId: row.entry_subject_id,
      reason: row.entry_reason,
      payload: row.entry_payload,
    }),
    planId: row.plan_id,
    planIsCurrent: row.plan_is_current,
    profileId: row.profile_id,
    calibrationId: row.calibration_id,
  };
}

/** What amending looks at: whose test it is, of what, when and where, by whose rules, and which work it answered. */
export async function findTestToAmend(
  source: Source,
  id: string,
): Promise<{
  testerId: string;
  meterId: string;
  performedAt: Date;
  performedOn: string;
  at: PlaceOfTest;
  rules: RulesOfRecord;
  workItemIds: string[];
  answered: AnsweredByTest;
} | null> {
  const [row] = await source.query<{
    tester_id: string;
    meter_id: string;
    performed_at: Date;
    performed_on: string;
    place_id: string;
    jurisdiction: string;
    profile_id: string;
    entry_body: string;
    evaluation: string;
  }>(
    `SELECT t.tester_id, t.meter_id, t.performed_at, (t.performed_at AT TIME ZONE (SELECT time_zone FROM shop))::date AS performed_on,
       t.place_id, r.key AS jurisdiction, t.profile_id, t.entry_body, t.evaluation
     FROM meter_test t JOIN rule_profile r ON r.id = t.profile_id WHERE t.id = $1`,
    [id],
  );
  if (row === undefined) return null;
  const { workItemIds, outcome, preconditionsConfirmed, conditions } = entryBodySchema.parse(
    JSON.parse(row.entry_body),
  );
  return {
    testerId: row.tester_id,
    meterId: row.meter_id,
    performedAt: row.performed_at,
    performedOn: row.performed_on,
    at: { placeId: row.place_id, jurisdiction: row.jurisdiction },
    rules: {
      jurisdiction: row.jurisdiction,
      profileId: row.profile_id,
      averageRule:
        storedEvaluationSchema.parse(JSON.parse(row.evaluation)).asFound?.average?.averageRule ?? null,
    },
    workItemIds,
    answered: { outcome, preconditionsConfirmed, conditions },
  };
}

export interface TestToSign {
  id: string;
  tester_id: string;
  outcome: BuiltTest["outcome"];
  superseded: boolean;
  signed: boolean;
  entry_id: string;
  at: Date;
  actor_id: string | null;
  action: string;
  subject_type: string;
  subject_id: string;
  reason: string | null;
  payload: string;
}

/** Tests with the ledger entries that a signature covers. */
export async function findTestsToSign(
  source: Source,
  ids: readonly string[],
  accountId: string,
): Promise<TestToSign[]> {
  return await source.query<TestToSign>(
    `SELECT t.id, t.tester_id, t.outcome, EXISTS (SELECT FROM meter_test n WHERE n.supersedes_id = t.id) AS superseded,
       EXISTS (SELECT FROM signature g WHERE g.subject_id = t.id AND g.account_id = $2) AS signed,
       e.id AS entry_id, e.at, e.actor_id, e.action, e.subject_type, e.subject_id, e.reason, e.payload
     FROM meter_test t JOIN ledger_entry e ON e.id = t.entry_id WHERE t.id = ANY($1)`,
    [ids, accountId],
  );
}

export async function insertSignatures(
  tx: Tx,
  signatures: readonly { id: string; testId: string; meaning: string; recordHash: string }[],
  entryIds: readonly string[],
): Promise<void> {
  await tx.query(
    `INSERT INTO signature (id, subject_type, subject_id, meaning, record_hash, entry_id)
     SELECT id, 'meterTest', subject_id, meaning, record_hash, entry_id
     FROM unnest($1::uuid[], $2::uuid[], $3::text[], $4::text[], $5::uuid[])
       AS s (id, subject_id, meaning, record_hash, entry_id)`,
    [
      signatures.map(({ id }) => id),
      signatures.map(({ testId }) => testId),
      signatures.map(({ meaning }) => meaning),
      signatures.map(({ recordHash }) => recordHash),
      entryIds,
    ],
  );
}
