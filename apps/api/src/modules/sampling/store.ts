import type {
  CorrectiveAction,
  Decision,
  DrawList,
  dispositionNames,
  drawEventKinds,
  LotKind,
  LotOutcome,
  LotRow,
  LotState,
  lotSchema,
  Scheme,
  SeedSource,
  SeedTerms,
} from "@sealbook/contract/sampling";
import type { TestReason } from "@sealbook/contract/work-items";
import { ledgerEntryHash } from "@sealbook/evidence/ledger-entry";
import { lotEvaluationSchema } from "@sealbook/metrology/sampling/decision/lot-evaluation-schema";
import { type LotPlan, lotPlanSchema } from "@sealbook/metrology/sampling/decision/lot-plan-schema";
import { samplingSchemeSchema } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { z } from "zod";
import { personRef } from "../../platform/person-ref.ts";
import { erasedText } from "../../platform/personal-values.ts";
import type { Source, Tx } from "../../platform/transaction.ts";

/** Why the meters of a lot are tested. */
export const reasonOfKind: Record<LotKind, TestReason> = {
  shipment: "new-shipment",
  "in-service": "in-service-sample",
};

export async function findTimeZone(source: Source): Promise<string> {
  const [shop] = await source.query<{ time_zone: string }>("SELECT time_zone FROM shop");
  if (shop === undefined) throw new Error("there is no shop yet");
  return shop.time_zone;
}

/** Joins the printed name of an account; two joins that every list of who did what needs. */
function nameOf(column: string, alias: string): string {
  return `LEFT JOIN account ${alias}a ON ${alias}a.id = ${column} LEFT JOIN personal_value ${alias} ON ${alias}.id = ${alias}a.name_id`;
}

// ---------------------------------------------------------------------------------------------------------------
// Schemes

interface SchemeRow {
  id: string;
  code: string;
  revision: number;
  name: string;
  body: string;
  recorded_at: Date;
  actor_id: string | null;
  actor_name: string | null;
  current: boolean;
  entry_id: string;
}

const schemeColumns = `s.id, s.code, s.revision, s.name, s.body, s.recorded_at, s.actor_id, p.value AS actor_name, s.entry_id,
  NOT EXISTS (SELECT FROM sampling_scheme n WHERE n.code = s.code AND n.revision > s.revision) AS current`;

function toScheme(row: SchemeRow): Scheme {
  return {
    id: row.id,
    code: row.code,
    revision: row.revision,
    name: row.name,
    body: samplingSchemeSchema.parse(JSON.parse(row.body)),
    recordedAt: row.recorded_at.toISOString(),
    recordedBy: personRef(row.actor_id, row.actor_name),
    current: row.current,
    entryId: row.entry_id,
  };
}

/** Newest revision of each scheme, by code. */
export async function findCurrentSchemes(
  source: Source,
  filter: { purpose: string | null; after: string | null; limit: number },
): Promise<Scheme[]> {
  const rows = await source.query<SchemeRow>(
    `SELECT ${schemeColumns} FROM sampling_scheme s ${nameOf("s.actor_id", "p")}
     WHERE NOT EXISTS (SELECT FROM sampling_scheme n WHERE n.code = s.code AND n.revision > s.revision)
       AND ($1::text IS NULL OR s.body::jsonb ->> 'purpose' = $1) AND ($2::text IS NULL OR s.code > $2)
     ORDER BY s.code LIMIT $3`,
    [filter.purpose, filter.after, filter.limit],
  );
  return rows.map(toScheme);
}

export async function findScheme(source: Source, id: string): Promise<Scheme | null> {
  const [row] = await source.query<SchemeRow>(
    `SELECT ${schemeColumns} FROM sampling_scheme s ${nameOf("s.actor_id", "p")} WHERE s.id = $1`,
    [id],
  );
  return row === undefined ? null : toScheme(row);
}

/** All revisions of a scheme, newest first. */
export async function findRevisions(source: Source, code: string): Promise<Scheme[]> {
  const rows = await source.query<SchemeRow>(
    `SELECT ${schemeColumns} FROM sampling_scheme s ${nameOf("s.actor_id", "p")} WHERE s.code = $1 ORDER BY s.revision DESC`,
    [code],
  );
  return rows.map(toScheme);
}

export async function insertScheme(
  tx: Tx,
  scheme: { id: string; code: string; revision: number; name: string; body: string },
  entryId: string,
): Promise<void> {
  await tx.query(
    "INSERT INTO sampling_scheme (id, code, revision, name, body, entry_id) VALUES ($1, $2, $3, $4, $5, $6)",
    [scheme.id, scheme.code, scheme.revision, scheme.name, scheme.body, entryId],
  );
}

// ---------------------------------------------------------------------------------------------------------------
// Lots

interface LotListRow {
  id: string;
  kind: LotKind;
  number: string;
  title: string;
  scheme_id: string;
  scheme_code: string;
  scheme_revision: number;
  scheme_name: string;
  series: string;
  programme_id: string | null;
  year: number;
  type_id: string | null;
  contract: string;
  state: LotState;
  due_on: string | null;
  size: number;
  plan: string | null;
  outs: number;
  called_up: number;
  tested: number;
  outcome: LotOutcome | null;
  disposition: keyof typeof dispositionNames | null;
  resubmits_id: string | null;
  second_try_of_id: string | null;
  open_actions: number;
  created_at: Date;
}

/** The test that counts for a sampled meter: current, as found, after the draw, with the lot's reason. */
const countingTest = `SELECT FROM meter_test t WHERE t.meter_id = u.meter_id AND t.performed_at >= d.drawn_at
    AND t.outcome <> 'withdrawn' AND (CASE l.kind WHEN 'shipment' THEN 'new-shipment' ELSE 'in-service-sample' END) = ANY (t.reasons)
    AND NOT EXISTS (SELECT FROM meter_test n WHERE n.supersedes_id = t.id)`;

