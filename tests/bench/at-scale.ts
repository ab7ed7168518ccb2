import { spawn } from "node:child_process";
import { once } from "node:events";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { toCursor } from "@sealbook/api/platform/cursor";
import type { Source } from "@sealbook/api/platform/transaction";
import pg from "pg";
import { printFigure } from "../support/bench-database.ts";
import { type HotFacts, hotQueries } from "../support/hot-queries.ts";
import { type ServiceProcess, startService } from "../support/service-process.ts";

/**
 * What people wait for in a large book, asked of the service over HTTP: look-ups and the search box by 16 clients at
 * once, the first page and the ten thousandth, a count, an export; each hot query alone; and what a meter and a test take
 * on the disk. The book is made by `load-demo`, or is the one in the folder BENCH_FOLDER. `METERS=5000000 TESTS=10000000 npm run bench -- at-scale` makes a larger one.
 */
const meters = Number(process.env.METERS ?? 1_000_000);
const tests = Number(process.env.TESTS ?? 2_000_000);
const clients = 16;
const secondsEach = 10;

const folder = process.env.BENCH_FOLDER ?? mkdtempSync(join(tmpdir(), "sealbook-scale-"));
const settings = { SEALBOOK_DATA_FOLDER: folder, SEALBOOK_DEMO: "true", REQUESTS_PER_MINUTE: "1000000" };
let service: ServiceProcess | null = null;
try {
  if (process.env.BENCH_FOLDER === undefined) await load();
  service = await startService({ ...settings, REQUESTS_PER_MINUTE_OF_A_PERSON: "1000000" });
  await measure(service);
} finally {
  await service?.stop();
  if (process.env.BENCH_FOLDER === undefined) rmSync(folder, { recursive: true, force: true });
}

/** Fills the book by the command that people use. */
async function load(): Promise<void> {
  const command = fileURLToPath(new URL("../../apps/api/src/load-demo-command.ts", import.meta.url));
  const child = spawn(
    process.execPath,
    ["--import", "tsx", command, "--meters", String(meters), "--tests", String(tests)],
    { env: { ...process.env, ...settings }, stdio: ["ignore", "inherit", "inherit"] },
  );
  const [code] = (await once(child, "exit")) as [number | null];
  if (code !== 0) throw new Error(`the load ended with ${code}`);
}

async function measure({ address, ask }: ServiceProcess): Promise<void> {
  const { cookie } = await ask("POST", "/session", {
    body: { username: "marguerite", password: "seven slow rivers" },
  });
  const { known, deepAt, sizes, hot } = await look();
  const get = async (path: string): Promise<number> => {
    const start = performance.now();
    const reply = await fetch(`${address}/api${path}`, { headers: { cookie } });
    if (reply.status !== 200) throw new Error(`${path}: ${reply.status} ${await reply.text()}`);
    await reply.arrayBuffer();
    return performance.now() - start;
  };
  const one = (n: number) => known[n % known.length] ?? { id: "", number: "", serial: "", address: "" };

  const times = async (what: string, path: (n: number) => string, most99: number) => {
    const { p50, p99, perSecond } = await fromManyClients((n) => get(path(n)));
    printFigure(
      `${what}: p50, ${clients} clients`,
      `${p50.toFixed(1)} ms`,
      `${Math.round(perSecond)} a second`,
    );
    printFigure(`${what}: p99`, `${p99.toFixed(1)} ms`, `at most ${most99} ms`, p99 <= most99);
  };
  await times("look-up by serial", (n) => `/meters/find?number=${one(n).serial}`, 150);
  await times("search box, 6 characters of a serial", (n) => `/search?q=${one(n).serial.slice(4, 10)}`, 300);
  await times(
    "search box, part of an address",
    (n) => `/search?q=${encodeURIComponent(one(n).address)}`,
    300,
  );
  await times("search box, 2 characters", (n) => `/search?q=${one(n).number.slice(0, 2)}`, 300);

  const first = await median(() => get("/meters?limit=50"));
  printFigure("list of meters, page 1", `${first.toFixed(1)} ms`);
  if (deepAt !== undefined) {
    const cursor = toCursor(["number", deepAt.number, deepAt.id]);
    const deep = await median(() => get(`/meters?limit=50&cursor=${cursor}`));
    const limit = Math.max(2 * first, first + 5);
    printFigure(
      `list of meters, page ${Math.round((deepAt.rank ?? 0) / 50).toLocaleString("en-US")}`,
      `${deep.toFixed(1)} ms`,
      `at most ${limit.toFixed(1)} ms`,
      deep <= limit,
    );
  }
  const count = await median(() => get("/meters/count?state=in-service&lastVerdict=fail"));
  printFigure(
    "filtered count (in service, outside limits)",
    `${count.toFixed(1)} ms`,
    "at most 300 ms",
    count <= 300,
  );
  const exported = await exportRows(address, cookie);
  printFigure(
    "export as CSV",
    `${exported.toLocaleString("en-US")} rows/s`,
    "at least 20,000 rows/s",
    exported >= 20_000,
  );
  for (const { name, milliseconds } of hot) {
    printFigure(name, `${milliseconds.toFixed(1)} ms`, "at most 100 ms", milliseconds <= 100);
  }
  for (const { what, bytes } of sizes) printFigure(`bytes ${what}, indexes and log included`, bytes);
}

