import type { GroupYear, Programme, Pull } from "@sealbook/contract/groups";
import type { SeedSource, SeedTerms } from "@sealbook/contract/sampling";
import type { InventoryCell } from "@sealbook/metrology/sampling/decision/form-groups";
import { z } from "zod";
import { personRef } from "../../platform/person-ref.ts";
import { erasedText } from "../../platform/personal-values.ts";
import type { Source, Tx } from "../../platform/transaction.ts";

// ---------------------------------------------------------------------------------------------------------------
// The inventory in service

/** Meters of the utility in service under these rules. */
const eligible = `m.state = 'in-service' AND m.owner = 'utility' AND ($1::text IS NULL OR sp.jurisdiction = $1)`;

/** What a scheme tells groups apart by; what it does not is left out, so that cells stay few. */
export interface Rules {
  jurisdiction: string | null;
  years: boolean;
  firmware: boolean;
  area: boolean;
}

export async function findInventory(source: Source, rules: Rules): Promise<InventoryCell[]> {
  return await source.query(
    `SELECT y.id AS "typeId", y.maker || ' ' || y.model AS type, y.form, y.technology,
       CASE WHEN $2 THEN extract(year FROM m.purchased_on)::int END AS year,
       CASE WHEN $3 THEN m.firmware ELSE '' END AS firmware, CASE WHEN $4 THEN sp.area END AS area, count(*)::int AS meters
     FROM meter m JOIN meter_type y ON y.id = m.type_id LEFT JOIN service_point sp ON sp.id = m.place_id
     WHERE ${eligible} GROUP BY 1, 2, 3, 4, 5, 6, 7 ORDER BY 2, 1, 5, 6, 7`,
    [rules.jurisdiction, rules.years, rules.firmware, rules.area],
  );
}

/** Meters in service that no rule looks at, with the reason. */
export async function findOutside(
  source: Source,
  jurisdiction: string | null,
): Promise<{ reason: string; meters: number }[]> {
  return await source.query(
    `SELECT reason, count(*)::int AS meters FROM (
       SELECT CASE WHEN m.owner <> 'utility' THEN 'Owned by the customer' ELSE 'In another jurisdiction' END AS reason
       FROM meter m LEFT JOIN service_point sp ON sp.id = m.place_id
       WHERE m.state = 'in-service' AND (m.owner <> 'utility' OR ($1::text IS NOT NULL AND sp.jurisdiction IS DISTINCT FROM $1))
     ) o GROUP BY reason ORDER BY reason`,
    [jurisdiction],
  );
}

/**
 * Meters of some cells that stand in no lot of a programme yet, by purchase date and number, so that the parts of a split
 * are alike within.
 */
export async function findMetersOf(
  source: Source,
  rules: Rules,
  cells: readonly Pick<InventoryCell, "typeId" | "year" | "firmware" | "area">[],
  programmeId: string,
): Promise<string[]> {
  const rows = await source.query<{ id: string }>(
    `SELECT m.id FROM meter m LEFT JOIN service_point sp ON sp.id = m.place_id
     JOIN unnest($5::uuid[], $6::int[], $7::text[], $8::text[]) AS c (type_id, year, firmware, area)
       ON c.type_id = m.type_id AND (NOT $2 OR c.year IS NOT DISTINCT FROM extract(year FROM m.purchased_on)::int)
       AND (NOT $3 OR c.firmware = m.firmware) AND (NOT $4 OR c.area IS NOT DISTINCT FROM sp.area)
     WHERE ${eligible} AND NOT EXISTS (SELECT FROM lot_member b JOIN lot l ON l.id = b.lot_id
       WHERE b.meter_id = m.id AND l.programme_id = $9 AND l.state <> 'withdrawn')
     ORDER BY m.purchased_on NULLS FIRST, m.utility_number, m.id`,
    [
      rules.jurisdiction,
      rules.years,
      rules.firmware,
      rules.area,
      cells.map(({ typeId }) => typeId),
      cells.map(({ year }) => year),
      cells.map(({ firmware }) => firmware),
      cells.map(({ area }) => area),
      programmeId,
    ],
  );
  return rows.map(({ id }) => id);
}

/**
 * Series from which a lot of these meters goes on besides its own: those in which they were last sampled under the scheme,
 * where either the other has no lot of its own this year, so that it ends here, or this one has had none since, so that it
 * begins or begins again. A series that goes on beside this one does not follow a meter that strayed from it.
 *
 * @param seriesOfYear series that have their lot this year
 */
