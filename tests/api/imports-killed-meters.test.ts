import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { setTimeout as sleep } from "node:timers/promises";
import { fileURLToPath } from "node:url";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { inventoryImport, plainMapping } from "../support/inventory-import.ts";
import { meterBench } from "../support/meter-bench.ts";

/** What would break in the shop: an inventory that goes in overnight on a machine that fails again and again. */
let shop: TestApp;
let files: ReturnType<typeof inventoryImport>;
let importId: string;
const children: ChildProcess[] = [];
const rows = 300_000;
const kills = 20;

beforeAll(async () => {
  shop = await testApp({ STATEMENT_TIMEOUT_SECONDS: "120" });
  const bench = await meterBench(shop);
  await bench.aType(await bench.aPlan(), { maker: "Harrowgate", model: "HG-200" });
  const place = (
    await shop.admin.query<{ name: string }>("SELECT name FROM place WHERE id = $1", [bench.placeId])
  ).rows[0]?.name;
  files = inventoryImport(bench.technician.agent);
  const columns = ["utilityNumber", "serial", "maker", "model", "place"];
  const lines = Array.from(
    { length: rows },
    (_, n) => `${String(n + 1).padStart(8, "0")},K${n + 1},Harrowgate,HG-200,${place}`,
  );
  const added = await files.add("meters", `${columns.join(",")}\n${lines.join("\n")}\n`);
  importId = added.id;
  const mappingId = await files.aMapping(
    plainMapping("meters", Object.fromEntries(columns.map((name) => [name, name]))),
  );
  const worker = await aWorker();
  await files.start("check", importId, { mappingId });
  expect(await files.until(importId, ["checked", "failed"], 240)).toMatchObject({
    rowsGood: rows,
    rowsBad: 0,
  });
  await kill(worker);
}, 300_000);
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
  if (child.stdout === null) throw new Error("the worker has an output");
  await once(child.stdout, "data");
  return child;
}

async function kill(child: ChildProcess): Promise<void> {
  child.kill("SIGKILL");
  await once(child, "exit");
}

describe("a process that is killed at twenty moments of an import of meters", () => {
  it("leaves exactly the right rows when it has been started again, once each", async () => {
    await files.start("run", importId);
    const stoodAt: number[] = [];
    for (let n = 0; n < kills; n++) {
      const worker = await aWorker();
      // Spread over the file, and at any moment of a step: some milliseconds after the count has come so far. The last
      // part of the file is left to the worker that ends it, however fast this machine is.
      const wanted = Math.floor((n / kills) * rows * 0.6);
      for (const end = Date.now() + 120_000; (await files.get(importId)).rowsDone < wanted; ) {
        if (Date.now() > end) throw new Error("the worker gets nowhere");
        await sleep(10);
      }
      await sleep(Math.random() * 150);
      await kill(worker);
      stoodAt.push((await files.get(importId)).rowsDone);
    }
    expect((await files.get(importId)).state).toBe("running");
    await aWorker();
    expect(await files.until(importId, ["done", "failed"], 240)).toMatchObject({
      state: "done",
      rowsDone: rows,
      rowsGood: rows,
      rowsAlready: 0,
      rowsBad: 0,
    });
    const { rows: found } = await shop.admin.query(
      `SELECT count(*)::int AS meters, count(DISTINCT m.serial)::int AS serials, min(m.utility_number) AS first, max(m.utility_number) AS last,
         count(e.id)::int AS events, count(DISTINCT e.meter_id)::int AS of_meters, bool_and(e.entry_id = m.entry_id) AS same_entry
       FROM meter m LEFT JOIN meter_event e ON e.meter_id = m.id WHERE m.serial LIKE 'K%'`,
    );
    expect(found).toEqual([
      {
        meters: rows,
        serials: rows,
        first: "00000001",
        last: String(rows).padStart(8, "0"),
        events: rows,
        of_meters: rows,
        same_entry: true,
      },
    ]);
    const { rows: entered } = await shop.admin.query(
      `SELECT sum((payload::json ->> 'rowsGood')::int)::int AS rows FROM ledger_entry
       WHERE action = 'import.rows' AND subject_id = $1`,
      [importId],
    );
    expect(entered).toEqual([{ rows }]);
    // The kills fell into the run, not before or after it.
    expect(new Set(stoodAt).size).toBeGreaterThan(3);
  }, 900_000);
});
