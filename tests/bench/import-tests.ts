import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { ensureAppRole } from "@sealbook/api/platform/database";
import { migrateJobs } from "@sealbook/api/platform/jobs";
import { ensureDatabase } from "../../scripts/embedded-postgres.mjs";
import { migrate } from "../../scripts/migrate.mjs";
import { appOn } from "../support/app.ts";
import { benchFile } from "../support/bench-file.ts";
import { importBench } from "../support/import-bench.ts";

/**
 * Seconds to take in a bench's file of 10,000 rows, 37 of them bad: the dry run, and the run that puts 9,963 tests on
 * record with their ledger entries. On a database that forces its writes to the disk, as a shop's does.
 */
const rows = 10_000;

const folder = mkdtempSync(join(tmpdir(), "sealbook-bench-"));
const server = await ensureDatabase({ dataFolder: join(folder, "data"), database: "bench" });
try {
  await migrate({ connectionString: server.adminUrl });
  await migrateJobs(server.adminUrl);
  const appUrl = await ensureAppRole(server.adminUrl, "a password for the bench");
  const shop = await appOn({ name: "bench", adminUrl: server.adminUrl, appUrl, drop: async () => undefined });
  const imports = await importBench(shop);
  const jobs = await imports.startJobs();
  const file = benchFile({
    rows,
    meterNumbers: imports.meters.map(({ number }) => number),
    testers: [imports.bench.technician.username],
    standard: imports.standard,
    overdueStandard: imports.overdueStandard,
    firstDay: "2026-05-04",
  });
  const mappingId = await imports.aMapping();

  const seconds = async (work: () => Promise<unknown>) => {
    const start = performance.now();
    await work();
    return (performance.now() - start) / 1000;
  };
  const report = (what: string, took: number) =>
    process.stdout.write(
      `${what.padEnd(40)} ${took.toFixed(1).padStart(6)} s  ${Math.round(rows / took)} rows/s\n`,
    );
  let id = "";
  report(
    "taken in (headings, first rows)",
    await seconds(async () => {
      id = (await imports.add(file.csv)).id;
    }),
  );
  const step = async (ask: () => Promise<unknown>, end: "checked" | "done", good: number) => {
    await ask();
    const now = await imports.until(id, [end, "failed"], 600);
    if (now.state !== end || now.rowsGood !== good || now.rowsBad !== 37) {
      throw new Error(`the import ended as ${JSON.stringify({ ...now, sample: [] })}`);
    }
  };
  report("dry run", await seconds(() => step(() => imports.check(id, mappingId), "checked", rows - 37)));
  report("run: 9,963 tests in", await seconds(() => step(() => imports.run(id), "done", rows - 37)));
  report(
    "dry run again: all in already",
    await seconds(() => step(() => imports.check(id, mappingId), "checked", 0)),
  );
  await jobs.stop();
  await shop.close();
} finally {
  await server.stop();
  rmSync(folder, { recursive: true, force: true });
}
