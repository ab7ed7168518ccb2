import { readFileSync } from "node:fs";
import { z } from "zod";

/** Lines of a data file beside these tests, without its "#" header of provenance. */
export function dataLines(name: string): string[] {
  const text = readFileSync(new URL(`data/${name}`, import.meta.url), "utf8");
  return text.split("\n").filter((line) => line !== "" && !line.startsWith("#"));
}

/**
 * Rows of a comma-separated data file, each by its column names. No cell holds a comma.
 *
 * @param name file name under data/
 * @returns one record a row
 */
export function readTable(name: string): Record<string, string>[] {
  const [header, ...rows] = dataLines(name);
  if (header === undefined || rows.length === 0) throw new Error(`${name} has no rows`);
  const columns = header.split(",");
  return rows.map((row) => {
    const cells = row.split(",");
    if (cells.length !== columns.length) throw new Error(`${name}: a row has ${cells.length} cells: ${row}`);
    return Object.fromEntries(columns.map((column, place) => [column, cells[place] ?? ""]));
  });
}

/** A check case: its identifier, what goes in, what must come out, and where that is printed. */
export interface OpenCase<Input, Expected> {
  id: string;
  input: Input;
  expected: Expected;
  source: string;
}

const caseSchema = z.looseObject({ id: z.string(), topic: z.string(), source: z.string() });

/**
 * The open cases of one topic, or of the identifiers that begin with a text.
 *
 * @param topic topic of the cases
 * @param input shape of what goes in
 * @param expected shape of what must come out
 * @param idPrefix only cases whose identifier begins so
 * @returns the cases, at least one
 */
export function readOpenCases<Input, Expected>(
  topic: string,
  input: z.ZodType<Input>,
  expected: z.ZodType<Expected>,
  idPrefix = "",
): OpenCase<Input, Expected>[] {
  const schema = z.looseObject({ input, expected });
  const cases = dataLines("open-cases.jsonl")
    .map((line) => caseSchema.parse(JSON.parse(line)))
    .filter((one) => one.topic === topic && one.id.startsWith(idPrefix))
    .map((one) => {
      const parsed = schema.parse(one);
      return {
        id: one.id,
        source: one.source,
        input: parsed.input as Input,
        expected: parsed.expected as Expected,
      };
    });
  if (cases.length === 0) throw new Error(`no open case of ${topic} ${idPrefix}`);
  return cases;
}
