import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { setTimeout as sleep } from "node:timers/promises";
import { fileURLToPath } from "node:url";
import type { Import } from "@sealbook/contract/imports";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { type BenchFile, benchFile } from "../support/bench-file.ts";
import { type ImportBench, importBench } from "../support/import-bench.ts";

/** What would break in the shop: a service killed in the night while a file goes in, and rows in it twice or never. */
let shop: TestApp;
let imports: ImportBench;
let file: BenchFile;
let added: Import;
let mappingId: string;
const children: ChildProcess[] = [];
const rows = 2_500;

beforeAll(async () => {
  shop = await testApp();
  imports = await importBench(shop);
  file = benchFile({
    rows,
    meterNumbers: imports.meters.map(({ number }) => number),
    testers: [imports.bench.technician.username],
    standard: imports.standard,
    overdueStandard: imports.overdueStandard,
    firstDay: "2026-05-04",
  });
  mappingId = await imports.aMapping();
  added = await imports.add(file.csv);
}, 120_000);
afterAll(async () => {
  for (const child of children) child.kill("SIGKILL");
  await shop.close();
});

async function aWorker(): Promise<ChildProcess> {
  const script = fileURLToPath(new URL("../support/import-worker.ts", import.meta.url));
  const child = spawn(process.execPath, ["--import", "tsx", script, shop.database.appUrl], {
    stdio: ["ignore", "pipe", "inherit"],
  });
  children.push(child);
  await once(child.stdout, "data");
  return child;
}

/** Kills a worker once the step under way has come this far, at whatever moment of its work that is. */
async function killAfter(rowsDone: number): Promise<void> {
  const child = await aWorker();
  const end = Date.now() + 120_000;
  while ((await imports.get(added.id)).rowsDone < rowsDone) {
    if (Date.now() > end) throw new Error("the worker gets nowhere");
    await sleep(20);
  }
  child.kill("SIGKILL");
  await once(child, "exit");
}

describe("a process that is killed while an import is under way", () => {
  it("leaves a dry run that a new process does again from its beginning, whole", async () => {
    await imports.check(added.id, mappingId);
    await killAfter(1_000);
    expect((await imports.get(added.id)).state).toBe("checking");
    const worker = await aWorker();
    expect(await imports.until(added.id, ["checked", "failed"])).toMatchObject({
      state: "checked",
      rowsTotal: rows,
      rowsDone: rows,
      rowsGood: rows - 37,
      rowsBad: 37,
    });
    expect((await imports.problems(added.id)).map(({ rowNumber, code }) => ({ rowNumber, code }))).toEqual(
      file.bad.map(({ rowNumber, code }) => ({ rowNumber, code })),
    );
    worker.kill("SIGKILL");
    await once(worker, "exit");
  }, 400_000);

  it("leaves a run that new processes take on, killed twice more, and every good row is in once", async () => {
    await imports.run(added.id);
    await killAfter(500);
    await killAfter(1_000);
    await killAfter(1_500);
    expect((await imports.get(added.id)).state).toBe("running");
    await aWorker();
    expect(await imports.until(added.id, ["done", "failed"])).toMatchObject({
      state: "done",
      rowsDone: rows,
      rowsGood: rows - 37,
      rowsAlready: 0,
      rowsBad: 37,
    });
    const { rows: inBook } = await shop.admin.query<{ import_row: number; entries: number; points: number }>(
      `SELECT import_row, (SELECT count(*)::int FROM ledger_entry e WHERE e.subject_id = t.id::text) AS entries,
         (SELECT count(*)::int FROM meter_test_point p WHERE p.test_id = t.id AND p.pass = 'as-found') AS points
       FROM meter_test t WHERE import_id = $1 ORDER BY import_row`,
      [added.id],
    );
    expect(inBook).toEqual(
      file.good.map(({ rowNumber }) => ({ import_row: rowNumber, entries: 1, points: 3 })),
    );
  }, 400_000);
});
