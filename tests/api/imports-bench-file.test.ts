import type { Jobs } from "@sealbook/api/platform/jobs";
import type { Import, ImportProblem } from "@sealbook/contract/imports";
import { parse } from "csv-parse/sync";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { type BenchFile, badWays, benchFile } from "../support/bench-file.ts";
import { type ImportBench, importBench } from "../support/import-bench.ts";

/**
 * The acceptance case: ten thousand rows of which 37 are bad in ten different ways. What is expected comes from the
 * file's own maker, which knows what it spoilt; figures are expected as they stand in the file.
 */
let shop: TestApp;
let imports: ImportBench;
let jobs: Jobs;
let file: BenchFile;
let mappingId: string;
let checked: Import;
let problems: ImportProblem[];

beforeAll(async () => {
  shop = await testApp();
  imports = await importBench(shop);
  jobs = await imports.startJobs();
  file = benchFile({
    rows: 10_000,
    meterNumbers: imports.meters.map(({ number }) => number),
    testers: [imports.bench.technician.username, "quality-engineer number 2"],
    standard: imports.standard,
    overdueStandard: imports.overdueStandard,
    firstDay: "2026-05-04",
  });
  mappingId = await imports.aMapping();
}, 900_000);
afterAll(async () => {
  await jobs.stop();
  await shop.close();
});

const countTests = async (): Promise<number> =>
  (await shop.admin.query<{ n: number }>("SELECT count(*)::int AS n FROM meter_test")).rows[0]?.n ?? -1;