interface Known {
  readonly id: string;
  readonly number: string;
  readonly serial: string;
  readonly address: string;
  /** How many meters come before it by number, where that was counted. */
  readonly rank: number | null;
}

/** Meters to ask for, from all over the book, and what the tables take. */
async function look(): Promise<{
  known: Known[];
  deepAt: Known | undefined;
  sizes: { what: string; bytes: string }[];
  hot: { name: string; milliseconds: number }[];
}> {
  const { ensureDatabase } = await import("../../scripts/embedded-postgres.mjs");
  const server = await ensureDatabase({ dataFolder: folder });
  const client = new pg.Client({ connectionString: server.adminUrl });
  await client.connect();
  try {
    const { rows } = await client.query<Known>(
      `SELECT m.id, m.utility_number AS number, m.serial, v.value AS address, NULL::int AS rank
       FROM (SELECT * FROM meter WHERE state = 'in-service' AND utility_number LIKE '7%' OFFSET 0) m
       JOIN service_point s ON s.id = m.place_id JOIN personal_value v ON v.id = s.address_id
       WHERE hashtext(m.serial) % 997 = 0 LIMIT 2000`,
    );
    const rank = Math.min(500_000, Math.floor(meters / 2));
    const { rows: deep } = await client.query<Known>(
      `SELECT id, utility_number AS number, serial, '' AS address, ${rank}::int AS rank FROM meter
       ORDER BY utility_number, id OFFSET ${rank - 1} LIMIT 1`,
    );
    const total = async (tables: string[]) => {
      const { rows } = await client.query<{ bytes: number }>(
        "SELECT sum(pg_total_relation_size(c.oid))::float8 AS bytes FROM pg_class c WHERE c.relname = ANY($1)",
        [tables],
      );
      return rows[0]?.bytes ?? 0;
    };
    const { rows: logged } = await client.query<{ of_tests: number; of_meters: number }>(
      `SELECT coalesce(sum(row_count) FILTER (WHERE table_name LIKE 'meter_test%'), 0)::float8 AS of_tests,
         coalesce(sum(row_count) FILTER (WHERE table_name NOT LIKE 'meter_test%'), 0)::float8 AS of_meters FROM ledger_rows`,
    );
    // 48 bytes a row stand in the log.
    const ofTests =
      (await total(["meter_test", "meter_test_point", "test_measures"])) + 48 * (logged[0]?.of_tests ?? 0);
    const ofMeters =
      (await total(["meter", "meter_event", "meter_standing", "service_point", "place", "personal_value"])) +
      48 * (logged[0]?.of_meters ?? 0);
    const { rows: counts } = await client.query<{ meters: number; tests: number }>(
      "SELECT (SELECT count(*) FROM meter)::float8 AS meters, (SELECT count(*) FROM meter_test)::float8 AS tests",
    );
    return {
      known: rows,
      deepAt: deep[0],
      hot: await timeHotQueries(client),
      sizes: [
        {
          what: "a meter with its service point, event and standing",
          bytes: Math.round(ofMeters / (counts[0]?.meters ?? 1)).toLocaleString("en-US"),
        },
        {
          what: "a test with its readings",
          bytes: Math.round(ofTests / (counts[0]?.tests ?? 1)).toLocaleString("en-US"),
        },
      ],
    };
  } finally {
    await client.end();
    await server.stop();
  }
}