/** Lots with their counts. While a lot is being tested its results are counted; later all places have an outcome. */
const lotListSelect = `SELECT l.id, l.kind, l.number, l.title, l.scheme_id, l.scheme_code, s.revision AS scheme_revision,
    s.name AS scheme_name, l.series, l.programme_id, l.year, l.type_id, l.contract, l.state, l.due_on, l.size, p.body AS plan,
    coalesce(f.outs, 0)::int AS outs, coalesce(f.called_up, 0)::int AS called_up, coalesce(r.tested, 0)::int AS tested,
    k.outcome, l.disposition, l.resubmits_id, l.second_try_of_id,
    (SELECT count(*)::int FROM corrective_action c WHERE c.lot_id = l.id AND c.done_on IS NULL) AS open_actions, l.created_at
  FROM lot l JOIN sampling_scheme s ON s.id = l.scheme_id LEFT JOIN lot_plan p ON p.lot_id = l.id
  LEFT JOIN decision k ON k.lot_id = l.id
  LEFT JOIN LATERAL (
    SELECT dr.id, dr.drawn_at FROM draw_list dl JOIN draw dr ON dr.list_id = dl.id
    WHERE dl.lot_id = l.id ORDER BY dl.ordinal DESC LIMIT 1
  ) d ON true
  LEFT JOIN LATERAL (
    SELECT count(*) FILTER (WHERE v.kind IN ('not-reached', 'moved', 'retired', 'left-out')) AS outs,
      count(*) FILTER (WHERE v.kind = 'called-up') AS called_up FROM standing_draw_event v WHERE v.draw_id = d.id
  ) f ON true
  LEFT JOIN LATERAL (
    SELECT count(*) AS tested FROM draw_unit u WHERE l.state = 'drawn' AND u.draw_id = d.id
      AND (NOT u.spare OR EXISTS (SELECT FROM standing_draw_event v WHERE v.draw_id = d.id AND v.position = u.position AND v.kind = 'called-up'))
      AND NOT EXISTS (SELECT FROM standing_draw_event v WHERE v.draw_id = d.id AND v.position = u.position
        AND v.kind IN ('not-reached', 'moved', 'retired', 'left-out'))
      AND EXISTS (${countingTest})
  ) r ON true`;

function toLotRow(row: LotListRow): LotRow {
  const plan = row.plan === null ? null : lotPlanSchema.parse(JSON.parse(row.plan));
  const leftOut = row.outs - row.called_up;
  const sample = plan?.n ?? 0;
  return {
    id: row.id,
    kind: row.kind,
    number: row.number,
    title: row.title,
    scheme: {
      id: row.scheme_id,
      code: row.scheme_code,
      revision: row.scheme_revision,
      name: row.scheme_name,
    },
    series: row.series,
    programmeId: row.programme_id,
    year: row.year,
    typeId: row.type_id,
    contract: row.contract,
    state: row.state,
    dueOn: row.due_on,
    counts: {
      members: row.size,
      sample,
      done: row.outcome !== null ? sample : row.tested + leftOut,
      leftOut,
      sparesUsed: row.called_up,
    },
    severities:
      plan?.characteristics.map(({ characteristic, severity }) => ({ characteristic, severity })) ?? [],
    outcome: row.outcome,
    disposition: row.disposition,
    resubmitsId: row.resubmits_id,
    secondTryOfId: row.second_try_of_id,
    openActions: row.open_actions,
    createdAt: row.created_at.toISOString(),
  };
}

export interface LotFilter {
  kind: string | null;
  state: string | null;
  series: string | null;
  programmeId: string | null;
  part: string | null;
  after: { createdAt: string; id: string } | null;
  limit: number;
}

/** Lots, newest first, ties by id. */
export async function findLots(source: Source, filter: LotFilter): Promise<LotRow[]> {
  const pattern = filter.part === null ? null : `%${filter.part.replace(/[\\%_]/g, "\\$&")}%`;
  const rows = await source.query<LotListRow>(
    `${lotListSelect}
     WHERE ($1::text IS NULL OR l.kind = $1) AND ($2::text IS NULL OR l.state = $2)
       AND ($3::text IS NULL OR l.series = $3) AND ($4::uuid IS NULL OR l.programme_id = $4)
       AND ($5::text IS NULL OR l.number ILIKE $5 OR l.title ILIKE $5)
       AND ($6::timestamptz IS NULL OR (l.created_at, l.id) < ($6, $7::uuid))
     ORDER BY l.created_at DESC, l.id DESC LIMIT $8`,
    [
      filter.kind,
      filter.state,
      filter.series,
      filter.programmeId,
      pattern,
      filter.after?.createdAt ?? null,
      filter.after?.id ?? null,
      filter.limit,
    ],
  );
  return rows.map(toLotRow);
}

/** Counts of lots by programme; withdrawn ones do not count. Of a group that is tried again the second try decides. */
export async function countLots(
  source: Source,
  programmeIds: readonly string[],
): Promise<
  Map<
    string,
    { lots: number; members: number; sample: number; done: number; decided: number; notAccepted: number }
  >
> {
  const rows = await source.query<{
    programme_id: string;
    lots: number;
    members: number;
    sample: number;
    done: number;
    decided: number;
    not_accepted: number;
  }>(
    `SELECT programme_id, count(*) FILTER (WHERE decides)::int AS lots,
       coalesce(sum(size) FILTER (WHERE decides), 0)::int AS members, coalesce(sum(n), 0)::int AS sample,
       coalesce(sum(CASE WHEN outcome IS NULL THEN tested + outs - called_up ELSE n END), 0)::int AS done,
       count(outcome) FILTER (WHERE decides)::int AS decided,
       count(*) FILTER (WHERE decides AND outcome = 'not-accepted')::int AS not_accepted
     FROM (SELECT c.*, (c.plan::jsonb ->> 'n')::int AS n,
         NOT EXISTS (SELECT FROM lot s WHERE s.second_try_of_id = c.id AND s.state <> 'withdrawn') AS decides FROM (${lotListSelect} WHERE l.programme_id = ANY ($1)) c) x
     WHERE state <> 'withdrawn' GROUP BY programme_id`,
    [programmeIds],
  );
  return new Map(
    rows.map((row) => [
      row.programme_id,
      {
        lots: row.lots,
        members: row.members,
        sample: row.sample,
        done: row.done,
        decided: row.decided,
        notAccepted: row.not_accepted,
      },
    ]),
  );
}

