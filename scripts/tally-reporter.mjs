import { writeFileSync } from "node:fs";

/**
 * Counts vitest's results as "N passed, N failed": a failing test, a file that does not load, an error outside
 * of any test, a test that did not run at all and a run without any test each count as failed. Writes the count
 * to the file that SEALBOOK_TALLY_FILE names, or prints it.
 */
export default class TallyReporter {
  onTestRunEnd(testModules, unhandledErrors, reason) {
    let passed = 0;
    let failed = unhandledErrors.length;
    for (const testModule of testModules) {
      failed += testModule.errors().length;
      for (const test of testModule.children.allTests()) {
        const { state } = test.result();
        if (state === "passed") passed += 1;
        else failed += 1;
      }
    }
    if (failed === 0 && (passed === 0 || reason !== "passed")) failed = 1;
    const file = process.env.SEALBOOK_TALLY_FILE;
    if (file) writeFileSync(file, JSON.stringify({ passed, failed }));
    else process.stdout.write(`${passed} passed, ${failed} failed\n`);
  }
}
