/**
 * SQL for a place in words: a service point's name is its number alone, which says nothing by itself.
 *
 * @param place  alias of the table place in the query
 */
export function placeWords(place: string): string {
  return `(CASE WHEN ${place}.kind = 'service-point' THEN 'service point ' ELSE '' END || ${place}.name)`;
}