export interface NewLot {
  id: string;
  kind: LotKind;
  number: string;
  title: string;
  schemeId: string;
  schemeCode: string;
  series: string;
  inherits: readonly string[];
  programmeId: string | null;
  year: number;
  typeId: string | null;
  contract: string;
  purchaseOrder: string;
  receivedOn: string | null;
  note: string;
  resubmitsId: string | null;
  /** The lot that was not accepted, of a second try. */
  secondTryOfId?: string;
  dueOn: string | null;
}

export async function insertLot(tx: Tx, lot: NewLot, entryId: string): Promise<void> {
  await tx.query(
    `INSERT INTO lot (id, kind, number, title, scheme_id, scheme_code, series, inherits, programme_id, year, type_id, contract,
       purchase_order, received_on, note, resubmits_id, second_try_of_id, due_on, entry_id)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19)`,
    [
      lot.id,
      lot.kind,
      lot.number,
      lot.title,
      lot.schemeId,
      lot.schemeCode,
      lot.series,
      JSON.stringify(lot.inherits),
      lot.programmeId,
      lot.year,
      lot.typeId,
      lot.contract,
      lot.purchaseOrder,
      lot.receivedOn,
      lot.note,
      lot.resubmitsId,
      lot.secondTryOfId ?? null,
      lot.dueOn,
      entryId,
    ],
  );
}

/** What the use cases need of a lot while they hold it. */
export interface LockedLot {
  id: string;
  kind: LotKind;
  number: string;
  title: string;
  schemeId: string;
  schemeCode: string;
  series: string;
  inherits: string[];
  typeId: string | null;
  programmeId: string | null;
  contract: string;
  year: number;
  resubmitsId: string | null;
  secondTryOfId: string | null;
  size: number;
  state: LotState;
  dueOn: string | null;
  disposition: keyof typeof dispositionNames | null;
  version: number;
}

/** Locks a lot until the transaction ends: whatever moves it on comes one after the other. */
export async function lockLot(tx: Tx, id: string): Promise<LockedLot | null> {
  const [row] = await tx.query<{
    id: string;
    kind: LotKind;
    number: string;
    title: string;
    scheme_id: string;
    scheme_code: string;
    series: string;
    inherits: string;
    type_id: string | null;
    programme_id: string | null;
    contract: string;
    year: number;
    resubmits_id: string | null;
    second_try_of_id: string | null;
    size: number;
    state: LotState;
    due_on: string | null;
    disposition: keyof typeof dispositionNames | null;
    version: number;
  }>("SELECT * FROM lot WHERE id = $1 FOR UPDATE", [id]);
  if (row === undefined) return null;
  return {
    id: row.id,
    kind: row.kind,
    number: row.number,
    title: row.title,
    schemeId: row.scheme_id,
    schemeCode: row.scheme_code,
    series: row.series,
    inherits: seriesListSchema.parse(JSON.parse(row.inherits)),
    typeId: row.type_id,
    programmeId: row.programme_id,
    contract: row.contract,
    year: row.year,
    resubmitsId: row.resubmits_id,
    secondTryOfId: row.second_try_of_id,
    size: row.size,
    state: row.state,
    dueOn: row.due_on,
    disposition: row.disposition,
    version: row.version,
  };
}

const seriesListSchema = z.array(z.string());

/** Moves a lot on; what is undefined stays. */
export async function updateLot(
  tx: Tx,
  id: string,
  change: {
    state?: LotState | undefined;
    size?: number | undefined;
    dueOn?: string | null | undefined;
    disposition?: keyof typeof dispositionNames | undefined;
  },
  entryId: string,
): Promise<void> {
  await tx.query(
    `UPDATE lot SET state = coalesce($2, state), size = coalesce($3, size),
       due_on = CASE WHEN $4 THEN $5::date ELSE due_on END, disposition = coalesce($6, disposition),
       entry_id = $7, version = version + 1 WHERE id = $1`,
    [
      id,
      change.state ?? null,
      change.size ?? null,
      change.dueOn !== undefined,
      change.dueOn ?? null,
      change.disposition ?? null,
      entryId,
    ],
  );
}

export async function insertMembers(
  tx: Tx,
  lotId: string,
  meterIds: readonly string[],
  entryId: string,
): Promise<void> {
  await tx.query("INSERT INTO lot_member (lot_id, meter_id, entry_id) SELECT $1, unnest($2::uuid[]), $3", [
    lotId,
    meterIds,
    entryId,
  ]);
}

export async function countMembers(source: Source, lotId: string): Promise<number> {
  const [row] = await source.query<{ members: number }>(
    "SELECT count(*)::int AS members FROM lot_member WHERE lot_id = $1",
    [lotId],
  );
  return row?.members ?? 0;
}

/** Members with the number by which they stand on the list. */
export async function findMemberNumbers(
  source: Source,
  lotId: string,
): Promise<{ meter_id: string; utility_number: string; state: string; place_id: string }[]> {
  return await source.query(
    `SELECT m.id AS meter_id, m.utility_number, m.state, m.place_id FROM lot_member b JOIN meter m ON m.id = b.meter_id
     WHERE b.lot_id = $1 ORDER BY m.utility_number, m.id`,
    [lotId],
  );
}

export async function findMembers(
  source: Source,
  lotId: string,
  filter: { after: [string, string] | null; limit: number },
): Promise<
  {
    meter_id: string;
    utility_number: string;
    serial: string;
    maker: string;
    model: string;
    results: string | null;
  }[]
