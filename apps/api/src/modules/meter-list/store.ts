import type { MeterFilter, MeterOrder } from "@sealbook/contract/meter-list";
import type { MeterRow, MeterState } from "@sealbook/contract/meters";
import { numberHolds } from "../../platform/like-pattern.ts";
import { localDate } from "../../platform/local-date.ts";
import { placeWords } from "../../platform/place-words.ts";
import type { Source } from "../../platform/transaction.ts";

/** A place in an order: the value that the rows are ordered by, null for rows without, and the meter. */
export interface ListKey {
  readonly value: string | null;
  readonly id: string;
}

/** What a filter means on a given day in a given zone: relative terms made absolute. */
export interface FilterTerms {
  readonly filter: MeterFilter;
  readonly timeZone: string;
  /** Local date of the shop. */
  readonly today: string;
  /** Last local date that counts as due, where the filter asks for some; not read otherwise. */
  readonly dueTo: string;
}

interface ListRow {
  id: string;
  utility_number: string;
  serial: string;
  owner: MeterRow["owner"];
  maker: string;
  model: string;
  form: string;
  state: MeterState;
  place: string;
  last_test_at: Date | null;
  last_verdict: MeterRow["lastVerdict"];
  set_at: Date | null;
  due_on: string | null;
  order_value: string | null;
}

const rowColumns = `m.id, m.utility_number, m.serial, m.owner, m.maker, y.model, y.form, m.state, ${placeWords("p")} AS place,
    s.last_test_at, s.last_verdict, s.set_at, s.due_on`;
const rowTables = `meter m JOIN meter_standing s ON s.meter_id = m.id JOIN meter_type y ON y.id = m.type_id JOIN place p ON p.id = m.place_id`;

function toMeterRow(row: Omit<ListRow, "order_value">, timeZone: string): MeterRow {
  return {
    id: row.id,
    utilityNumber: row.utility_number,
    serial: row.serial,
    owner: row.owner,
    maker: row.maker,
    model: row.model,
    form: row.form,
    state: row.state,
    place: row.place,
    lastTestOn: row.last_test_at === null ? null : localDate(row.last_test_at, timeZone),
    lastVerdict: row.last_verdict,
    setOn: row.set_at === null ? null : localDate(row.set_at, timeZone),
    dueOn: row.due_on,
  };
}

/** An order of the list in SQL: what it goes by, and which way. Each has an index of its own that ends in the id. */
const orders: Record<MeterOrder, { value: string; id: string; cast: string; way: "ASC" | "DESC" }> = {
  number: { value: "m.utility_number", id: "m.id", cast: "text", way: "ASC" },
  "last-test": { value: "s.last_test_at", id: "s.meter_id", cast: "timestamptz", way: "ASC" },
  "last-test-newest": { value: "s.last_test_at", id: "s.meter_id", cast: "timestamptz", way: "DESC" },
  due: { value: "s.due_on", id: "s.meter_id", cast: "date", way: "ASC" },
};

type Bind = (value: unknown) => string;

/** Conditions of a filter, ANDed; every value is bound. */
function conditionsOf({ filter, timeZone, today, dueTo }: FilterTerms, bind: Bind): string[] {
  const conditions: string[] = [];
  const equal = (column: string, value: unknown, cast = "") => {
    if (value !== undefined && value !== "") conditions.push(`${column} = ${bind(value)}${cast}`);
  };
  const part = filter.q?.trim() ?? "";
  if (part !== "") conditions.push(numberHolds(["m.utility_number", "m.serial"], part, bind));
  equal("m.state", filter.state);
  equal("m.owner", filter.owner);
  equal("m.type_id", filter.typeId, "::uuid");
  equal("m.place_id", filter.placeId, "::uuid");
  // A maker or a form is a handful of types: worked out first, they meet the index of types.
  const ofType = [
    filter.maker ? `maker = ${bind(filter.maker)}` : null,
    filter.form ? `form = ${bind(filter.form)}` : null,
  ].filter((condition) => condition !== null);
  if (ofType.length > 0) {
    conditions.push(`m.type_id = ANY (ARRAY(SELECT id FROM meter_type WHERE ${ofType.join(" AND ")}))`);
  }
  if (filter.area) {
    conditions.push(
      `EXISTS (SELECT FROM service_point a WHERE a.id = m.place_id AND a.area = ${bind(filter.area)})`,
    );
  }
  if (filter.lotId !== undefined) {
    conditions.push(
      `EXISTS (SELECT FROM lot_member l WHERE l.lot_id = ${bind(filter.lotId)}::uuid AND l.meter_id = m.id)`,
    );
  }
  if (filter.lastVerdict === "not-tested") conditions.push("s.last_test_at IS NULL");
  else equal("s.last_verdict", filter.lastVerdict);
  const dayBegins = (date: string) => `(${bind(date)}::date::timestamp AT TIME ZONE ${bind(timeZone)})`;
  if (filter.testedFrom) conditions.push(`s.last_test_at >= ${dayBegins(filter.testedFrom)}`);
  if (filter.testedTo) {
    conditions.push(
      `s.last_test_at < ((${bind(filter.testedTo)}::date + 1)::timestamp AT TIME ZONE ${bind(timeZone)})`,
    );
  }
  if (filter.setYear !== undefined) {
    conditions.push(
      `s.set_at >= ${dayBegins(`${filter.setYear}-01-01`)} AND s.set_at < ${dayBegins(`${filter.setYear + 1}-01-01`)}`,
    );
  }
  if (filter.due === "no-date") conditions.push("s.due_on IS NULL");
  else if (filter.due === "late") conditions.push(`s.due_on < ${bind(today)}::date`);
  else if (filter.due !== undefined) conditions.push(`s.due_on <= ${bind(dueTo)}::date`);
  return conditions;
}

