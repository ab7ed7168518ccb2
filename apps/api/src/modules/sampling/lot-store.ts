import type { dispositionNames, LotKind, LotOutcome, LotState } from "@sealbook/contract/lot-terms";
import type { LotRow } from "@sealbook/contract/sampling";
import { type LotPlan, lotPlanSchema } from "@sealbook/metrology/sampling/decision/lot-plan-schema";
import { z } from "zod";
import type { Source, Tx } from "../../platform/transaction.ts";

export interface LotListRow {
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
export const lotListSelect = `SELECT l.id, l.kind, l.number, l.title, l.scheme_id, l.scheme_code, s.revision AS scheme_revision,
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

/** A row of the lists of lots. */
export function toLotRow(row: LotListRow): LotRow {
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

export const seriesListSchema = z.array(z.string());

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