> {
  return await source.query(
    `SELECT m.id AS meter_id, m.utility_number, m.serial, m.maker, y.model, r.results
     FROM lot_member b JOIN meter m ON m.id = b.meter_id JOIN meter_type y ON y.id = m.type_id
     LEFT JOIN maker_result r ON r.lot_id = b.lot_id AND r.meter_id = b.meter_id
     WHERE b.lot_id = $1 AND ($2::text IS NULL OR (m.utility_number, m.id) > ($2, $3::uuid))
     ORDER BY m.utility_number, m.id LIMIT $4`,
    [lotId, filter.after?.[0] ?? null, filter.after?.[1] ?? null, filter.limit],
  );
}

export async function insertPlanOfLot(tx: Tx, lotId: string, plan: LotPlan, entryId: string): Promise<void> {
  await tx.query("INSERT INTO lot_plan (lot_id, body, entry_id) VALUES ($1, $2, $3)", [
    lotId,
    JSON.stringify(plan),
    entryId,
  ]);
}

export async function findPlanOfLot(source: Source, lotId: string): Promise<LotPlan | null> {
  const [row] = await source.query<{ body: string }>("SELECT body FROM lot_plan WHERE lot_id = $1", [lotId]);
  return row === undefined ? null : lotPlanSchema.parse(JSON.parse(row.body));
}

// ---------------------------------------------------------------------------------------------------------------
// Lists and draws

interface DrawListRow {
  id: string;
  lot_id: string;
  ordinal: number;
  list_hash: string;
  candidates: number;
  file_id: string;
  n: number;
  spares: number;
  seed_source: SeedSource;
  announcement: string | null;
  not_before: Date | null;
  repeats_id: string | null;
  repeat_reason: string | null;
  listed_at: Date;
  actor_id: string | null;
  actor_name: string | null;
  entry_id: string;
  draw_id: string | null;
  seed: string;
  algorithm: string;
  key: string;
  drawn_at: Date;
  drawer_id: string | null;
  drawer_name: string | null;
  draw_entry_id: string;
}

const drawListSelect = `SELECT l.id, l.lot_id, l.ordinal, l.list_hash, l.candidates, l.file_id, l.n, l.spares, l.seed_source,
    l.announcement, l.not_before, l.repeats_id, l.repeat_reason, l.listed_at, l.actor_id, p.value AS actor_name, l.entry_id,
    d.id AS draw_id, d.seed, d.algorithm, d.key, d.drawn_at, d.actor_id AS drawer_id, q.value AS drawer_name,
    d.entry_id AS draw_entry_id
  FROM draw_list l LEFT JOIN draw d ON d.list_id = l.id ${nameOf("l.actor_id", "p")} ${nameOf("d.actor_id", "q")}`;

export type StoredDrawList = DrawList & { lotId: string };

function toDrawList(row: DrawListRow): StoredDrawList {
  return {
    id: row.id,
    lotId: row.lot_id,
    ordinal: row.ordinal,
    listHash: row.list_hash,
    candidates: row.candidates,
    fileId: row.file_id,
    n: row.n,
    spares: row.spares,
    seed: {
      source: row.seed_source,
      announcement: row.announcement,
      notBefore: row.not_before?.toISOString() ?? null,
    },
    repeatsId: row.repeats_id,
    repeatReason: row.repeat_reason,
    listedAt: row.listed_at.toISOString(),
    listedBy: personRef(row.actor_id, row.actor_name),
    entryId: row.entry_id,
    draw:
      row.draw_id === null
        ? null
        : {
            id: row.draw_id,
            seed: row.seed,
            algorithm: row.algorithm,
            key: row.key,
            drawnAt: row.drawn_at.toISOString(),
            drawnBy: personRef(row.drawer_id, row.drawer_name),
            entryId: row.draw_entry_id,
          },
  };
}

/** Lists of a lot, oldest first. */
export async function findDrawLists(source: Source, lotId: string): Promise<StoredDrawList[]> {
  const rows = await source.query<DrawListRow>(`${drawListSelect} WHERE l.lot_id = $1 ORDER BY l.ordinal`, [
    lotId,
  ]);
  return rows.map(toDrawList);
}

export async function findDrawList(source: Source, id: string): Promise<StoredDrawList | null> {
  const [row] = await source.query<DrawListRow>(`${drawListSelect} WHERE l.id = $1`, [id]);
  return row === undefined ? null : toDrawList(row);
}

export async function insertDrawList(
  tx: Tx,
  list: {
    id: string;
    lotId: string;
    ordinal: number;
    listHash: string;
    candidates: number;
    fileId: string;
    n: number;
    spares: number;
    seed: SeedTerms;
    repeats: { id: string; reason: string } | null;
  },
  entryId: string,
): Promise<void> {
  await tx.query(
    `INSERT INTO draw_list (id, lot_id, ordinal, list_hash, candidates, file_id, n, spares, seed_source, announcement, not_before,
       repeats_id, repeat_reason, entry_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14)`,
    [
      list.id,
      list.lotId,
      list.ordinal,
      list.listHash,
      list.candidates,
      list.fileId,
      list.n,
      list.spares,
      list.seed.source,
      list.seed.announcement,
      list.seed.notBefore,
      list.repeats?.id ?? null,
      list.repeats?.reason ?? null,
      entryId,
    ],
  );
}

/**
 * Whether a seed was on record before an instant: typed for the lot's programme, or drawn with for a lot of the programme,
 * for the lot itself or for one that it tries again or resubmits.
 */
export async function wasSeedKnown(
  source: Source,
  lot: Pick<LockedLot, "id" | "programmeId" | "resubmitsId">,
  before: string,
  seed: string,
): Promise<boolean> {
  const [row] = await source.query<{ known: boolean }>(
    `SELECT EXISTS (SELECT FROM programme p JOIN ledger_entry e ON e.subject_id = p.id::text AND e.action = 'programme.draw'
         WHERE p.id = $2 AND p.seed = $4 AND e.at < $3)
       OR EXISTS (SELECT FROM draw d JOIN draw_list dl ON dl.id = d.list_id JOIN lot l ON l.id = dl.lot_id
         WHERE (l.id IN ($1, $5) OR l.programme_id = $2) AND d.seed = $4 AND d.drawn_at < $3) AS known`,
    [lot.id, lot.programmeId, before, seed, lot.resubmitsId],
  );
  return row?.known ?? false;
}