export async function findParents(
  source: Source,
  lot: { schemeCode: string; series: string; year: number },
  seriesOfYear: readonly string[],
  meterIds: readonly string[],
): Promise<string[]> {
  const rows = await source.query<{ series: string }>(
    `WITH last AS (
       SELECT DISTINCT ON (b.meter_id) l.series, l.year FROM lot_member b JOIN lot l ON l.id = b.lot_id
       WHERE b.meter_id = ANY ($1) AND l.kind = 'in-service' AND l.scheme_code = $2 AND l.year < $4 AND l.state <> 'withdrawn'
       ORDER BY b.meter_id, l.year DESC, l.created_at DESC, l.id DESC
     ), other AS (SELECT series, max(year) AS year FROM last WHERE series <> $3 GROUP BY series)
     SELECT series FROM other o
     WHERE NOT o.series = ANY ($5)
       OR NOT EXISTS (SELECT FROM lot w WHERE w.series = $3 AND w.scheme_code = $2 AND w.state <> 'withdrawn'
         AND w.year >= o.year AND w.year < $4)
     ORDER BY series`,
    [meterIds, lot.schemeCode, lot.series, lot.year, seriesOfYear],
  );
  return rows.map((row) => row.series);
}

/** Meters of a group that are still in service, and how many it had. */
export async function findStillInService(
  source: Source,
  lotId: string,
): Promise<{ meterIds: string[]; of: number }> {
  const rows = await source.query<{ id: string; still: boolean }>(
    `SELECT m.id, m.state = 'in-service' AND m.owner = 'utility' AS still FROM lot_member b JOIN meter m ON m.id = b.meter_id
     WHERE b.lot_id = $1 ORDER BY m.utility_number, m.id`,
    [lotId],
  );
  return { meterIds: rows.filter(({ still }) => still).map(({ id }) => id), of: rows.length };
}

/** How many second tries of a lot are on record, those given up included. */
export async function countSecondTries(source: Source, lotId: string): Promise<number> {
  const [row] = await source.query<{ tries: number }>(
    "SELECT count(*)::int AS tries FROM lot WHERE second_try_of_id = $1",
    [lotId],
  );
  return row?.tries ?? 0;
}

// ---------------------------------------------------------------------------------------------------------------
// Programmes

interface ProgrammeRow {
  id: string;
  year: number;
  name: string;
  scheme_id: string;
  scheme_code: string;
  scheme_revision: number;
  scheme_name: string;
  seed_source: SeedSource;
  announcement: string | null;
  not_before: Date | null;
  due_on: string;
  state: Programme["state"];
  seed: string | null;
  left_out: string;
  progress_done: number;
  progress_total: number | null;
  cancel_asked: boolean;
  failure: string | null;
  created_at: Date;
  actor_id: string | null;
  actor_name: string | null;
  version: number;
  entry_id: string;
  areas: string[];
}

export const leftOutSchema = z.array(z.object({ reason: z.string(), meters: z.int() }));

const programmeSelect = `SELECT p.id, p.year, p.name, p.scheme_id, p.scheme_code, s.revision AS scheme_revision, s.name AS scheme_name,
    p.seed_source, p.announcement, p.not_before, p.due_on, p.state, p.seed, p.left_out, p.progress_done, p.progress_total,
    p.cancel_asked, p.failure, p.created_at, p.actor_id, v.value AS actor_name, p.version, p.entry_id,
    ARRAY(SELECT DISTINCT sp.area FROM lot l JOIN draw_list dl ON dl.lot_id = l.id JOIN draw d ON d.list_id = dl.id
      JOIN draw_unit u ON u.draw_id = d.id JOIN meter m ON m.id = u.meter_id JOIN service_point sp ON sp.id = m.place_id
      WHERE l.programme_id = p.id ORDER BY 1) AS areas
  FROM programme p JOIN sampling_scheme s ON s.id = p.scheme_id
  LEFT JOIN account a ON a.id = p.actor_id LEFT JOIN personal_value v ON v.id = a.name_id`;

export type StoredProgramme = Omit<Programme, "counts"> & { seedGiven: string | null; cancelAsked: boolean };

