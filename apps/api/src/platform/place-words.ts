/**
 * SQL for a place in words: a service point's name is its number alone, and a shelf's its own within its store, which say
 * nothing by themselves.
 *
 * @param place  alias of the table place in the query
 */
export function placeWords(place: string): string {
  return `(CASE WHEN ${place}.kind = 'service-point' THEN 'service point ' ELSE '' END || ${placeFullName(place)})`;
}

/** SQL for a place's name, a shelf's after that of its store. */
export function placeFullName(place: string): string {
  return `(CASE WHEN ${place}.kind = 'shelf' THEN (SELECT around.name || ', ' FROM place around WHERE around.id = ${place}.parent_id) ELSE '' END || ${place}.name)`;
}