export async function insertDraw(
  tx: Tx,
  draw: { id: string; listId: string; seed: string; algorithm: string; key: string },
  units: readonly { meterId: string; spare: boolean }[],
  entryId: string,
): Promise<void> {
  await tx.query(
    "INSERT INTO draw (id, list_id, seed, algorithm, key, entry_id) VALUES ($1, $2, $3, $4, $5, $6)",
    [draw.id, draw.listId, draw.seed, draw.algorithm, draw.key, entryId],
  );
  await tx.query(
    `INSERT INTO draw_unit (draw_id, position, meter_id, spare, entry_id)
     SELECT $1, t.position, t.meter_id, t.spare, $2
     FROM unnest($3::int[], $4::uuid[], $5::boolean[]) AS t (position, meter_id, spare)`,
    [
      draw.id,
      entryId,
      units.map((_, index) => index + 1),
      units.map(({ meterId }) => meterId),
      units.map(({ spare }) => spare),
    ],
  );
}

export interface NewDrawEvent {
  id: string;
  position: number;
  kind: string;
  reason: string | null;
  note: string;
  place: number | null;
  takesBackId: string | null;
}

export async function insertDrawEvents(
  tx: Tx,
  drawId: string,
  events: readonly NewDrawEvent[],
  entryId: string,
): Promise<void> {
  await tx.query(
    `INSERT INTO draw_event (id, draw_id, position, kind, reason, note, place, takes_back_id, ordinal, entry_id)
     SELECT t.id, $1, t.position, t.kind, t.reason, t.note, t.place, t.takes_back_id,
       (SELECT coalesce(max(ordinal), 0) FROM draw_event WHERE draw_id = $1) + t.ordinal, $2
     FROM unnest($3::uuid[], $4::int[], $5::text[], $6::text[], $7::text[], $8::int[], $9::uuid[]) WITH ORDINALITY
       AS t (id, position, kind, reason, note, place, takes_back_id, ordinal)`,
    [
      drawId,
      entryId,
      events.map(({ id }) => id),
      events.map(({ position }) => position),
      events.map(({ kind }) => kind),
      events.map(({ reason }) => reason),
      events.map(({ note }) => note),
      events.map(({ place }) => place),
      events.map(({ takesBackId }) => takesBackId),
    ],
  );
}

// ---------------------------------------------------------------------------------------------------------------
// Units of a draw, as the tables have them

export interface UnitRow {
  position: number;
  spare: boolean;
  meter_id: string;
  utility_number: string;
  serial: string;
  service_point: string | null;
  area: string | null;
  address: string | null;
  work_item_id: string | null;
}

export async function findUnits(source: Source, drawId: string): Promise<UnitRow[]> {
  return await source.query<UnitRow>(
    `SELECT u.position, u.spare, u.meter_id, m.utility_number, m.serial, sp.number AS service_point, sp.area,
       CASE WHEN sp.id IS NULL THEN NULL ELSE coalesce(v.value, $2) END AS address,
       (SELECT w.id FROM work_item w WHERE w.draw_id = u.draw_id AND w.meter_id = u.meter_id AND w.closed_reason IS NULL
        ORDER BY w.id LIMIT 1) AS work_item_id
     FROM draw_unit u JOIN meter m ON m.id = u.meter_id LEFT JOIN service_point sp ON sp.id = m.place_id
     LEFT JOIN personal_value v ON v.id = sp.address_id
     WHERE u.draw_id = $1 ORDER BY u.position`,
    [drawId, erasedText],
  );
}

export interface UnitEventRow {
  position: number;
  id: string;
  kind: (typeof drawEventKinds)[number];
  reason: string | null;
  note: string;
  place: number | null;
  ordinal: number;
  recorded_at: Date;
  actor_id: string | null;
  actor_name: string | null;
  taken_back_at: Date | null;
  taken_back_reason: string | null;
  taken_back_by: string | null;
  taken_back_name: string | null;
}

/** Events of a draw in the order of recording, each with what took it back. */

export async function findDrawEvents(source: Source, drawId: string): Promise<UnitEventRow[]> {
  return await source.query<UnitEventRow>(
    `SELECT v.position, v.id, v.kind, v.reason, v.note, v.place, v.ordinal, v.recorded_at, v.actor_id, p.value AS actor_name,
       b.recorded_at AS taken_back_at, b.note AS taken_back_reason, b.actor_id AS taken_back_by, q.value AS taken_back_name
     FROM draw_event v LEFT JOIN draw_event b ON b.takes_back_id = v.id
     ${nameOf("v.actor_id", "p")} ${nameOf("b.actor_id", "q")}
     WHERE v.draw_id = $1 AND v.kind <> 'taken-back' ORDER BY v.ordinal`,
    [drawId],
  );
}

export interface UnitTestRow {
  id: string;
  meter_id: string;
  performed_at: Date;
  outcome: "tested" | "no-test-possible";
  untestable_reason: string | null;
  verdict: "pass" | "fail" | "incomplete" | "no-test-possible";
  average: string | null;
  tester_id: string;
  tester_name: string | null;
  full_load: string | null;
  light_load: string | null;
  power_factor: string | null;
}

