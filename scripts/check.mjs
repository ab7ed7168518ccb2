import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { runChild } from "./run-child.mjs";

const repository = dirname(dirname(fileURLToPath(import.meta.url)));
const tool = (name) => join(repository, "node_modules/.bin", name);

/** Each also runs alone, as the script of this name in package.json. */
const checks = [
  { name: "types", command: [tool("tsc"), "-b"] },
  { name: "lint", command: [tool("biome"), "check", "--error-on-warnings", "."] },
  { name: "laws", command: [process.execPath, join(repository, "scripts/laws.mjs")] },
  { name: "unused", command: [tool("knip")] },
];

/**
 * Runs every check that needs no test runner, all of them even when one fails; prints what the failing ones say.
 *
 * @returns {Promise<{ passed: number, failed: number }>}
 */
export async function check() {
  let passed = 0;
  for (const { name, command } of checks) {
    const began = Date.now();
    const chunks = [];
    const code = await runChild(command, { output: (chunk) => chunks.push(chunk) });
    const seconds = ((Date.now() - began) / 1000).toFixed(1);
    if (code === 0) passed += 1;
    else process.stdout.write(Buffer.concat(chunks));
    process.stdout.write(`${code === 0 ? "passed" : "FAILED"}  ${name} (${seconds} s)\n`);
  }
  return { passed, failed: checks.length - passed };
}
