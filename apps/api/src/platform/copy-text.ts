/** Bytes that are put together before they are sent: one row at a time would take many times as long. */
const pieceLength = 65_536;

/**
 * Rows in the text format of COPY, in pieces of some ten thousand characters.
 *
 * @param rows  cells of each row; null is SQL's null
 * @source PostgreSQL 18 documentation, COPY, "Text Format"
 * @example [...copyText([["a\tb", null]])] // ["a\\tb\t\\N\n"]
 */
export function* copyText(rows: Iterable<readonly (string | null)[]>): Generator<string> {
  let piece = "";
  for (const row of rows) {
    for (let index = 0; index < row.length; index++) {
      if (index > 0) piece += "\t";
      const cell = row[index] ?? null;
      piece += cell === null ? "\\N" : special.test(cell) ? cell.replace(specials, escaped) : cell;
    }
    piece += "\n";
    if (piece.length < pieceLength) continue;
    yield piece;
    piece = "";
  }
  if (piece !== "") yield piece;
}

const special = /[\\\t\n\r]/;
const specials = /[\\\t\n\r]/g;
const names: Readonly<Record<string, string>> = { "\\": "\\\\", "\t": "\\t", "\n": "\\n", "\r": "\\r" };

function escaped(character: string): string {
  return names[character] ?? character;
}
