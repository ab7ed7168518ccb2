import { parse } from "csv-parse/sync";
import { stripFormulaGuard } from "../../platform/formula-guard.ts";

/** One record of a file. A fault makes it a row to set aside; the records after it are read all the same. */
export interface FileRecord {
  /** Place among the records of the file; the headings are record 1, an empty line counts. */
  readonly number: number;
  readonly fields: readonly string[];
  readonly fault: { readonly code: "quote-misplaced" | "row-too-long"; readonly detail: string } | null;
}

export type Separator = "," | ";" | "\t" | "|";

const longestRecord = 65_536;
const mostLines = 200;

/**
 * The records of a CSV file, read as its bytes come. Empty lines are passed over.
 *
 * A stray quote would make a reader take the rest of the file for one cell. So a quoted cell that runs on over a line's
 * end is believed only if it closes within a few lines and the record then has as many cells as the headings; else the
 * line alone is at fault and reading goes on with the next one.
 *
 * @param pieces UTF-8 bytes, with or without byte order mark
 * @source RFC 4180 section 2; besides CRLF a lone LF or CR ends a line, and the separator is given
 */
export async function* readRecords(
  pieces: AsyncIterable<Uint8Array>,
  separator: Separator,
): AsyncGenerator<FileRecord> {
  const lines = readLines(pieces);
  const waiting: Line[] = [];
  const nextLine = async (): Promise<Line | null> => {
    const line = waiting.shift();
    if (line !== undefined) return line;
    const { value, done } = await lines.next();
    return done === true ? null : value;
  };
  let width: number | null = null;
  let number = 0;
  for (let line = await nextLine(); line !== null; line = await nextLine()) {
    number++;
    if (line.text === "") continue;
    const { fields, fault } = await readRecord(line, separator, width, nextLine, waiting);
    width ??= fields.length;
    yield { number, fields: fields.map(stripFormulaGuard), fault };
  }
}

async function readRecord(
  line: Line,
  separator: Separator,
  width: number | null,
  nextLine: () => Promise<Line | null>,
  waiting: Line[],
): Promise<Omit<FileRecord, "number">> {
  if (line.text.length > longestRecord) {
    const detail = `This row has more than ${longestRecord} characters; shorten it.`;
    return { fields: [line.text.slice(0, 200)], fault: { code: "row-too-long", detail } };
  }
  if (!line.text.includes('"')) return { fields: line.text.split(separator), fault: null };

  const taken: Line[] = [];
  let text = line.text;
  let open = hasOpenQuote(line.text);
  let ending = line.ending;
  while (open && taken.length < mostLines && text.length < longestRecord) {
    const more = await nextLine();
    if (more === null) break;
    taken.push(more);
    text += ending + more.text;
    ending = more.ending;
    open = hasOpenQuote(more.text) !== open;
  }
  const fields = open ? null : parseRecord(text, separator);
  if (fields !== null && (taken.length === 0 || width === null || fields.length === width)) {
    return { fields, fault: null };
  }
  waiting.unshift(...taken);
  return {
    fields: line.text.split(separator),
    fault: {
      code: "quote-misplaced",
      detail:
        'A quotation mark stands in a cell that is not quoted, or a quoted cell does not end. Put the whole cell in quotes and write each mark inside it twice, as in "12"" disk".',
    },
  };
}

/** Whether a text has an odd number of quotes: then a quoted cell is open at its end, as quotes inside are doubled. */
function hasOpenQuote(text: string): boolean {
  let open = false;
  for (let at = text.indexOf('"'); at >= 0; at = text.indexOf('"', at + 1)) open = !open;
  return open;
}

function parseRecord(text: string, separator: Separator): string[] | null {
  try {
    const records: string[][] = parse(text, {
      delimiter: separator,
      record_delimiter: ["\r\n", "\n", "\r"],
      relax_column_count: true,
    });
    const [first] = records;
    return first !== undefined && records.length === 1 ? first : null;
  } catch {
    return null;
  }
}

interface Line {
  readonly text: string;
  readonly ending: "\r\n" | "\n" | "\r" | "";
}

async function* readLines(pieces: AsyncIterable<Uint8Array>): AsyncGenerator<Line> {
  const decoder = new TextDecoder("utf-8", { fatal: true });
  let rest = "";
  const takeLines = function* (isLast: boolean): Generator<Line> {
    const endings = /\r\n|\n|\r/g;
    let from = 0;
    for (let match = endings.exec(rest); match !== null; match = endings.exec(rest)) {
      // A return at the very end of a piece may be the first half of a CRLF.
      if (!isLast && match[0] === "\r" && endings.lastIndex === rest.length) break;
      yield { text: rest.slice(from, match.index), ending: match[0] as Line["ending"] };
      from = endings.lastIndex;
    }
    rest = rest.slice(from);
  };
  for await (const piece of pieces) {
    rest += decoder.decode(piece, { stream: true });
    yield* takeLines(false);
  }
  rest += decoder.decode();
  yield* takeLines(true);
  if (rest !== "") yield { text: rest, ending: "" };
}