/**
 * Meters in an order after a key, and the key of each. Rows without a value come after all others: they are read by a
 * second query when the first has run out, because an index holds them at one end in either direction.
 */
export async function findMetersInOrder(
  source: Source,
  terms: FilterTerms,
  page: { order: MeterOrder; after: ListKey | null; limit: number },
): Promise<{ row: MeterRow; key: ListKey }[]> {
  const { after, limit, order } = page;
  const found =
    after !== null && after.value === null ? [] : await findPart(source, terms, order, after, limit, true);
  if (order === "number" || found.length >= limit) return found;
  const rest = await findPart(
    source,
    terms,
    order,
    after?.value === null ? after : null,
    limit - found.length,
    false,
  );
  return [...found, ...rest];
}

async function findPart(
  source: Source,
  terms: FilterTerms,
  order: MeterOrder,
  after: ListKey | null,
  limit: number,
  hasValue: boolean,
): Promise<{ row: MeterRow; key: ListKey }[]> {
  const values: unknown[] = [];
  const sql = meterPageSql(terms, order, after, limit, hasValue, (value) => `$${values.push(value)}`);
  const rows = await source.query<ListRow>(sql, values);
  return rows.map((row) => ({
    row: toMeterRow(row, terms.timeZone),
    key: { value: row.order_value, id: row.id },
  }));
}

function meterPageSql(
  terms: FilterTerms,
  order: MeterOrder,
  after: ListKey | null,
  limit: number,
  hasValue: boolean,
  bind: Bind,
): string {
  const { value, id, cast, way } = orders[order];
  const conditions = conditionsOf(terms, bind);
  if (order !== "number") conditions.push(`${value} IS ${hasValue ? "NOT " : ""}NULL`);
  if (after !== null) {
    const beyond = way === "ASC" ? ">" : "<";
    conditions.push(
      after.value === null
        ? `${id} ${beyond} ${bind(after.id)}::uuid`
        : `(${value}, ${id}) ${beyond} (${bind(after.value)}::${cast}, ${bind(after.id)}::uuid)`,
    );
  }
  const where = conditions.length === 0 ? "" : `WHERE ${conditions.join(" AND ")}`;
  return `SELECT ${rowColumns}, ${value}::text AS order_value FROM ${rowTables} ${where}
    ORDER BY ${value} ${way}, ${id} ${way} LIMIT ${bind(limit)}`;
}

/** How many meters a filter leaves, counted no further than a limit. */
export async function countMetersTo(source: Source, terms: FilterTerms, limit: number): Promise<number> {
  const values: unknown[] = [];
  const conditions = conditionsOf(terms, (value) => `$${values.push(value)}`);
  const where = conditions.length === 0 ? "" : `WHERE ${conditions.join(" AND ")}`;
  // The standing is joined where a condition asks for it: counting to the limit is quicker without.
  const usesStanding = conditions.some((condition) => /\bs\./.test(condition));
  const tables = usesStanding ? "meter m JOIN meter_standing s ON s.meter_id = m.id" : "meter m";
  values.push(limit);
  const [row] = await source.query<{ count: number }>(
    `SELECT count(*)::int AS count FROM (SELECT FROM ${tables} ${where} LIMIT $${values.length}) counted`,
    values,
  );
  return row?.count ?? 0;
}

/** Meters with exactly this utility number or serial, those in use before retired ones. */
export async function findMetersByNumber(
  source: Source,
  number: string,
  timeZone: string,
): Promise<MeterRow[]> {
  const rows = await source.query<ListRow>(
    `SELECT ${rowColumns} FROM ${rowTables} WHERE m.utility_number = $1 OR m.serial = $1
     ORDER BY m.state IN ('retired', 'disposed'), m.utility_number, m.id LIMIT 20`,
    [number],
  );
  return rows.map((row) => toMeterRow(row, timeZone));
}

/** A meter as a file shows it. Decimals stay text, so that none is rounded on its way. */
export interface ExportRow extends MeterRow {
  classAmperes: string;
  kh: string;
  area: string | null;
  lastAveragePercent: string | null;
  lastAverageErrorPercent: string | null;
}

/** The query of an export, for a cursor: the filtered meters in their order, all of them. */
export function exportSql(terms: FilterTerms, order: MeterOrder): { sql: string; values: unknown[] } {
  const values: unknown[] = [];
  const conditions = conditionsOf(terms, (value) => `$${values.push(value)}`);
  const where = conditions.length === 0 ? "" : `WHERE ${conditions.join(" AND ")}`;
  const { value, id, way } = orders[order];
  return {
    sql: `SELECT ${rowColumns}, NULL AS order_value, y.class_amperes, y.kh, v.area, t.average_as_found,
        t.average_as_found - 100 AS average_error
      FROM ${rowTables} LEFT JOIN service_point v ON v.id = m.place_id LEFT JOIN meter_test t ON t.id = s.last_test_id
      ${where} ORDER BY ${value} ${way} NULLS LAST, ${id} ${way}`,
    values,
  };
}

export type ExportedRow = ListRow & {
  class_amperes: string;
  kh: string;
  area: string | null;
  average_as_found: string | null;
  average_error: string | null;
};

export function toExportRow(row: ExportedRow, timeZone: string): ExportRow {
  return {
    ...toMeterRow(row, timeZone),
    classAmperes: row.class_amperes,
    kh: row.kh,
    area: row.area,
    lastAveragePercent: row.average_as_found,
    lastAverageErrorPercent: row.average_error,
  };
}
