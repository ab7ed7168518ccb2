import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { copyText } from "@sealbook/api/platform/copy-text";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type pg from "pg";
import { appOn } from "../support/app.ts";
import { benchDatabase, printFigure } from "../support/bench-database.ts";
import { inventoryImport, plainMapping } from "../support/inventory-import.ts";
import { meterBench } from "../support/meter-bench.ts";

/**
 * Meters a second that a file brings in (judged, put in with their events, bound into the log), beside COPY of the same
 * meters alone into a bare table with the same indexes, in the same run. The goal is 0.4 of COPY's speed, by a process
 * that stays below 300 MB. `METERS=100000 npm run bench -- import-meters` takes fewer.
 */
const rows = Number(process.env.METERS ?? 1_000_000);
const mostMegabytes = 300;
const leastRatio = 0.4;
/** Node leaves garbage lie while there is room; a bound on its heap shows what the work itself needs. */
const heapMegabytes = 128;

const database = await benchDatabase();
let worker: ChildProcess | null = null;
try {
  const shop = await appOn(
    { name: "bench", adminUrl: database.adminUrl, appUrl: database.appUrl, drop: async () => undefined },
    { UPLOAD_MEGABYTES: "400" },
  );
  const bench = await meterBench(shop);
  await bench.aType(await bench.aPlan(), { maker: "Harrowgate", model: "HG-200" });
  const { rows: places } = await shop.admin.query<{ name: string }>("SELECT name FROM place WHERE id = $1", [
    bench.placeId,
  ]);
  const place = places[0]?.name ?? "";
  const files = inventoryImport(bench.technician.agent);
  const columns = ["utilityNumber", "serial", "maker", "model", "purchasedOn", "place"];
  const mappingId = await files.aMapping(
    plainMapping("meters", Object.fromEntries(columns.map((name) => [name, name]))),
  );
  const added = await files.add("meters", await csvOf(columns, place));

  const script = fileURLToPath(new URL("../support/import-worker.ts", import.meta.url));
  worker = spawn(
    process.execPath,
    [`--max-old-space-size=${heapMegabytes}`, "--import", "tsx", script, database.appUrl],
    {
      stdio: ["ignore", "pipe", "inherit"],
    },
  );
  if (worker.stdout === null) throw new Error("the worker has an output");
  await once(worker.stdout, "data");

  const check = await secondsOf(async () => {
    await files.start("check", added.id, { mappingId });
    const now = await files.until(added.id, ["checked", "failed"], 3600);
    if (now.rowsGood !== rows) throw new Error(JSON.stringify({ ...now, sample: [] }));
  });
  printFigure("dry run", `${perSecond(check)} rows/s`);
  const run = await secondsOf(async () => {
    await files.start("run", added.id);
    const now = await files.until(added.id, ["done", "failed"], 3600);
    if (now.rowsGood !== rows) throw new Error(JSON.stringify({ ...now, sample: [] }));
  });
  const peak = peakMegabytes(worker);
  const copy = await secondsOf(() => rawCopy(shop.admin));
  printFigure("raw COPY of the meters alone, same indexes", `${perSecond(copy)} rows/s`);
  printFigure("run: meters in, with events and ledger", `${perSecond(run)} rows/s`);
  printFigure(
    "run beside raw COPY",
    (copy / run).toFixed(2),
    `at least ${leastRatio}`,
    copy / run >= leastRatio,
  );
  printFigure(
    `peak memory of the process, heap bounded to ${heapMegabytes} MB`,
    `${peak} MB`,
    `below ${mostMegabytes} MB`,
    peak < mostMegabytes,
  );
  const { rows: sizes } = await shop.admin.query<{ bytes: number }>(
    `SELECT sum(pg_total_relation_size(c.oid))::float8 AS bytes FROM pg_class c
     WHERE c.relname IN ('meter', 'meter_event', 'meter_standing', 'ledger_rows')`,
  );
  printFigure(
    "bytes a meter: row, event, standing, indexes, hashes",
    String(Math.round((sizes[0]?.bytes ?? 0) / rows)),
  );
  await shop.close();
} finally {
  worker?.kill();
  await database.drop();
}

async function csvOf(columns: readonly string[], place: string): Promise<Buffer> {
  const lines = function* () {
    yield `${columns.join(",")}\n`;
    let piece = "";
    for (let index = 1; index <= rows; index++) {
      const number = String(index).padStart(9, "0");
      piece += `${number},HG${numberAfter(index)},Harrowgate,HG-200,20${10 + (index % 14)}-0${1 + (index % 9)}-15,${place}\n`;
      if (piece.length < 65_536) continue;
      yield piece;
      piece = "";
    }
    yield piece;
  };
  const pieces: Buffer[] = [];
  for (const piece of lines()) pieces.push(Buffer.from(piece));
  return Buffer.concat(pieces);
}

/** A maker's serial: no two alike, and not in the order of the utility's numbers. */
function numberAfter(index: number): string {
  return String((index * 7_368_787) % 1_000_000_007).padStart(10, "0");
}

async function rawCopy(admin: pg.Pool): Promise<void> {
  await inTransaction(admin, null, async (tx) => {
    await tx.query("CREATE TABLE meter_alone (LIKE meter INCLUDING DEFAULTS INCLUDING INDEXES)");
    const columns = await tx.query<{ name: string }>(
      "SELECT attname AS name FROM pg_attribute WHERE attrelid = 'meter_alone'::regclass AND attnum > 0 AND NOT attisdropped ORDER BY attnum",
    );
    const names = columns.map(({ name }) => name);
    const [one = {}] = await tx.query<Record<string, string | null>>(
      `SELECT ${names.map((name) => `${name}::text`).join(", ")} FROM meter LIMIT 1`,
    );
    const cells = function* () {
      for (let index = 1; index <= rows; index++) {
        const own: Record<string, string> = {
          id: newId(),
          utility_number: String(index).padStart(9, "0"),
          serial: `HG${numberAfter(index)}`,
          purchased_on: `20${10 + (index % 14)}-0${1 + (index % 9)}-15`,
        };
        yield names.map((name) => own[name] ?? one[name] ?? null);
      }
    };
    await tx.copyIn("COPY meter_alone FROM STDIN", copyText(cells()));
  });
  await admin.query("DROP TABLE meter_alone");
}

/** Most memory that a process has held so far, from the kernel's own record. */
function peakMegabytes({ pid }: ChildProcess): number {
  const status = readFileSync(`/proc/${pid}/status`, "utf8");
  return Math.round(Number(/VmHWM:\s+(\d+) kB/.exec(status)?.[1]) / 1024);
}

function perSecond(seconds: number): string {
  return Math.round(rows / seconds).toLocaleString("en-US");
}

async function secondsOf(work: () => Promise<unknown>): Promise<number> {
  const start = performance.now();
  await work();
  return (performance.now() - start) / 1000;
}