function toProgramme(row: ProgrammeRow): StoredProgramme {
  return {
    id: row.id,
    year: row.year,
    name: row.name,
    scheme: {
      id: row.scheme_id,
      code: row.scheme_code,
      revision: row.scheme_revision,
      name: row.scheme_name,
    },
    seed: {
      source: row.seed_source,
      announcement: row.announcement,
      notBefore: row.not_before?.toISOString() ?? null,
    },
    seedGiven: row.seed,
    dueOn: row.due_on,
    state: row.state,
    progress: { done: row.progress_done, total: row.progress_total },
    failure: row.failure,
    cancelAsked: row.cancel_asked,
    leftOut: leftOutSchema.parse(JSON.parse(row.left_out)),
    areas: row.areas,
    createdAt: row.created_at.toISOString(),
    createdBy: personRef(row.actor_id, row.actor_name),
    version: row.version,
    entryId: row.entry_id,
  };
}

/** Programmes by year, newest first, ties by id. */
export async function findProgrammes(
  source: Source,
  filter: { after: { year: number; id: string } | null; limit: number },
): Promise<StoredProgramme[]> {
  const rows = await source.query<ProgrammeRow>(
    `${programmeSelect} WHERE $1::int IS NULL OR (p.year, p.id) < ($1, $2::uuid) ORDER BY p.year DESC, p.id DESC LIMIT $3`,
    [filter.after?.year ?? null, filter.after?.id ?? null, filter.limit],
  );
  return rows.map(toProgramme);
}

export async function findProgramme(source: Source, id: string): Promise<StoredProgramme | null> {
  const [row] = await source.query<ProgrammeRow>(`${programmeSelect} WHERE p.id = $1`, [id]);
  return row === undefined ? null : toProgramme(row);
}

/** Locks a programme until the transaction ends. */
export async function lockProgramme(tx: Tx, id: string): Promise<StoredProgramme | null> {
  await tx.query("SELECT 1 FROM programme WHERE id = $1 FOR UPDATE", [id]);
  return await findProgramme(tx, id);
}

export async function insertProgramme(
  tx: Tx,
  programme: {
    id: string;
    year: number;
    name: string;
    schemeId: string;
    schemeCode: string;
    seed: SeedTerms;
    dueOn: string;
  },
  entryId: string,
): Promise<void> {
  await tx.query(
    `INSERT INTO programme (id, year, name, scheme_id, scheme_code, seed_source, announcement, not_before, due_on, entry_id)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`,
    [
      programme.id,
      programme.year,
      programme.name,
      programme.schemeId,
      programme.schemeCode,
      programme.seed.source,
      programme.seed.announcement,
      programme.seed.notBefore,
      programme.dueOn,
      entryId,
    ],
  );
}

/** Moves a programme on, with the entry that says why; what is undefined stays. */
export async function moveProgramme(
  tx: Tx,
  id: string,
  change: {
    state?: Programme["state"];
    seed?: string | null;
    failure?: string | null;
    cancelAsked?: boolean;
    progress?: { done: number; total: number | null };
  },
  entryId: string,
): Promise<void> {
  await tx.query(
    `UPDATE programme SET state = coalesce($2, state), seed = coalesce($3, seed),
       failure = CASE WHEN $4 THEN $5 ELSE failure END, cancel_asked = coalesce($6, cancel_asked),
       progress_done = CASE WHEN $7 THEN $8::int ELSE progress_done END,
       progress_total = CASE WHEN $7 THEN $9::int ELSE progress_total END,
       entry_id = $10, version = version + 1 WHERE id = $1`,
    [
      id,
      change.state ?? null,
      change.seed ?? null,
      change.failure !== undefined,
      change.failure ?? null,
      change.cancelAsked ?? null,
      change.progress !== undefined,
      change.progress?.done ?? null,
      change.progress?.total ?? null,
      entryId,
    ],
  );
}

/** Moves the progress of a job, which follows from what it wrote and needs no entry of its own. */
export async function moveProgress(
  tx: Tx,
  id: string,
  progress: { done: number; total: number | null },
  leftOut: readonly { reason: string; meters: number }[] | null,
): Promise<void> {
  await tx.query(
    `UPDATE programme SET progress_done = $2, progress_total = $3, left_out = coalesce($4, left_out) WHERE id = $1`,
    [id, progress.done, progress.total, leftOut === null ? null : JSON.stringify(leftOut)],
  );
}

