import type { DueKind, DueRow } from "@sealbook/contract/due";
import type { IntervalSubject } from "@sealbook/metrology/profiles/interval-for";
import { personRef } from "../../platform/person-ref.ts";
import { placeWords } from "../../platform/place-words.ts";
import type { Source, Tx } from "../../platform/transaction.ts";

export interface DueFilter {
  kind?: DueKind | undefined;
  placeId?: string | undefined;
  area?: string | undefined;
  assigneeId?: string | undefined;
  unassigned?: "true" | undefined;
}

/** A place in the order of due work: date ("infinity" without one), kind, id. */
export interface DueKey {
  readonly dueOn: string;
  readonly kind: DueKind;
  readonly id: string;
}

/** A range of due dates, both ends included; null is open. */
export interface DueRange {
  readonly from: string | null;
  readonly to: string | null;
}

type Bind = (value: unknown) => string;

/** What falls due of one kind in SQL: which rows, their date and key, and what is shown of them. */
interface DuePart {
  readonly kind: DueKind;
  /** Tables that decide which rows: list and calendar read the same. */
  readonly tables: string;
  readonly dueOn: string;
  readonly id: string;
  readonly conditions: readonly string[];
  /** What is shown of the rows that a page holds, and the tables that it stands in, beside their keys k (due_on, id). */
  readonly columns: string;
  readonly shownTables: string;
}

/** On one day, in this order. */
const kindOrder: readonly DueKind[] = ["periodic", "sample", "asked", "standard"];

/**
 * The kinds that a filter leaves, each with its conditions.
 *
 * @param today for standards: their calibration is the newest up to this local date
 */
function partsOf(filter: DueFilter, today: string, bind: Bind): DuePart[] {
  const atPlace = [
    filter.placeId === undefined ? null : `m.place_id = ${bind(filter.placeId)}::uuid`,
    filter.area ? `v.area = ${bind(filter.area)}` : null,
  ].filter((condition) => condition !== null);
  const taken = [
    filter.assigneeId === undefined ? null : `w.assignee_id = ${bind(filter.assigneeId)}::uuid`,
    filter.unassigned === undefined ? null : "w.assignee_id IS NULL",
  ].filter((condition) => condition !== null);
  const whereabouts = (meterId: string) =>
    atPlace.length === 0
      ? ""
      : `JOIN meter m ON m.id = ${meterId} ${filter.area ? "JOIN service_point v ON v.id = m.place_id" : ""}`;
  const work = (kind: "sample" | "asked"): DuePart => ({
    kind,
    tables: `work_item w ${whereabouts("w.meter_id")}`,
    dueOn: "coalesce(w.due_on, 'infinity')",
    id: "w.id",
    conditions: [
      "w.done_by_test_id IS NULL",
      "w.closed_reason IS NULL",
      `w.draw_id IS ${kind === "sample" ? "NOT " : ""}NULL`,
      ...atPlace,
      ...taken,
    ],
    columns: `m.utility_number AS name, m.id AS meter_id, w.reason, w.note, ${placeWords("p")} AS place, w.assignee_id,
      n.value AS assignee_name, w.version`,
    shownTables: `JOIN work_item w ON w.id = k.id JOIN meter m ON m.id = w.meter_id JOIN place p ON p.id = m.place_id
      LEFT JOIN account a ON a.id = w.assignee_id LEFT JOIN personal_value n ON n.id = a.name_id`,
  });
  // Values are bound by the parts that are read alone: a value that no query names has no type.
  const part: Record<DueKind, () => DuePart> = {
    periodic: () => ({
      kind: "periodic",
      tables: `meter_standing s ${whereabouts("s.meter_id")}`,
      dueOn: "s.due_on",
      id: "s.meter_id",
      conditions: [
        "s.due_on IS NOT NULL",
        // Once somebody has asked for it, the work itself is due, and counted there.
        `NOT EXISTS (SELECT FROM work_item w WHERE w.meter_id = s.meter_id AND w.reason = 'periodic'
          AND w.done_by_test_id IS NULL AND w.closed_reason IS NULL)`,
        ...atPlace,
      ],
      columns: `m.utility_number AS name, m.id AS meter_id, 'periodic' AS reason, coalesce(i.source, '') AS note,
        ${placeWords("p")} AS place, NULL::uuid AS assignee_id, NULL AS assignee_name, NULL::integer AS version`,
      shownTables: `JOIN meter m ON m.id = k.id JOIN place p ON p.id = m.place_id LEFT JOIN service_point v ON v.id = m.place_id
        CROSS JOIN (SELECT home_jurisdiction FROM shop) h
        LEFT JOIN test_interval i ON i.type_id = m.type_id AND i.jurisdiction = coalesce(v.jurisdiction, h.home_jurisdiction)`,
    }),
    sample: () => work("sample"),
    asked: () => work("asked"),
    standard: () => ({
      kind: "standard",
      tables: `standard d LEFT JOIN LATERAL (
          SELECT c.due_on FROM calibration c
          WHERE c.standard_id = d.id AND c.calibrated_on <= ${bind(today)}::date
            AND NOT EXISTS (SELECT FROM calibration n WHERE n.supersedes_id = c.id)
          ORDER BY c.calibrated_on DESC, c.recorded_at DESC, c.id DESC LIMIT 1
        ) c ON true`,
      dueOn: "coalesce(c.due_on, 'infinity')",
      id: "d.id",
      conditions: ["NOT d.withdrawn"],
      columns: `d.designation AS name, NULL::uuid AS meter_id, NULL AS reason, '' AS note, d.place,
        NULL::uuid AS assignee_id, NULL AS assignee_name, NULL::integer AS version`,
      shownTables: "JOIN standard d ON d.id = k.id",
    }),
  };
  return kindOrder
    .filter(
      (kind) =>
        (filter.kind === undefined || filter.kind === kind) &&
        // Nobody takes a periodic test or a standard: they are everybody's until somebody asks for the test.
        (filter.assigneeId === undefined || kind === "sample" || kind === "asked") &&
        (kind !== "standard" || atPlace.length === 0),
    )
    .map((kind) => part[kind]());
}