/** Current tests of a draw's meters after the draw with the lot's reason: each meter's first one counts. */
export async function findUnitTests(
  source: Source,
  draw: { id: string; drawnAt: string },
  reason: TestReason,
): Promise<UnitTestRow[]> {
  return await source.query<UnitTestRow>(
    `SELECT t.id, t.meter_id, t.performed_at, t.outcome, t.untestable_reason, t.verdict_as_found AS verdict,
       t.average_as_found::text AS average, t.tester_id, p.value AS tester_name, r.full_load, r.light_load, r.power_factor
     FROM draw_unit u JOIN meter_test t ON t.meter_id = u.meter_id ${nameOf("t.tester_id", "p")}
     LEFT JOIN LATERAL (
       SELECT max(g.registration_percent) FILTER (WHERE g.role = 'full-load')::text AS full_load,
         max(g.registration_percent) FILTER (WHERE g.role = 'light-load')::text AS light_load,
         max(g.registration_percent) FILTER (WHERE g.role = 'power-factor')::text AS power_factor
       FROM meter_test_point g WHERE g.test_id = t.id AND g.pass = 'as-found'
     ) r ON true
     WHERE u.draw_id = $1 AND t.performed_at >= $2 AND $3 = ANY (t.reasons) AND t.outcome <> 'withdrawn'
       AND NOT EXISTS (SELECT FROM meter_test n WHERE n.supersedes_id = t.id)
     ORDER BY t.performed_at, t.id`,
    [draw.id, draw.drawnAt, reason],
  );
}

/** When each meter of a draw was last tested before it. */
export async function findTestsBefore(
  source: Source,
  draw: { id: string; drawnAt: string },
): Promise<{ meter_id: string; performed_at: Date }[]> {
  return await source.query(
    `SELECT u.meter_id, max(t.performed_at) AS performed_at FROM draw_unit u JOIN meter_test t ON t.meter_id = u.meter_id
     WHERE u.draw_id = $1 AND t.performed_at < $2 AND t.outcome = 'tested'
       AND NOT EXISTS (SELECT FROM meter_test n WHERE n.supersedes_id = t.id)
     GROUP BY u.meter_id`,
    [draw.id, draw.drawnAt],
  );
}

// ---------------------------------------------------------------------------------------------------------------
// Decisions

export async function insertDecision(
  tx: Tx,
  decision: {
    id: string;
    lotId: string;
    outcome: LotOutcome;
    byPerson: boolean;
    reason: string;
    steady: boolean;
    reducedApproved: boolean;
    evaluation: string;
    engineVersion: string;
  },
  tests: readonly { testId: string; meterId: string; place: number; counted: boolean }[],
  entryId: string,
): Promise<void> {
  await tx.query(
    `INSERT INTO decision (id, lot_id, outcome, by_person, reason, steady, reduced_approved, evaluation, engine_version, entry_id)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`,
    [
      decision.id,
      decision.lotId,
      decision.outcome,
      decision.byPerson,
      decision.reason,
      decision.steady,
      decision.reducedApproved,
      decision.evaluation,
      decision.engineVersion,
      entryId,
    ],
  );
  await tx.query(
    `INSERT INTO decision_test (decision_id, test_id, meter_id, place, counted, entry_id)
     SELECT $1, t.test_id, t.meter_id, t.place, t.counted, $2
     FROM unnest($3::uuid[], $4::uuid[], $5::int[], $6::boolean[]) AS t (test_id, meter_id, place, counted)`,
    [
      decision.id,
      entryId,
      tests.map(({ testId }) => testId),
      tests.map(({ meterId }) => meterId),
      tests.map(({ place }) => place),
      tests.map(({ counted }) => counted),
    ],
  );
}

interface DecisionRow {
  id: string;
  outcome: LotOutcome;
  by_person: boolean;
  reason: string;
  steady: boolean;
  reduced_approved: boolean;
  evaluation: string;
  decided_at: Date;
  actor_id: string | null;
  actor_name: string | null;
  entry_id: string;
  at: Date;
  entry_actor_id: string | null;
  action: string;
  subject_type: string;
  subject_id: string;
  entry_reason: string | null;
  payload: string;
  approval_id: string | null;
  approver_id: string;
  approver_name: string | null;
  approval_note: string;
  approval_hash: string;
  signed_at: Date;
  approval_entry_id: string;
}

export async function findDecision(source: Source, lotId: string): Promise<Decision | null> {
  const [row] = await source.query<DecisionRow>(
    `SELECT k.id, k.outcome, k.by_person, k.reason, k.steady, k.reduced_approved, k.evaluation, k.decided_at, k.actor_id,
       p.value AS actor_name, k.entry_id, e.at, e.actor_id AS entry_actor_id, e.action, e.subject_type, e.subject_id,
       e.reason AS entry_reason, e.payload, a.id AS approval_id, a.account_id AS approver_id, q.value AS approver_name,
       a.note AS approval_note, a.record_hash AS approval_hash, a.signed_at, a.entry_id AS approval_entry_id
     FROM decision k JOIN ledger_entry e ON e.id = k.entry_id LEFT JOIN approval a ON a.decision_id = k.id
     ${nameOf("k.actor_id", "p")} ${nameOf("a.account_id", "q")}
     WHERE k.lot_id = $1`,
    [lotId],
  );
  if (row === undefined) return null;
  const tests = await source.query<{
    test_id: string;
    meter_id: string;
    utility_number: string;
    place: number;
    counted: boolean;
    performed_at: Date;
    tester_id: string;
    tester_name: string | null;
    superseded_by_id: string | null;
  }>(
    `SELECT d.test_id, d.meter_id, m.utility_number, d.place, d.counted, t.performed_at, t.tester_id, p.value AS tester_name,
       (SELECT n.id FROM meter_test n WHERE n.supersedes_id = t.id) AS superseded_by_id
     FROM decision_test d JOIN meter_test t ON t.id = d.test_id JOIN meter m ON m.id = d.meter_id ${nameOf("t.tester_id", "p")}
     WHERE d.decision_id = $1 ORDER BY d.place, t.performed_at, d.test_id`,
    [row.id],
  );
  return {
    id: row.id,
    outcome: row.outcome,
    byPerson: row.by_person,
    reason: row.reason,
    steady: row.steady,
    reducedApproved: row.reduced_approved,
    evaluation: lotEvaluationSchema.parse(JSON.parse(row.evaluation)),
    tests: tests.map((test) => ({
      testId: test.test_id,
      meterId: test.meter_id,
      utilityNumber: test.utility_number,
      place: test.place,
      counted: test.counted,
      performedAt: test.performed_at.toISOString(),
      tester: personRef(test.tester_id, test.tester_name),
      supersededById: test.superseded_by_id,
    })),
    decidedAt: row.decided_at.toISOString(),
    decidedBy: personRef(row.actor_id, row.actor_name),
    entryId: row.entry_id,
    recordHash: ledgerEntryHash({
      id: row.entry_id,
      at: row.at.toISOString(),
      actorId: row.entry_actor_id,
      action: row.action,
      subjectType: row.subject_type,
      subjectId: row.subject_id,
      reason: row.entry_reason,
      payload: row.payload,
    }),
    approval:
      row.approval_id === null
        ? null
        : {
            id: row.approval_id,
            person: personRef(row.approver_id, row.approver_name),
            meaning: "approved",
            signedAt: row.signed_at.toISOString(),
            recordHash: row.approval_hash,
            note: row.approval_note,
            entryId: row.approval_entry_id,
          },
  };
}