/** Lots that a programme formed with their newest lists, by number; second tries are no part of its jobs. */
export async function findLotsOf(
  source: Source,
  programmeId: string,
): Promise<{ id: string; number: string; series: string; state: string; list_id: string | null }[]> {
  return await source.query(
    `SELECT l.id, l.number, l.series, l.state,
       (SELECT dl.id FROM draw_list dl WHERE dl.lot_id = l.id ORDER BY dl.ordinal DESC LIMIT 1) AS list_id
     FROM lot l WHERE l.programme_id = $1 AND l.second_try_of_id IS NULL ORDER BY l.number`,
    [programmeId],
  );
}

// ---------------------------------------------------------------------------------------------------------------
// Pull lists

export interface PullFilter {
  area: string | null;
  onlyOpen: boolean;
  after: [area: string, point: string, number: string, meterId: string, lotId: string] | null;
  limit: number;
}

interface PullRow {
  lot_id: string;
  lot_number: string;
  lot_title: string;
  position: number;
  place: number | null;
  meter_id: string;
  utility_number: string;
  serial: string;
  form: string;
  service_point: string | null;
  area: string | null;
  address: string | null;
  state: Pull["state"];
  due_on: string | null;
}

/**
 * Sampled meters of a programme by area, service point and number, ties by meter and lot: those of each lot's newest draw,
 * spares only once they are called up.
 */
export async function findPulls(source: Source, programmeId: string, filter: PullFilter): Promise<Pull[]> {
  const rows = await source.query<PullRow>(
    `SELECT * FROM (
       SELECT l.id AS lot_id, l.number AS lot_number, l.title AS lot_title, u.position,
         CASE WHEN u.spare THEN c.place ELSE u.position END AS place, m.id AS meter_id, m.utility_number, m.serial, y.form,
         sp.number AS service_point, sp.area, CASE WHEN sp.id IS NULL THEN NULL ELSE coalesce(v.value, $8) END AS address,
         CASE
           WHEN o.ordinal IS NOT NULL THEN CASE WHEN EXISTS (
             SELECT FROM standing_draw_event n WHERE n.draw_id = u.draw_id AND n.kind = 'called-up' AND n.ordinal > o.ordinal
               AND n.place = CASE WHEN u.spare THEN c.place ELSE u.position END) THEN 'replaced' ELSE 'left-out' END
           WHEN t.outcome = 'tested' THEN 'tested'
           WHEN t.outcome IS NOT NULL THEN 'no-test-possible'
           ELSE coalesce(f.kind, 'waiting')
         END AS state, l.due_on
       FROM lot l
       JOIN LATERAL (SELECT dr.id, dr.drawn_at FROM draw_list dl JOIN draw dr ON dr.list_id = dl.id
         WHERE dl.lot_id = l.id ORDER BY dl.ordinal DESC LIMIT 1) d ON true
       JOIN draw_unit u ON u.draw_id = d.id JOIN meter m ON m.id = u.meter_id JOIN meter_type y ON y.id = m.type_id
       LEFT JOIN service_point sp ON sp.id = m.place_id LEFT JOIN personal_value v ON v.id = sp.address_id
       LEFT JOIN standing_draw_event c ON c.draw_id = u.draw_id AND c.position = u.position AND c.kind = 'called-up'
       LEFT JOIN standing_draw_event o ON o.draw_id = u.draw_id AND o.position = u.position
         AND o.kind IN ('not-reached', 'moved', 'retired', 'left-out')
       LEFT JOIN LATERAL (SELECT e.kind FROM standing_draw_event e WHERE e.draw_id = u.draw_id AND e.position = u.position
         AND e.kind IN ('asked', 'pulled', 'received') ORDER BY e.ordinal DESC LIMIT 1) f ON true
       LEFT JOIN LATERAL (SELECT t.outcome FROM meter_test t WHERE t.meter_id = u.meter_id AND t.performed_at >= d.drawn_at
         AND t.outcome <> 'withdrawn' AND 'in-service-sample' = ANY (t.reasons)
         AND NOT EXISTS (SELECT FROM meter_test n WHERE n.supersedes_id = t.id) ORDER BY t.performed_at, t.id LIMIT 1) t ON true
       WHERE l.programme_id = $1 AND (NOT u.spare OR c.place IS NOT NULL)
     ) p
     WHERE ($2::text IS NULL OR p.area = $2) AND (NOT $3 OR p.state IN ('waiting', 'asked', 'pulled', 'received'))
       AND ($4::text IS NULL OR (coalesce(p.area, ''), coalesce(p.service_point, ''), p.utility_number, p.meter_id, p.lot_id)
         > ($4, $5, $6, $7::uuid, $10::uuid))
     ORDER BY coalesce(p.area, ''), coalesce(p.service_point, ''), p.utility_number, p.meter_id, p.lot_id LIMIT $9`,
    [
      programmeId,
      filter.area,
      filter.onlyOpen,
      filter.after?.[0] ?? null,
      filter.after?.[1] ?? null,
      filter.after?.[2] ?? null,
      filter.after?.[3] ?? null,
      erasedText,
      filter.limit,
      filter.after?.[4] ?? null,
    ],
  );
  return rows.map((row) => ({
    lotId: row.lot_id,
    lotNumber: row.lot_number,
    lotTitle: row.lot_title,
    position: row.position,
    place: row.place,
    meterId: row.meter_id,
    utilityNumber: row.utility_number,
    serial: row.serial,
    form: row.form,
    servicePoint: row.service_point,
    area: row.area,
    address: row.address,
    state: row.state,
    dueOn: row.due_on,
  }));
}

