import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { check } from "./check.mjs";
import { prepare } from "./prepare.mjs";
import { runChild } from "./run-child.mjs";

const repository = dirname(dirname(fileURLToPath(import.meta.url)));

/**
 * Runs the checks and all tests. The last line that it prints is "N passed, N failed", checks included.
 *
 * @param {string[]} vitestArguments when given, only vitest runs, with these
 * @returns {Promise<number>} 0 when nothing failed, else 1
 */
export async function test(vitestArguments) {
  await prepare({ client: true, page: true });
  const checked = vitestArguments.length === 0 ? await check() : { passed: 0, failed: 0 };
  const tested = await runVitest(vitestArguments);
  const failed = checked.failed + tested.failed;
  process.stdout.write(`${checked.passed + tested.passed} passed, ${failed} failed\n`);
  return failed === 0 ? 0 : 1;
}

async function runVitest(vitestArguments) {
  const folder = mkdtempSync(join(tmpdir(), "sealbook-tally-"));
  const tallyFile = join(folder, "tally.json");
  // A signal ends this process while vitest runs, past any finally.
  process.once("exit", () => rmSync(folder, { recursive: true, force: true }));
  const code = await runChild(
    [
      ...[process.execPath, join(repository, "node_modules/vitest/vitest.mjs"), "run"],
      ...["--reporter=default", `--reporter=${join(repository, "scripts/tally-reporter.mjs")}`],
      ...vitestArguments,
    ],
    { environment: { SEALBOOK_TALLY_FILE: tallyFile } },
  );
  const tally = readTally(tallyFile);
  // A runner that fails without a failing test has lost some: that is a failure by itself.
  return code !== 0 && tally.failed === 0 ? { ...tally, failed: 1 } : tally;
}

function readTally(file) {
  try {
    return JSON.parse(readFileSync(file, "utf8"));
  } catch {
    return { passed: 0, failed: 1 };
  }
}