describe("a bench's file of 10,000 rows with 37 bad ones", () => {
  it("shows its headings and first rows when it is taken in", async () => {
    const added = await imports.add(file.csv);
    expect(added).toMatchObject({ state: "uploaded", rowsTotal: null, mapping: null });
    expect(added.headings.slice(0, 3)).toEqual(["Meter no", "Date", "Time"]);
    expect(added.sample).toHaveLength(5);
    expect(added.sample[0]?.[0]).toBe(file.good[0]?.meterNumber);
  });

  it("tells in a dry run what goes in and what not, and puts nothing in", async () => {
    const added = await imports.add(file.csv);
    await imports.check(added.id, mappingId);
    checked = await imports.until(added.id, ["checked", "failed"], 400);
    expect(checked).toMatchObject({
      state: "checked",
      rowsTotal: 10_000,
      rowsDone: 10_000,
      rowsGood: 9_963,
      rowsAlready: 0,
      rowsBad: 37,
    });
    expect(await countTests()).toBe(0);
  }, 900_000);

  it("names for each bad row the record, the column and the reason, in ten ways", async () => {
    problems = await imports.problems(checked.id);
    expect(problems.map(({ rowNumber, code, column }) => ({ rowNumber, code, column }))).toEqual(
      file.bad.map(({ rowNumber, code, column }) => ({ rowNumber, code, column })),
    );
    const counts = new Map<string, number>();
    for (const { code } of problems) counts.set(code, (counts.get(code) ?? 0) + 1);
    expect(Object.fromEntries(counts)).toEqual(
      Object.fromEntries(badWays.map(({ code, rows }) => [code, rows])),
    );
    expect(counts.size).toBe(10);
    // Each says in a sentence what to do.
    for (const { detail } of problems) expect(detail).toMatch(/^[A-Z\d].{20,}[.]$/s);
    const misspelt = problems.find(({ code }) => code === "not-a-number");
    expect(misspelt?.value).toBe("99.9?");
  });

  it("puts the good rows in, each with its own ledger entry in the name of who asked", async () => {
    await imports.run(checked.id);
    const done = await imports.until(checked.id, ["done", "failed"], 400);
    expect(done).toMatchObject({
      state: "done",
      rowsDone: 10_000,
      rowsGood: 9_963,
      rowsAlready: 0,
      rowsBad: 37,
    });
    expect(done.finishedAt).not.toBeNull();
    expect(await countTests()).toBe(9_963);

    const { rows: entries } = await shop.admin.query(
      `SELECT count(*)::int AS n, count(DISTINCT e.id)::int AS entries, bool_and(e.actor_id = $1) AS mine,
         bool_and(e.action = 'meterTest.record' AND e.subject_id = t.id::text) AS theirs
       FROM meter_test t JOIN ledger_entry e ON e.id = t.entry_id`,
      [imports.bench.technician.id],
    );
    expect(entries).toEqual([{ n: 9_963, entries: 9_963, mine: true, theirs: true }]);
    const { rows: steps } = await shop.admin.query(
      "SELECT action FROM ledger_entry WHERE subject_type = 'import' ORDER BY id",
    );
    expect(steps.map(({ action }) => action)).toEqual(["import.add", "import.run", "import.finish"]);
  }, 900_000);

  it("records what each row says: meter, local time, tester, figures, row", async () => {
    const { rows } = await shop.admin.query(
      `SELECT t.import_row, m.utility_number, to_char(t.performed_at AT TIME ZONE 'America/New_York', 'YYYY-MM-DD HH24:MI') AS at,
         a.username, string_agg(p.point_key || ' ' || p.registration_percent, ', ' ORDER BY p.ordinal) AS figures
       FROM meter_test t JOIN meter m ON m.id = t.meter_id JOIN account a ON a.id = t.tester_id
       JOIN meter_test_point p ON p.test_id = t.id AND p.pass = 'as-found'
       GROUP BY t.import_row, m.utility_number, t.performed_at, a.username ORDER BY t.import_row`,
    );
    const usernames: Record<string, string> = {
      [imports.bench.technician.username]: imports.bench.technician.username,
      "quality-engineer number 2": imports.bench.engineer.username,
    };
    const plain = (figure: string) => figure.replace(/\.?0+$/, "");
    expect(
      rows.map((row) => ({
        ...row,
        figures: String(row.figures).replace(/\d+\.\d+/g, plain),
      })),
    ).toEqual(
      file.good.map((row) => ({
        import_row: row.rowNumber,
        utility_number: row.meterNumber,
        at: `${row.date} ${row.time}`,
        username: usernames[row.tester],
        figures: `FL ${plain(row.figures.FL)}, LL ${plain(row.figures.LL)}, PF ${plain(row.figures.PF)}`,
      })),
    );
  });

  it("adds nothing twice: the same file opens the import on record, and a second run finds all rows in", async () => {
    const again = await imports.add(file.csv, "renamed.csv");
    expect(again.id).toBe(checked.id);
    await imports.check(again.id, mappingId);
    const second = await imports.until(again.id, ["checked", "failed"], 400);
    expect(second).toMatchObject({ state: "checked", rowsGood: 0, rowsAlready: 9_963, rowsBad: 37 });
    await imports.run(again.id);
    const done = await imports.until(again.id, ["done", "failed"], 400);
    expect(done).toMatchObject({ state: "done", rowsGood: 0, rowsAlready: 9_963, rowsBad: 37 });
    expect(await countTests()).toBe(9_963);
  }, 900_000);

  it("gives the rows set aside as a file that, mended, goes in and nothing else with it", async () => {
    const text = await imports.setAside(checked.id);
    const records: Record<string, string>[] = parse(text, { bom: true, columns: true });
    expect(Object.keys(records[0] ?? {}).slice(-2)).toEqual(["_row", "_reasons"]);
    expect(records.map(({ _row }) => Number(_row))).toEqual(file.bad.map(({ rowNumber }) => rowNumber));

    // Mended as a person would: each bad cell gets a right value; the duplicates get a minute of their own.
    const mended = records.map((record, index) => {
      const bad = file.bad[index];
      const columns = { ...record };
      if (bad?.code === "unknown-meter") columns["Meter no"] = record["Meter no"]?.slice(1) ?? "";
      if (bad?.code === "bad-date") columns.Date = "2026-04-01";
      if (bad?.code === "unknown-tester") columns.Operator = imports.bench.technician.username;
      if (bad?.code === "unknown-reason") columns.Purpose = "ROUTINE";
      if (bad?.code === "standard-overdue") columns["Ref std"] = imports.standard;
      if (bad?.code === "not-a-number") columns["FL reg"] = "99.9";
      if (bad?.code === "implausible-figure") columns["LL reg"] = "100.12";
      if (bad?.code === "unknown-word") columns.Creep = "no";
      if (bad?.code === "duplicate-in-file") columns.Time = `06:${10 + index}`;
      return columns;
    });
    const headings = Object.keys(mended[0] ?? {});
    const quoted = (cell: string) => `"${cell.replaceAll('"', '""')}"`;
    const mendedCsv = [headings, ...mended.map((record) => headings.map((heading) => record[heading] ?? ""))]
      .map((cells) => cells.map(quoted).join(","))
      .join("\r\n");

    const added = await imports.add(mendedCsv, "mended.csv");
    expect(added.id).not.toBe(checked.id);
    await imports.check(added.id, mappingId);
    expect(await imports.until(added.id, ["checked", "failed"])).toMatchObject({ rowsGood: 37, rowsBad: 0 });
    await imports.run(added.id);
    expect(await imports.until(added.id, ["done", "failed"])).toMatchObject({ state: "done", rowsGood: 37 });
    expect(await countTests()).toBe(10_000);
  }, 240_000);
});
