/**
 * SQL for the places that a table's column `place` names: an open place of the utility's own by its name, a service
 * point by its number. One row a name, with how many there are (0, 1, or 2 for more) and one of them.
 */
export function placesNamed(table: string): string {
  return `SELECT d.place, p.found, p.id, p.kind
    FROM (SELECT DISTINCT place FROM ${table} WHERE place IS NOT NULL) d, LATERAL (
      SELECT count(*) AS found, (array_agg(id))[1] AS id, (array_agg(kind))[1] AS kind FROM (
        (SELECT id, 'service-point' AS kind FROM service_point WHERE number = d.place LIMIT 1)
        UNION ALL (SELECT id, kind FROM place WHERE kind <> 'service-point' AND name = d.place AND NOT closed LIMIT 2)
      ) named
    ) p`;
}