const lowestId = "00000000-0000-0000-0000-000000000000";
const highestId = "ffffffff-ffff-ffff-ffff-ffffffffffff";

/** The id behind which a kind's rows of the key's day follow in the common order. */
function idBehind(key: DueKey, kind: DueKind): string {
  const rank = kindOrder.indexOf(kind) - kindOrder.indexOf(key.kind);
  if (rank === 0) return key.id;
  return rank > 0 ? lowestId : highestId;
}

interface DueListRow {
  kind: DueKind;
  id: string;
  due_on: string;
  name: string;
  meter_id: string | null;
  reason: DueRow["reason"];
  note: string;
  place: string;
  assignee_id: string | null;
  assignee_name: string | null;
  version: number | null;
}

function toDueRow(row: DueListRow): DueRow {
  return {
    kind: row.kind,
    id: row.id,
    dueOn: row.due_on === "infinity" ? null : row.due_on,
    name: row.name,
    meterId: row.meter_id,
    reason: row.reason,
    note: row.note,
    place: row.place,
    assignee: personRef(row.assignee_id, row.assignee_name),
    version: row.version,
  };
}

/** What falls due, by date, then kind, then id; what has no date comes last. Each kind goes by its own index. */
export async function findDue(
  source: Source,
  filter: DueFilter,
  today: string,
  page: DueRange & { after: DueKey | null; limit: number },
): Promise<DueRow[]> {
  const values: unknown[] = [];
  const bind: Bind = (value) => `$${values.push(value)}`;
  const parts = partsOf(filter, today, bind);
  if (parts.length === 0) return [];
  const limit = bind(page.limit);
  const each = parts.map((part) => {
    const conditions = [...part.conditions, ...inRange(part, page, bind)];
    if (page.after !== null) {
      conditions.push(
        `(${part.dueOn}, ${part.id}) > (${bind(page.after.dueOn)}::date, ${bind(idBehind(page.after, part.kind))}::uuid)`,
      );
    }
    return `(SELECT '${part.kind}' AS kind, ${kindOrder.indexOf(part.kind)} AS kind_order, k.due_on, k.id, ${part.columns}
      FROM (SELECT ${part.dueOn} AS due_on, ${part.id} AS id FROM ${part.tables} WHERE ${conditions.join(" AND ")}
        ORDER BY ${part.dueOn}, ${part.id} LIMIT ${limit}) k ${part.shownTables})`;
  });
  const rows = await source.query<DueListRow>(
    `SELECT * FROM (${each.join(" UNION ALL ")}) due ORDER BY due_on, kind_order, id LIMIT ${limit}`,
    values,
  );
  return rows.map(toDueRow);
}

function inRange(part: DuePart, { from, to }: DueRange, bind: Bind): string[] {
  return [
    from === null ? null : `${part.dueOn} >= ${bind(from)}::date`,
    to === null ? null : `${part.dueOn} <= ${bind(to)}::date`,
  ].filter((condition) => condition !== null);
}

/** How much falls due on each day of a range, by kind. */
export async function countDueByDay(
  source: Source,
  filter: DueFilter,
  today: string,
  range: { from: string; to: string },
): Promise<{ on: string; kind: DueKind; count: number }[]> {
  const values: unknown[] = [];
  const bind: Bind = (value) => `$${values.push(value)}`;
  const parts = partsOf(filter, today, bind);
  if (parts.length === 0) return [];
  const each = parts.map(
    (part) => `(SELECT ${part.dueOn} AS on, '${part.kind}' AS kind, count(*)::int AS count FROM ${part.tables}
      WHERE ${[...part.conditions, ...inRange(part, range, bind)].join(" AND ")} GROUP BY 1)`,
  );
  return await source.query(`${each.join(" UNION ALL ")} ORDER BY 1, 2`, values);
}

