import type { FlagRule, InventoryFlag } from "@sealbook/contract/inventory-flags";
import { personRef } from "../../platform/person-ref.ts";
import type { Source, Tx } from "../../platform/transaction.ts";

/** Meters to look at: those of ids, or those after one id up to another. */
export type Scope = { ids: readonly string[] } | { after: string; upTo: string };

function within(meter: string, scope: Scope): string {
  return "ids" in scope ? `${meter} = ANY ($1::uuid[])` : `${meter} > $1::uuid AND ${meter} <= $2::uuid`;
}

function valuesOf(scope: Scope): unknown[] {
  return "ids" in scope ? [scope.ids] : [scope.after, scope.upTo];
}

const zone = "(SELECT time_zone FROM shop)";
const localDay = (instant: string) => `(${instant} AT TIME ZONE ${zone})::date`;
const countingTest =
  "t.outcome <> 'withdrawn' AND NOT EXISTS (SELECT FROM meter_test s WHERE s.supersedes_id = t.id)";

/**
 * What does not fit about meters. A key names the rule and the figures that disagree, so that other figures are another
 * finding. Every part begins at the meters of the scope and goes on by an index: their serials, events and tests.
 */
function findings(scope: Scope): string {
  const inScope = within("m.id", scope);
  return `
    SELECT 'same-serial:' || g.serial || ':' || g.makers AS key, 'same-serial' AS rule, g.meter_id,
      json_build_object('serial', g.serial, 'meterIds', g.ids) AS facts
    FROM (
      SELECT o.serial, string_agg(o.maker, '|' ORDER BY o.maker) AS makers, (array_agg(o.id ORDER BY o.id DESC))[1] AS meter_id,
        array_agg(o.id ORDER BY o.id) AS ids
      FROM meter o WHERE o.serial IN (SELECT m.serial FROM meter m WHERE ${inScope} AND EXISTS (
        SELECT FROM meter n WHERE n.serial = m.serial AND n.id <> m.id))
      GROUP BY o.serial
    ) g WHERE ${within("g.meter_id", scope)}
    UNION ALL
    SELECT 'event-before-purchase:' || m.id || ':' || m.purchased_on || ':' || ${localDay("v.performed_at")}, 'event-before-purchase', m.id,
      json_build_object('purchasedOn', m.purchased_on, 'on', ${localDay("v.performed_at")}, 'kind', v.kind)
    FROM meter m CROSS JOIN LATERAL (
      SELECT e.performed_at, e.kind FROM standing_meter_event e WHERE e.meter_id = m.id ORDER BY e.performed_at, e.id LIMIT 1) v
    WHERE ${inScope} AND ${localDay("v.performed_at")} < m.purchased_on
    UNION ALL
    SELECT 'test-before-receipt:' || t.id || ':' || ${localDay("v.performed_at")}, 'test-before-receipt', m.id,
      json_build_object('testId', t.id, 'testedOn', ${localDay("t.performed_at")}, 'on', ${localDay("v.performed_at")})
    FROM meter m CROSS JOIN LATERAL (
      SELECT e.performed_at FROM standing_meter_event e WHERE e.meter_id = m.id ORDER BY e.performed_at, e.id LIMIT 1) v
    JOIN meter_test t ON t.meter_id = m.id AND ${localDay("t.performed_at")} < ${localDay("v.performed_at")}
    WHERE ${inScope} AND ${countingTest}`;
}

/** Looks at meters anew: raises what is found, opens again what had gone and is back, lets go what is no longer so. */
export async function lookAtMeters(tx: Tx, scope: Scope): Promise<number> {
  const [row] = await tx.query<{ raised: number }>(
    `WITH found AS MATERIALIZED (${findings(scope)}),
     raised AS (
       INSERT INTO inventory_flag (key, rule, meter_id, facts)
       SELECT key, rule, meter_id, facts::text FROM found f
       WHERE NOT EXISTS (SELECT FROM inventory_flag i WHERE i.key = f.key)
       ON CONFLICT (key) DO NOTHING RETURNING 1),
     back AS (
       UPDATE inventory_flag i SET state = 'open' FROM found f WHERE i.key = f.key AND i.state = 'gone' RETURNING 1),
     gone AS (
       UPDATE inventory_flag i SET state = 'gone'
       WHERE i.state = 'open' AND i.meter_id IS NOT NULL AND ${within("i.meter_id", scope)}
         AND NOT EXISTS (SELECT FROM found f WHERE f.key = i.key) RETURNING 1)
     SELECT ((SELECT count(*) FROM raised) + (SELECT count(*) FROM back))::int AS raised`,
    valuesOf(scope),
  );
  return row?.raised ?? 0;
}