/** What people ask all day long, each use case alone: the median of seven. */
async function timeHotQueries(client: pg.Client): Promise<{ name: string; milliseconds: number }[]> {
  const query: Source["query"] = async (sql, values) => (await client.query(sql, values as unknown[])).rows;
  const [facts] = await query<HotFacts & Record<string, unknown>>(
    `SELECT m.id AS "meterId", m.utility_number AS "utilityNumber", m.serial, m.type_id AS "typeId", m.maker, y.form,
       s.number AS "servicePointNumber", s.area, v.value AS address,
       (SELECT id FROM place WHERE kind = 'shop' LIMIT 1) AS "storeId",
       (SELECT to_char(coalesce(min(due_on), current_date), 'YYYY-MM') FROM meter_standing WHERE due_on > current_date) AS month
     FROM (SELECT * FROM meter WHERE state = 'in-service' AND utility_number LIKE '7%' LIMIT 1 OFFSET 5000) m
     JOIN meter_type y ON y.id = m.type_id JOIN service_point s ON s.id = m.place_id JOIN personal_value v ON v.id = s.address_id`,
  );
  if (facts === undefined) throw new Error("the book has a meter in service");
  const timed: { name: string; milliseconds: number }[] = [];
  for (const { name, run } of hotQueries) {
    const times: number[] = [];
    for (let n = 0; n < 7; n++) {
      const start = performance.now();
      await run({ query }, facts);
      times.push(performance.now() - start);
    }
    times.sort((a, b) => a - b);
    timed.push({ name, milliseconds: times[3] ?? 0 });
  }
  return timed;
}

async function fromManyClients(
  work: (n: number) => Promise<number>,
): Promise<{ p50: number; p99: number; perSecond: number }> {
  for (let n = 0; n < 50; n++) await work(n);
  const times: number[] = [];
  let n = 50;
  const start = performance.now();
  await Promise.all(
    Array.from({ length: clients }, async () => {
      while (performance.now() - start < secondsEach * 1000) times.push(await work(n++));
    }),
  );
  const seconds = (performance.now() - start) / 1000;
  times.sort((a, b) => a - b);
  const at = (share: number) => times[Math.min(times.length - 1, Math.floor(share * times.length))] ?? 0;
  return { p50: at(0.5), p99: at(0.99), perSecond: times.length / seconds };
}

async function median(work: () => Promise<number>): Promise<number> {
  const times: number[] = [];
  for (let n = 0; n < 21; n++) times.push(await work());
  times.sort((a, b) => a - b);
  return times[10] ?? 0;
}

/** Rows a second of the meters that failed, or of all when there are few, as they come over the wire. */
async function exportRows(address: string, cookie: string): Promise<number> {
  const start = performance.now();
  const reply = await fetch(`${address}/api/meters/export?format=csv`, { headers: { cookie } });
  if (reply.status !== 200 || reply.body === null)
    throw new Error(`export: ${reply.status} ${await reply.text()}`);
  let lines = 0;
  for await (const piece of reply.body) {
    for (const byte of piece as Uint8Array) if (byte === 10) lines++;
    if (performance.now() - start > 60_000) break;
  }
  return Math.round(lines / ((performance.now() - start) / 1000));
}