// ---------------------------------------------------------------------------------------------------------------
// Year against year

interface GroupYearRow {
  series: string;
  title: string;
  scheme_code: string;
  characteristic: GroupYear["characteristic"];
  year: number;
  lot_id: string;
  lot_number: string;
  lot_size: number;
  n: number;
  mean: number | null;
  s: number | null;
  percent: number;
  estimated: boolean;
  outcome: GroupYear["outcome"];
  since_year: number | null;
  mean_before: number | null;
  s_before: number | null;
  percent_before: number;
}

/**
 * Decided groups by series, characteristic, year and lot, each beside the year before it. Of a group that was decided by a
 * second try that one stands here.
 */
export async function findGroupYears(
  source: Source,
  filter: {
    schemeCode: string | null;
    series: string | null;
    after: [series: string, characteristic: string, year: number, lotId: string] | null;
    limit: number;
  },
): Promise<GroupYearRow[]> {
  return await source.query<GroupYearRow>(
    `SELECT * FROM (
       SELECT y.*, lag(y.year) OVER w AS since_year, lag(y.mean) OVER w AS mean_before, lag(y.s) OVER w AS s_before,
         lag(y.percent) OVER w AS percent_before
       FROM (
         SELECT l.series, l.title, l.scheme_code, c ->> 'characteristic' AS characteristic, l.year, l.id AS lot_id,
           l.number AS lot_number, l.size AS lot_size, (c ->> 'counted')::int AS n, (c ->> 'mean')::float8 AS mean,
           (c ->> 's')::float8 AS s, g.estimated, k.outcome,
           CASE WHEN g.estimated THEN (c -> 'estimate' ->> 'p')::float8
             WHEN (c ->> 'counted')::int = 0 THEN 0
             ELSE 100.0 * (c ->> 'nonconforming')::int / (c ->> 'counted')::int END AS percent
         FROM decision k JOIN lot l ON l.id = k.lot_id JOIN lot_plan p ON p.lot_id = l.id
         CROSS JOIN LATERAL jsonb_array_elements(k.evaluation::jsonb -> 'characteristics') c
         CROSS JOIN LATERAL (SELECT c ->> 'characteristic' AS name) i
         CROSS JOIN LATERAL (
           SELECT q -> 'plan' ->> 'kind' = 'variables' AND NOT (q -> 'plan' ->> 'allInspected')::boolean
             AND jsonb_typeof(c -> 'estimate') = 'object' AS estimated
           FROM jsonb_array_elements(p.body::jsonb -> 'characteristics') q WHERE q ->> 'characteristic' = i.name
         ) g
         WHERE l.kind = 'in-service' AND l.disposition IS DISTINCT FROM 'tried-again' AND ($1::text IS NULL OR l.scheme_code = $1) AND ($2::text IS NULL OR l.series = $2)
       ) y WINDOW w AS (PARTITION BY y.scheme_code, y.series, y.characteristic ORDER BY y.year, y.lot_id)
     ) z
     WHERE $3::text IS NULL OR (series, characteristic, year, lot_id) > ($3, $4::text, $5::int, $6::uuid)
     ORDER BY series, characteristic, year, lot_id LIMIT $7`,
    [
      filter.schemeCode,
      filter.series,
      filter.after?.[0] ?? null,
      filter.after?.[1] ?? null,
      filter.after?.[2] ?? null,
      filter.after?.[3] ?? null,
      filter.limit,
    ],
  );
}