/** Meters whose findings may change when these do: those that share a serial now, or did when that was found. */
export async function findMetersConcerned(source: Source, ids: readonly string[]): Promise<string[]> {
  const rows = await source.query<{ id: string }>(
    `SELECT unnest($1::uuid[]) AS id
     UNION SELECT o.id FROM meter m JOIN meter o ON o.serial = m.serial WHERE m.id = ANY ($1)
     UNION SELECT i.meter_id FROM inventory_flag i WHERE i.state = 'open' AND i.rule = 'same-serial'
       AND i.facts::jsonb -> 'meterIds' ?| $1::text[]`,
    [ids],
  );
  return rows.map(({ id }) => id);
}

/** The last id of the next chunk of meters after an id; null where there are no more. */
export async function findChunkEnd(source: Source, after: string, size: number): Promise<string | null> {
  const [row] = await source.query<{ id: string }>(
    `SELECT id FROM (SELECT id FROM meter WHERE id > $1 ORDER BY id LIMIT $2) chunk ORDER BY id DESC LIMIT 1`,
    [after, size],
  );
  return row?.id ?? null;
}

export interface TypeToCheck {
  id: string;
  name: string;
  form: string;
  elements: string;
  wires: number;
  phases: number;
  designVolts: string;
  testAmperes: string;
  classAmperes: string;
  kh: string;
  kt: string | null;
}

const typeColumns = `id, maker || ' ' || model AS name, form, elements, wires, phases, design_volts::text AS "designVolts",
  test_amperes::text AS "testAmperes", class_amperes::text AS "classAmperes", kh::text, kt::text`;

/** Types by id; a shop has hundreds. */
export async function findTypesToCheck(source: Source, after: string, limit: number): Promise<TypeToCheck[]> {
  return await source.query(`SELECT ${typeColumns} FROM meter_type WHERE id > $1 ORDER BY id LIMIT $2`, [
    after,
    limit,
  ]);
}

export async function findTypeToCheck(source: Source, id: string): Promise<TypeToCheck[]> {
  return await source.query(`SELECT ${typeColumns} FROM meter_type WHERE id = $1`, [id]);
}

/** Keeps what was found of types, as of meters. */
export async function keepTypeFindings(
  tx: Tx,
  typeIds: readonly string[],
  found: readonly { key: string; typeId: string; facts: string }[],
): Promise<number> {
  const [row] = await tx.query<{ raised: number }>(
    `WITH found AS MATERIALIZED (SELECT * FROM unnest($2::text[], $3::uuid[], $4::text[]) AS f (key, type_id, facts)),
     raised AS (
       INSERT INTO inventory_flag (key, rule, type_id, facts) SELECT key, 'type-disagrees', type_id, facts FROM found f
       WHERE NOT EXISTS (SELECT FROM inventory_flag i WHERE i.key = f.key) ON CONFLICT (key) DO NOTHING RETURNING 1),
     back AS (UPDATE inventory_flag i SET state = 'open' FROM found f WHERE i.key = f.key AND i.state = 'gone' RETURNING 1),
     gone AS (
       UPDATE inventory_flag i SET state = 'gone' WHERE i.state = 'open' AND i.type_id = ANY ($1)
         AND NOT EXISTS (SELECT FROM found f WHERE f.key = i.key) RETURNING 1)
     SELECT ((SELECT count(*) FROM raised) + (SELECT count(*) FROM back))::int AS raised`,
    [
      typeIds,
      found.map(({ key }) => key),
      found.map(({ typeId }) => typeId),
      found.map(({ facts }) => facts),
    ],
  );
  return row?.raised ?? 0;
}

// ---------------------------------------------------------------------------------------------------------------
// Reading and settling

export interface FlagRow {
  number: number;
  rule: FlagRule;
  meter_id: string | null;
  utility_number: string;
  serial: string;
  type_id: string | null;
  type_name: string;
  facts: string;
  found_at: Date;
  state: InventoryFlag["state"];
  others: InventoryFlag["others"];
  settled_reason: string | null;
  settled_at: Date;
  settled_by_id: string | null;
  settled_by_name: string | null;
  settled_entry_id: string;
}