/** How much was due up to a day, counted no further than a limit. */
export async function countDueTo(
  source: Source,
  filter: DueFilter,
  today: string,
  to: string,
  limit: number,
): Promise<number> {
  const values: unknown[] = [];
  const bind: Bind = (value) => `$${values.push(value)}`;
  const parts = partsOf(filter, today, bind);
  if (parts.length === 0) return 0;
  const most = bind(limit);
  const each = parts.map(
    (part) =>
      `(SELECT 1 FROM ${part.tables} WHERE ${[...part.conditions, ...inRange(part, { from: null, to }, bind)].join(" AND ")} LIMIT ${most})`,
  );
  const [row] = await source.query<{ count: number }>(
    `SELECT count(*)::int AS count FROM (SELECT FROM (${each.join(" UNION ALL ")}) part LIMIT ${most}) late`,
    values,
  );
  return row?.count ?? 0;
}

// ---------------------------------------------------------------------------------------------------------------
// Intervals and the due dates that follow from them

/** What the rules of an interval look at, of every type; the form says how the meter is connected. */
export async function findTypesForIntervals(
  source: Source,
): Promise<(Omit<IntervalSubject, "connection"> & { id: string; form: string })[]> {
  return await source.query(
    `SELECT id, form, technology, phases, accuracy_class AS "accuracyClass" FROM meter_type`,
  );
}

export interface TestInterval {
  jurisdiction: string;
  typeId: string;
  months: number | null;
  source: string;
}

/**
 * Makes the intervals on record those given. A row whose months change is not applied yet; a new one without months is:
 * it changes no date.
 */
export async function keepIntervals(tx: Tx, intervals: readonly TestInterval[]): Promise<void> {
  await tx.query(
    `INSERT INTO test_interval AS t (jurisdiction, type_id, months, source, applied)
     SELECT *, months IS NULL
     FROM unnest($1::text[], $2::uuid[], $3::integer[], $4::text[]) AS n (jurisdiction, type_id, months, source)
     ON CONFLICT (jurisdiction, type_id) DO UPDATE SET months = excluded.months, source = excluded.source,
       applied = t.applied AND t.months IS NOT DISTINCT FROM excluded.months
     WHERE (t.months, t.source) IS DISTINCT FROM (excluded.months, excluded.source)`,
    [
      intervals.map(({ jurisdiction }) => jurisdiction),
      intervals.map(({ typeId }) => typeId),
      intervals.map(({ months }) => months),
      intervals.map(({ source }) => source),
    ],
  );
}

/** Types with an interval that is not applied yet. */
export async function findTypesToApply(source: Source): Promise<string[]> {
  const rows = await source.query<{ id: string }>(
    "SELECT DISTINCT type_id AS id FROM test_interval WHERE NOT applied",
  );
  return rows.map(({ id }) => id);
}

/** Works the due dates of the next meters of some types out anew, by id; says where to go on, null at the end. */
export async function refreshNextMeters(
  tx: Tx,
  typeIds: readonly string[],
  after: string,
  limit: number,
): Promise<string | null> {
  const [chunk] = await tx.query<{ ids: string[] | null }>(
    `SELECT array_agg(id) AS ids FROM (
       SELECT id FROM meter WHERE type_id = ANY ($1) AND id > $2 ORDER BY id LIMIT $3) next`,
    [typeIds, after, limit],
  );
  const ids = chunk?.ids ?? [];
  if (ids.length === 0) return null;
  await tx.query("SELECT refresh_meter_standing($1)", [ids]);
  return ids.length < limit ? null : (ids.at(-1) ?? null);
}

/** Holds the intervals still until the transaction ends, and says which of some types are as they were. */
export async function markApplied(
  tx: Tx,
  applied: readonly (TestInterval & { applied?: boolean })[],
): Promise<void> {
  await tx.query(
    `UPDATE test_interval t SET applied = true
     FROM unnest($1::text[], $2::uuid[], $3::integer[]) AS a (jurisdiction, type_id, months)
     WHERE t.jurisdiction = a.jurisdiction AND t.type_id = a.type_id AND t.months IS NOT DISTINCT FROM a.months AND NOT t.applied`,
    [
      applied.map(({ jurisdiction }) => jurisdiction),
      applied.map(({ typeId }) => typeId),
      applied.map(({ months }) => months),
    ],
  );
}

/** Whether this transaction may work on due dates: one process at a time does. */
export async function takeTurn(tx: Tx): Promise<boolean> {
  const [turn] = await tx.query<{ mine: boolean }>(
    "SELECT pg_try_advisory_xact_lock(hashtext('sealbook due dates')) AS mine",
  );
  return turn?.mine === true;
}
