import { readFile, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Jobs } from "@sealbook/api/platform/jobs";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { type BenchFile, badWays, benchFile, benchMapping } from "../support/bench-file.ts";
import {
  accessibilityFindings,
  type Desk,
  openBrowser,
  openDesk,
  signInByKeyboard,
} from "../support/browser.ts";
import { type ImportBench, importBench } from "../support/import-bench.ts";
import { tabTo, typeKeys } from "../support/keyboard.ts";

let shop: TestApp;
let bench: ImportBench;
let jobs: Jobs;
let browser: Browser;
let desk: Desk;
let file: BenchFile;
let path: string;

beforeAll(async () => {
  shop = await testApp();
  bench = await importBench(shop);
  jobs = await bench.startJobs();
  const { technician } = bench.bench;
  file = benchFile({
    rows: 10_000,
    meterNumbers: bench.meters.map(({ number }) => number),
    testers: [technician.username],
    standard: bench.standard,
    overdueStandard: bench.overdueStandard,
    firstDay: "2026-01-05",
  });
  path = join(tmpdir(), `bench-${process.pid}.csv`);
  await writeFile(path, file.csv);
  const address = await shop.app.listen({ host: "127.0.0.1", port: 0 });
  browser = await openBrowser();
  desk = await openDesk(browser, address);
  await signInByKeyboard(desk.page, technician.username);
});
afterAll(async () => {
  await browser?.close();
  await jobs?.stop();
  await shop?.close();
});

const meanings = {
  meterNumber: "Meter number",
  performedDate: "Date of the test",
  performedTime: "Time of day",
  tester: "Tester",
  reason: "Reason for test",
  standard: "Standard",
  "FL.asFound": "FL as found",
  "LL.asFound": "LL as found",
  "PF.asFound": "PF as found",
  creep: "Creep",
  remarks: "Remarks",
} as const;

it("takes in a bench's file of 10,000 rows of which 37 are bad in ten ways", async () => {
  expect(file.bad).toHaveLength(37);
  expect(badWays).toHaveLength(10);
  const { page } = desk;
  await page.goto("/imports");
  await page.getByRole("heading", { level: 1 }).waitFor();
  await page.locator('input[type="file"]').setInputFiles(path);
  await page.waitForURL("**/imports/*");

  // What the columns mean, once, by keyboard.
  await tabTo(page, "Make a new mapping");
  await typeKeys(page, ["Enter"]);
  await tabTo(page, "Name of the mapping");
  await typeKeys(page, "Bench 3 export");
  for (const [heading, field] of Object.entries(benchMapping.columns)) {
    await tabTo(page, `Meaning of column ${heading}`);
    await typeKeys(page, meanings[field], ["ArrowDown"], ["Enter"]);
  }
  await tabTo(page, "Percent registration");
  await typeKeys(page, ["Space"]);
  await tabTo(page, "Yes, the figures are corrected");
  await typeKeys(page, ["Space"]);
  for (const [word, meaning] of [
    ["REMOVED", "Removal"],
    ["ROUTINE", "Periodic"],
    ["no", "Does not creep"],
  ] as const) {
    await page
      .getByRole("textbox", { name: "The file's word" })
      .and(page.locator(`[value="${word}"]`))
      .waitFor();
    await typeKeys(page, ["Tab"]);
    await tabTo(page, "means");
    await typeKeys(page, meaning);
  }
  await tabTo(page, "Save and start the dry run");
  await typeKeys(page, ["Enter"]);

  // The dry run: every row is looked at, nothing goes in yet.
  await page.getByText("The dry run is done").waitFor({ timeout: 120_000 });
  const importId = new URL(page.url()).pathname.split("/").at(-1) ?? "";
  const checked = await bench.get(importId);
  expect(checked).toMatchObject({ rowsTotal: 10_000, rowsGood: 9_963, rowsBad: 37, rowsAlready: 0 });
  const found = (await bench.problems(importId)).map(({ rowNumber, code, column }) => ({
    rowNumber,
    code,
    column,
  }));
  expect(found).toEqual(file.bad);
  const first = file.bad[0];
  await page
    .getByRole("rowheader", { name: String(first?.rowNumber), exact: true })
    .first()
    .waitFor();
  expect(await accessibilityFindings(page)).toEqual([]);

  // Reloading shows the same step; then the good rows go in.
  await page.reload();
  await page.getByText("The dry run is done").waitFor();
  await tabTo(page, "Put 9,963 tests in");
  await typeKeys(page, ["Enter"]);
  await page.getByRole("dialog").waitFor();
  await tabTo(page, "Put 9,963 tests in");
  await typeKeys(page, ["Enter"]);
  await page.getByText("9,963 tests went in.").waitFor({ timeout: 150_000 });
  const { rows } = await shop.admin.query<{ tests: number; entries: number }>(
    `SELECT count(*)::int AS tests, count(DISTINCT t.entry_id)::int AS entries FROM meter_test t
       JOIN ledger_entry e ON e.id = t.entry_id AND e.action = 'meterTest.record' AND e.subject_id = t.id::text
     WHERE t.import_id = $1`,
    [importId],
  );
  expect(rows[0]).toEqual({ tests: 9_963, entries: 9_963 });

  // The same file again opens the import on record and adds nothing.
  await page.goto("/imports");
  await page.getByRole("heading", { level: 1 }).waitFor();
  await page.locator('input[type="file"]').setInputFiles(path);
  await page.waitForURL(`**/imports/${importId}*`);
  expect(await bench.get(importId)).toMatchObject({ state: "done", rowsGood: 9_963 });

  // Rows set aside come back as a file, one line each below the headings.
  const link = page.getByRole("link", { name: "Download the rows set aside" });
  const [download] = await Promise.all([page.waitForEvent("download", { timeout: 60_000 }), link.click()]);
  const text = await readFile(await download.path(), "utf8");
  expect(text.trim().split("\n")).toHaveLength(38);
  expect(desk.complaints).toEqual([]);
}, 400_000);
