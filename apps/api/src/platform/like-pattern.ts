/** Text as LIKE takes it literally. */
function literal(text: string): string {
  return text.replace(/[\\%_]/g, "\\$&");
}

/**
 * Pattern of LIKE for a text anywhere in another.
 *
 * @example likePart("50%") // "%50\\%%"
 */
export function likePart(text: string): string {
  return `%${literal(text)}%`;
}

/**
 * Pattern of LIKE for a text at the beginning of another.
 *
 * @example likeBeginning("A_1") // "A\\_1%"
 */
function likeBeginning(text: string): string {
  return `${literal(text)}%`;
}

/**
 * A text as typed, in capitals and in small letters, each once: an index that compares byte by byte finds a beginning in
 * one case alone.
 */
export function caseVariants(text: string): string[] {
  return [...new Set([text, text.toUpperCase(), text.toLowerCase()])];
}

/**
 * SQL for a column, compared byte by byte, that begins with the value of an expression: a range of its index, because LIKE
 * uses an index only for a pattern that is known before the query runs. Nothing sorts behind the last code point.
 */
export function begins(column: string, beginning: string): string {
  return `(${column} >= ${beginning} AND ${column} < ${beginning} || chr(1114111))`;
}

/**
 * SQL for columns of numbers (utility numbers, serials) of which one holds a text, in any case. A trigram index finds
 * three characters and more anywhere; one or two match the beginning alone, which the column's own index finds.
 *
 * @param bind takes a value and gives its place in the query
 */
export function numberHolds(
  columns: readonly string[],
  text: string,
  bind: (value: unknown) => string,
): string {
  const [operator, patterns] =
    [...text].length >= 3 ? ["ILIKE", [likePart(text)]] : ["LIKE", caseVariants(text).map(likeBeginning)];
  const places = patterns.map(bind);
  const each = columns.flatMap((column) => places.map((place) => `${column} ${operator} ${place}`));
  return `(${each.join(" OR ")})`;
}
