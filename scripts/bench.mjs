import { existsSync, readdirSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { runChild } from "./run-child.mjs";

const repository = dirname(dirname(fileURLToPath(import.meta.url)));

/**
 * Runs measurements of tests/bench one after the other, because two at once would measure each other.
 *
 * @param {string[]} names which ones, without ending; all when none is named
 * @returns {Promise<number>} 0 when each ended well, else 1
 */
export async function bench(names) {
  const folder = join(repository, "tests/bench");
  const all = (existsSync(folder) ? readdirSync(folder) : [])
    .filter((name) => name.endsWith(".ts"))
    .map((name) => name.slice(0, -3));
  const unknown = names.filter((name) => !all.includes(name));
  if (unknown.length > 0) {
    process.stderr.write(`There is no ${unknown.join(", ")} in tests/bench; there are ${all.join(", ")}.\n`);
    return 2;
  }
  let failed = 0;
  for (const name of names.length > 0 ? names : all) {
    process.stdout.write(`\n${name}\n`);
    const code = await runChild([process.execPath, "--import", "tsx", `tests/bench/${name}.ts`]);
    if (code !== 0) failed += 1;
  }
  return failed === 0 ? 0 : 1;
}
