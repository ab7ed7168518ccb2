import type pg from "pg";

/** One count of a summary, found by SQL alone. */
export interface CountBySql {
  dimension: "all" | "type" | "reason" | "phase";
  key: string;
  pass: "asFound";
  measure: "fullLoad" | "lightLoad" | "powerFactor" | "average";
  /** Place of the class: not recording, creeping, Michigan's twelve bands from the lowest, no test possible, not measured. */
  place: number;
  count: number;
}

/**
 * The counts of a year's summary by SQL written by hand, apart from the service's own way: PostgreSQL rounds (numeric,
 * half away from zero), compares with the bands as Michigan's rule prints them, and groups.
 *
 * @source R 460.3617(2) of the Michigan Administrative Code as it stood before 10 April 2023, read at
 *   http://mirules.elaws.us/rule/r460.3617
 */
export async function countsBySql(
  pool: Pick<pg.Pool, "query">,
  terms: { profileKey: string; from: string; to: string; timeZone: string; cutoff: Date },
): Promise<CountBySql[]> {
  const { rows } = await pool.query<CountBySql>(
    `WITH test AS (
       SELECT t.id, m.type_id, y.phases, t.reasons, t.creeping, t.untestable_reason, t.average_as_found
       FROM meter_test t JOIN meter m ON m.id = t.meter_id JOIN meter_type y ON y.id = m.type_id
       JOIN rule_profile r ON r.id = t.profile_id
       WHERE r.key = $1 AND (t.performed_at AT TIME ZONE $4)::date BETWEEN $2::date AND $3::date AND t.recorded_at <= $5
         AND t.outcome <> 'withdrawn'
         AND NOT EXISTS (SELECT FROM meter_test n WHERE n.supersedes_id = t.id AND n.recorded_at <= $5)
     ), load AS (
       SELECT test_id, role, max(registration_percent) AS value FROM meter_test_point
       WHERE pass = 'as-found' GROUP BY test_id, role
     ), reading AS (
       SELECT t.*, 'average' AS measure, t.average_as_found AS value FROM test t
       UNION ALL
       SELECT t.*, w.measure, l.value
       FROM test t
       CROSS JOIN (VALUES ('fullLoad', 'full-load'), ('lightLoad', 'light-load'), ('powerFactor', 'power-factor')) w (measure, role)
       LEFT JOIN load l ON l.test_id = t.id AND l.role = w.role
     ), classed AS (
       SELECT type_id, phases, reasons, measure, CASE
         WHEN untestable_reason IN ('not-registering', 'dead') THEN 0
         WHEN untestable_reason IS NOT NULL THEN 14
         WHEN value IS NULL THEN 15
         WHEN value = 0 THEN 0
         WHEN creeping THEN 1
         WHEN round(value, 1) <= 94.0 THEN 2
         WHEN round(value, 1) <= 96.0 THEN 3
         WHEN round(value, 1) <= 97.0 THEN 4
         WHEN round(value, 1) <= 98.0 THEN 5
         WHEN round(value, 1) <= 99.0 THEN 6
         WHEN round(value, 1) <= 100.0 THEN 7
         WHEN round(value, 1) <= 101.0 THEN 8
         WHEN round(value, 1) <= 102.0 THEN 9
         WHEN round(value, 1) <= 103.0 THEN 10
         WHEN round(value, 1) <= 104.0 THEN 11
         WHEN round(value, 1) <= 106.0 THEN 12
         ELSE 13 END AS place
       FROM reading
     )
     SELECT dimension, key, 'asFound' AS pass, measure, place, sum(n)::int AS count
     FROM (SELECT type_id, phases, reasons, measure, place, count(*) AS n FROM classed GROUP BY 1, 2, 3, 4, 5) c
     CROSS JOIN LATERAL (
       SELECT 'all' AS dimension, '' AS key
       UNION ALL SELECT 'type', c.type_id::text
       UNION ALL SELECT 'phase', CASE WHEN c.phases = 1 THEN 'single-phase' ELSE 'polyphase' END
       UNION ALL SELECT 'reason', unnest(c.reasons)
     ) d
     GROUP BY dimension, key, measure, place`,
    [terms.profileKey, terms.from, terms.to, terms.timeZone, terms.cutoff],
  );
  return rows;
}
