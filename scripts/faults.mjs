import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import { runChild } from "./run-child.mjs";

const repository = dirname(dirname(fileURLToPath(import.meta.url)));

/**
 * Breaks service, database and connections under people at work, so many times, and says what was lost or doubled.
 *
 * @param {string[]} commandArguments --kills N; 30 unless told otherwise, as in `npm test`
 * @returns {Promise<number>} 0 when nothing was lost or doubled and both controls found the harm they were to find
 */
export async function faults(commandArguments) {
  const { values } = parseArgs({
    args: commandArguments,
    options: { kills: { type: "string", default: "30" } },
  });
  const kills = Number(values.kills);
  if (!Number.isInteger(kills) || kills < 4) {
    process.stderr.write("--kills is a whole number of 4 or more: there are four kinds of fault.\n");
    return 2;
  }
  return await runChild(
    [
      ...[process.execPath, join(repository, "node_modules/vitest/vitest.mjs"), "run"],
      ...["--project", "faults", "--disable-console-intercept"],
    ],
    { environment: { FAULT_KILLS: String(kills) } },
  );
}