/** What an account had to do with a decision, with the meters concerned. */
export async function findHands(
  source: Source,
  decisionId: string,
  accountId: string,
): Promise<
  { kind: "decided" | "tested" | "recorded"; test_id: string | null; utility_number: string | null }[]
> {
  return await source.query(
    `SELECT h.kind, h.test_id, m.utility_number FROM hands_in_decision($1) h LEFT JOIN meter m ON m.id = h.meter_id
     WHERE h.account_id = $2 ORDER BY h.kind, m.utility_number, h.test_id`,
    [decisionId, accountId],
  );
}

export async function insertApproval(
  tx: Tx,
  approval: { id: string; decisionId: string; note: string; recordHash: string },
  entryId: string,
): Promise<void> {
  await tx.query(
    "INSERT INTO approval (id, decision_id, note, record_hash, entry_id) VALUES ($1, $2, $3, $4, $5)",
    [approval.id, approval.decisionId, approval.note, approval.recordHash, entryId],
  );
}

// ---------------------------------------------------------------------------------------------------------------
// The whole lot

interface WholeLotRow {
  purchase_order: string;
  received_on: string | null;
  note: string;
  inherits: string;
  maker_results: number;
  scheme_body: string;
  planned_at: Date | null;
  planner_id: string | null;
  planner_name: string | null;
  plan_entry_id: string | null;
  resubmitted_by_id: string | null;
  second_try_id: string | null;
  version: number;
  entry_id: string;
}

/** A lot with the lot that tries it again; what today allows is for the use cases to say. */
export type WholeLot = Omit<z.infer<typeof lotSchema>, "hindrances" | "secondTry"> & {
  secondTryId: string | null;
};

export async function findWholeLot(source: Source, id: string): Promise<WholeLot | null> {
  const [listRow] = await source.query<LotListRow>(`${lotListSelect} WHERE l.id = $1`, [id]);
  if (listRow === undefined) return null;
  const [row] = await source.query<WholeLotRow>(
    `SELECT l.purchase_order, l.received_on, l.note, l.inherits, s.body AS scheme_body, p.recorded_at AS planned_at,
       p.actor_id AS planner_id, v.value AS planner_name, p.entry_id AS plan_entry_id, l.version, l.entry_id,
       (SELECT count(*)::int FROM maker_result r WHERE r.lot_id = l.id) AS maker_results,
       (SELECT o.id FROM lot o WHERE o.resubmits_id = l.id) AS resubmitted_by_id,
       (SELECT o.id FROM lot o WHERE o.second_try_of_id = l.id AND o.state <> 'withdrawn') AS second_try_id
     FROM lot l JOIN sampling_scheme s ON s.id = l.scheme_id LEFT JOIN lot_plan p ON p.lot_id = l.id ${nameOf("p.actor_id", "v")}
     WHERE l.id = $1`,
    [id],
  );
  if (row === undefined) return null;
  const lists = await findDrawLists(source, id);
  return {
    ...toLotRow(listRow),
    schemeBody: samplingSchemeSchema.parse(JSON.parse(row.scheme_body)),
    purchaseOrder: row.purchase_order,
    receivedOn: row.received_on,
    note: row.note,
    inherits: seriesListSchema.parse(JSON.parse(row.inherits)),
    makerResults: row.maker_results,
    plan: listRow.plan === null ? null : lotPlanSchema.parse(JSON.parse(listRow.plan)),
    plannedAt: row.planned_at?.toISOString() ?? null,
    plannedBy: personRef(row.planner_id, row.planner_name),
    planEntryId: row.plan_entry_id,
    lists: lists.map(({ lotId: _, ...list }) => list),
    decision: await findDecision(source, id),
    actions: await findActionsOfLot(source, id),
    resubmittedById: row.resubmitted_by_id,
    secondTryId: row.second_try_id,
    version: row.version,
    entryId: row.entry_id,
  };
}

// ---------------------------------------------------------------------------------------------------------------
// Actions

interface ActionRow {
  id: string;
  lot_id: string;
  lot_kind: LotKind;
  lot_number: string;
  lot_title: string;
  kind: CorrectiveAction["kind"];
  detail: string;
  owner_id: string;
  owner_name: string | null;
  due_on: string;
  done_on: string | null;
  done_note: string;
  version: number;
  entry_id: string;
}

const actionSelect = `SELECT c.id, c.lot_id, l.kind AS lot_kind, l.number AS lot_number, l.title AS lot_title, c.kind, c.detail, c.owner_id,
    p.value AS owner_name, c.due_on, c.done_on, c.done_note, c.version, c.entry_id
  FROM corrective_action c JOIN lot l ON l.id = c.lot_id ${nameOf("c.owner_id", "p")}`;

