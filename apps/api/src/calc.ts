import { once } from "node:events";
import type { Readable, Writable } from "node:stream";
import { pathToFileURL } from "node:url";
import { calculate, calculations, findCalculation } from "@sealbook/contract/calc";
import type { Calculation } from "@sealbook/contract/calculation";
import { calculationHelp } from "@sealbook/contract/calculation-help";

/**
 * A longer line is refused, so that a file without line ends cannot fill the memory. A list of a million serial
 * numbers to draw from fits.
 */
export const longestLineBytes = 64 * 1024 * 1024;

const usage = `Usage: calc NAME < lines.jsonl
Reads one JSON object a line and writes one JSON object a line: the result, or {"error": "..."}.
Exit status: 0 when every line was computed, 1 when a line was refused, 2 for a wrong command.
calc --help lists all names with their fields, calc NAME --help those of one.
`;

/**
 * Computes every line of a stream and writes one line for each, in order.
 *
 * @param calculation what to compute
 * @param input bytes, lines ended by LF or CR LF; the last line may lack its end
 * @param output where the JSON lines go; a slow reader slows the computing down
 * @returns how many lines were refused
 */
export async function calculateLines(
  calculation: Calculation,
  input: Readable,
  output: Writable,
): Promise<number> {
  let refused = 0;
  const answer = async (line: Buffer | null) => {
    const outcome = line === null ? tooLong : outcomeOf(calculation, line.toString("utf8"));
    if (typeof outcome.error === "string") refused += 1;
    if (!output.write(`${JSON.stringify(outcome)}\n`)) await once(output, "drain");
  };

  // `pending` holds the beginning of a line whose end has not come yet; null once that line is too long to keep.
  let pending: Buffer[] | null = [];
  let pendingBytes = 0;
  for await (const chunk of input as AsyncIterable<Buffer | string>) {
    let rest = typeof chunk === "string" ? Buffer.from(chunk) : chunk;
    for (let end = rest.indexOf(0x0a); end >= 0; end = rest.indexOf(0x0a)) {
      const tail = rest.subarray(0, end);
      const fits = pending !== null && pendingBytes + tail.length <= longestLineBytes;
      await answer(fits && pending !== null ? Buffer.concat([...pending, tail]) : null);
      pending = [];
      pendingBytes = 0;
      rest = rest.subarray(end + 1);
    }
    pendingBytes += rest.length;
    if (pendingBytes > longestLineBytes) pending = null;
    else if (rest.length > 0) pending?.push(rest);
  }
  if (pendingBytes > 0) await answer(pending === null ? null : Buffer.concat(pending));
  return refused;
}

const tooLong = { error: `A line has at most ${longestLineBytes} bytes.` };

function outcomeOf(calculation: Calculation, line: string): Record<string, unknown> {
  let value: unknown;
  try {
    value = JSON.parse(line);
  } catch {
    return { error: "Not a JSON object on one line." };
  }
  return { ...calculate(calculation, value) };
}

/**
 * The command line: what was asked, done.
 *
 * @param words the words after the command
 * @returns the exit status
 */
export async function runCalc(
  words: readonly string[],
  streams: { input: Readable; output: Writable; errors: Writable },
): Promise<number> {
  const wantsHelp = words.includes("--help") || words.includes("-h");
  const names = words.filter((word) => !word.startsWith("-"));
  const [name] = names;
  const unknownOption = words.find((word) => word.startsWith("-") && word !== "--help" && word !== "-h");
  if (unknownOption !== undefined || names.length > 1 || (name === undefined && !wantsHelp)) {
    streams.errors.write(usage);
    return 2;
  }
  const calculation = name === undefined ? null : findCalculation(name);
  if (name !== undefined && calculation === null) {
    const known = calculations.map((each) => each.name).join(", ");
    streams.errors.write(`There is no calculation called ${JSON.stringify(name)}. There are: ${known}.\n`);
    return 2;
  }
  if (wantsHelp) {
    const shown = calculation === null ? calculations : [calculation];
    streams.output.write(`${usage}\n${shown.map(calculationHelp).join("\n")}`);
    return 0;
  }
  // The guards above leave a calculation; the compiler cannot see it through the two nulls.
  if (calculation === null) return 2;
  const refused = await calculateLines(calculation, streams.input, streams.output);
  return refused > 0 ? 1 : 0;
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  // A reader that stops early, such as head, is no error of ours.
  process.stdout.on("error", (problem: NodeJS.ErrnoException) => {
    process.exit(problem.code === "EPIPE" ? 0 : 1);
  });
  process.exitCode = await runCalc(process.argv.slice(2), {
    input: process.stdin,
    output: process.stdout,
    errors: process.stderr,
  });
}