const flagSelect = `SELECT i.number, i.rule, i.meter_id, m.utility_number, m.serial, i.type_id, y.maker || ' ' || y.model AS type_name,
    i.facts, i.found_at, i.state,
    CASE WHEN i.rule = 'same-serial' THEN (
      SELECT coalesce(json_agg(json_build_object('id', o.id, 'utilityNumber', o.utility_number, 'maker', o.maker) ORDER BY o.id), '[]')
      FROM (SELECT * FROM meter o WHERE o.serial = m.serial AND o.id <> m.id ORDER BY o.id LIMIT 20) o) ELSE '[]' END AS others,
    s.reason AS settled_reason, s.recorded_at AS settled_at, s.actor_id AS settled_by_id, n.value AS settled_by_name,
    s.entry_id AS settled_entry_id
  FROM inventory_flag i LEFT JOIN meter m ON m.id = i.meter_id LEFT JOIN meter_type y ON y.id = i.type_id
  LEFT JOIN inventory_settlement s ON s.flag_number = i.number LEFT JOIN account a ON a.id = s.actor_id
  LEFT JOIN personal_value n ON n.id = a.name_id`;

/** Findings in the order in which they were found, by the index of state and number. */
export async function findFlags(
  source: Source,
  filter: {
    state: string;
    rule: string | undefined;
    meterId: string | undefined;
    after: number;
    limit: number;
  },
): Promise<FlagRow[]> {
  return await source.query<FlagRow>(
    `${flagSelect} WHERE i.state = $1 AND i.number > $2 AND ($3::text IS NULL OR i.rule = $3)
       AND ($4::uuid IS NULL OR i.meter_id = $4) ORDER BY i.number LIMIT $5`,
    [filter.state, filter.after, filter.rule ?? null, filter.meterId ?? null, filter.limit],
  );
}

export async function findFlag(source: Source, number: number): Promise<FlagRow | null> {
  const [row] = await source.query<FlagRow>(`${flagSelect} WHERE i.number = $1`, [number]);
  return row ?? null;
}

/** Locks a finding, so that two people settle it once. */
export async function lockFlag(tx: Tx, number: number): Promise<void> {
  await tx.query("SELECT FROM inventory_flag WHERE number = $1 FOR UPDATE", [number]);
}

export async function insertSettlement(
  tx: Tx,
  settlement: { id: string; number: number; reason: string },
  entryId: string,
): Promise<void> {
  await tx.query(
    "INSERT INTO inventory_settlement (id, flag_number, verdict, reason, entry_id) VALUES ($1, $2, 'right', $3, $4)",
    [settlement.id, settlement.number, settlement.reason, entryId],
  );
  await tx.query("UPDATE inventory_flag SET state = 'settled' WHERE number = $1", [settlement.number]);
}

export function settlementOf(row: FlagRow): InventoryFlag["settlement"] {
  return row.settled_reason === null
    ? null
    : {
        reason: row.settled_reason,
        at: row.settled_at.toISOString(),
        by: personRef(row.settled_by_id, row.settled_by_name),
        entryId: row.settled_entry_id,
      };
}

// ---------------------------------------------------------------------------------------------------------------
// Looks through the whole inventory

export interface CheckRow {
  number: number;
  asked_at: Date;
  finished_at: Date | null;
  found: number | null;
  failure: string | null;
}

export async function insertCheck(tx: Tx): Promise<number> {
  const [row] = await tx.query<{ number: number }>(
    "INSERT INTO inventory_check (finished_at) VALUES (NULL) RETURNING number",
  );
  if (row === undefined) throw new Error("an insert returns its row");
  return row.number;
}

export async function findNewestCheck(source: Source): Promise<CheckRow | null> {
  const [row] = await source.query<CheckRow>(
    "SELECT number, asked_at, finished_at, found, failure FROM inventory_check ORDER BY number DESC LIMIT 1",
  );
  return row ?? null;
}

export async function finishCheck(
  tx: Tx,
  number: number,
  end: { found: number | null; failure: string | null },
): Promise<void> {
  await tx.query(
    "UPDATE inventory_check SET finished_at = now_to_the_millisecond(), found = $2, failure = $3 WHERE number = $1",
    [number, end.found, end.failure],
  );
}