function toAction(row: ActionRow): CorrectiveAction {
  return {
    id: row.id,
    lotId: row.lot_id,
    lotKind: row.lot_kind,
    lotNumber: row.lot_number,
    lotTitle: row.lot_title,
    kind: row.kind,
    detail: row.detail,
    owner: personRef(row.owner_id, row.owner_name),
    dueOn: row.due_on,
    doneOn: row.done_on,
    doneNote: row.done_note,
    version: row.version,
    entryId: row.entry_id,
  };
}

async function findActionsOfLot(source: Source, lotId: string): Promise<CorrectiveAction[]> {
  const rows = await source.query<ActionRow>(`${actionSelect} WHERE c.lot_id = $1 ORDER BY c.due_on, c.id`, [
    lotId,
  ]);
  return rows.map(toAction);
}

/** Actions by due date, ties by id. */
export async function findActions(
  source: Source,
  filter: { done: boolean | null; after: { dueOn: string; id: string } | null; limit: number },
): Promise<CorrectiveAction[]> {
  const rows = await source.query<ActionRow>(
    `${actionSelect} WHERE ($1::boolean IS NULL OR (c.done_on IS NOT NULL) = $1)
       AND ($2::date IS NULL OR (c.due_on, c.id) > ($2, $3::uuid))
     ORDER BY c.due_on, c.id LIMIT $4`,
    [filter.done, filter.after?.dueOn ?? null, filter.after?.id ?? null, filter.limit],
  );
  return rows.map(toAction);
}

export async function findAction(source: Source, id: string): Promise<CorrectiveAction | null> {
  const [row] = await source.query<ActionRow>(`${actionSelect} WHERE c.id = $1`, [id]);
  return row === undefined ? null : toAction(row);
}

/** Locks an action and says which version it has; null when there is none. */
export async function lockAction(tx: Tx, id: string): Promise<number | null> {
  const [row] = await tx.query<{ version: number }>(
    "SELECT version FROM corrective_action WHERE id = $1 FOR UPDATE",
    [id],
  );
  return row?.version ?? null;
}

export async function insertAction(
  tx: Tx,
  action: { id: string; lotId: string; kind: string; detail: string; ownerId: string; dueOn: string },
  entryId: string,
): Promise<void> {
  await tx.query(
    "INSERT INTO corrective_action (id, lot_id, kind, detail, owner_id, due_on, entry_id) VALUES ($1, $2, $3, $4, $5, $6, $7)",
    [action.id, action.lotId, action.kind, action.detail, action.ownerId, action.dueOn, entryId],
  );
}

export async function updateAction(
  tx: Tx,
  id: string,
  change: { ownerId: string; dueOn: string; doneOn: string | null; doneNote: string },
  entryId: string,
): Promise<void> {
  await tx.query(
    `UPDATE corrective_action SET owner_id = $2, due_on = $3, done_on = $4, done_note = $5, entry_id = $6, version = version + 1
     WHERE id = $1`,
    [id, change.ownerId, change.dueOn, change.doneOn, change.doneNote, entryId],
  );
}

// ---------------------------------------------------------------------------------------------------------------
// Series

export interface SeriesLotRow {
  id: string;
  number: string;
  title: string;
  inherits: string;
  resubmits_id: string | null;
  second_try_of_id: string | null;
  state: LotState;
  created_at: Date;
  outcome: LotOutcome | null;
  steady: boolean | null;
  reduced_approved: boolean | null;
  evaluation: string | null;
  decided_at: Date | null;
  decider_id: string | null;
  decider_name: string | null;
}

/** Lots of a series under a scheme, oldest first; each decision without its readings. */
export async function findSeriesLots(
  source: Source,
  series: string,
  schemeCode: string,
): Promise<SeriesLotRow[]> {
  return await source.query<SeriesLotRow>(
    `SELECT l.id, l.number, l.title, l.inherits, l.resubmits_id, l.second_try_of_id, l.state, l.created_at, k.outcome, k.steady, k.reduced_approved,
       k.decided_at, k.actor_id AS decider_id, p.value AS decider_name,
       (SELECT json_agg(json_build_object('characteristic', c ->> 'characteristic', 'outcome', c ->> 'outcome',
          'nonconforming', (c ->> 'nonconforming')::int, 'counted', (c ->> 'counted')::int))::text
        FROM jsonb_array_elements(k.evaluation::jsonb -> 'characteristics') c) AS evaluation
     FROM lot l LEFT JOIN decision k ON k.lot_id = l.id ${nameOf("k.actor_id", "p")}
     WHERE l.series = $1 AND l.scheme_code = $2 AND l.state <> 'withdrawn' ORDER BY l.created_at, l.id`,
    [series, schemeCode],
  );
}

export interface SwitchingEventRow {
  characteristic: string | null;
  kind: "irregular" | "corrective-action" | "directed";
  severity: "normal" | "tightened" | "reduced" | null;
  reason: string;
  recorded_at: Date;
  actor_id: string | null;
  actor_name: string | null;
}

export async function findSwitchingEvents(
  source: Source,
  series: string,
  schemeCode: string,
): Promise<SwitchingEventRow[]> {
  return await source.query<SwitchingEventRow>(
    `SELECT w.characteristic, w.kind, w.severity, w.reason, w.recorded_at, w.actor_id, p.value AS actor_name
     FROM switching_event w ${nameOf("w.actor_id", "p")} WHERE w.series = $1 AND w.scheme_code = $2
     ORDER BY w.recorded_at, w.id`,
    [series, schemeCode],
  );
}

export async function insertSwitchingEvent(
  tx: Tx,
  event: {
    id: string;
    series: string;
    schemeCode: string;
    characteristic: string | null;
    kind: string;
    severity: string | null;
    reason: string;
  },
  entryId: string,
): Promise<void> {
  await tx.query(
    `INSERT INTO switching_event (id, series, scheme_code, characteristic, kind, severity, reason, entry_id)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
    [
      event.id,
      event.series,
      event.schemeCode,
      event.characteristic,
      event.kind,
      event.severity,
      event.reason,
      entryId,
    ],
  );
}
