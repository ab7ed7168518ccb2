import { createWriteStream, mkdtempSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pipeline } from "node:stream/promises";
import { setTimeout as sleep } from "node:timers/promises";
import { pathToFileURL } from "node:url";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import { verifyBundleFile } from "@sealbook/api/verify-bundle-file";
import { readHeld } from "@sealbook/verification/read-held";
import { buildVerifier } from "../../scripts/build-verifier.mjs";
import { appOn, testPassword } from "../support/app.ts";
import { benchDatabase, printFigure } from "../support/bench-database.ts";
import { benchMapping } from "../support/bench-file.ts";
import { openBrowser, openDesk } from "../support/browser.ts";
import { importBench } from "../support/import-bench.ts";
import { inventoryImport, plainMapping } from "../support/inventory-import.ts";

/**
 * A year of 500,000 tests to a stranger's browser: released, handed out as evidence, verified by the command and by the
 * offline page with the network off. The first 2,000 come from a bench's file; the others are put on record from these by
 * SQL, some seconds later each, with a ledger entry of its own. `TESTS=20000 npm run bench -- bundle` takes fewer.
 */
const tests = Number(process.env.TESTS ?? 500_000);
const fromFile = Math.min(tests, 2_000);
const mostMinutes = 60;

const folder = mkdtempSync(join(tmpdir(), "sealbook-bench-"));
const database = await benchDatabase();
const shop = await appOn(
  { name: "bench", adminUrl: database.adminUrl, appUrl: database.appUrl, drop: async () => undefined },
  { UPLOAD_MEGABYTES: "400" },
  { log: true },
);
try {
  const imports = await importBench(shop, { meters: 0 });
  const jobs = await imports.startJobs();
  await takeIn();
  await jobs.stop();
  await putOnRecordAgain();
  while ((await shop.admin.query("SELECT FROM log_pending LIMIT 1")).rowCount !== 0) await sleep(500);
  const reportId = await release();
  const path = join(folder, "year.sealbook.gz");
  await handOut(reportId, path);
  const { body: head } = await imports.bench.technician.agent.get("/api/log/head").expect(200);
  await verifyInPage(path, head.key);
  await verifyByCommand(path, head.key);

  /** Each meter has been at its place since 2019, and is tested once in 2025. */
  async function takeIn(): Promise<void> {
    const { bench } = imports;
    const { rows: names } = await shop.admin.query<{ place: string; maker: string; model: string }>(
      "SELECT p.name AS place, t.maker, t.model FROM place p, meter_type t WHERE p.id = $1 LIMIT 1",
      [bench.placeId],
    );
    const { place = "", maker = "", model = "" } = names[0] ?? {};
    const files = inventoryImport(bench.technician.agent);
    const columns = ["utilityNumber", "serial", "maker", "model", "place", "placedOn"];
    const meters = await files.add(
      "meters",
      csv(columns, (n) => [numberOf(n), `S${numberOf(n)}`, maker, model, place, "2019-06-03"]),
    );
    const asThemselves = Object.fromEntries(columns.map((name) => [name, name]));
    await files.start("check", meters.id, {
      mappingId: await files.aMapping(plainMapping("meters", asThemselves)),
    });
    await files.until(meters.id, ["checked", "failed"], mostMinutes * 60);
    await files.start("run", meters.id);
    const metersIn = await files.until(meters.id, ["done", "failed"], mostMinutes * 60);
    if (metersIn.rowsGood !== fromFile) throw new Error(JSON.stringify({ ...metersIn, sample: [] }));

    const { id } = await imports.add(
      csv(Object.keys(benchMapping.columns), (n) => [
        numberOf(n),
        dayOf(n),
        `${String(8 + (n % 8)).padStart(2, "0")}:${String(n % 60).padStart(2, "0")}`,
        bench.technician.username,
        n % 3 === 0 ? "REMOVED" : "ROUTINE",
        imports.standard,
        figure(n, 7_919),
        figure(n, 104_729),
        figure(n, 15_485_863),
        n % 997 === 0 ? "yes" : "no",
        "",
      ]),
    );
    await imports.check(id, await imports.aMapping());
    await imports.until(id, ["checked", "failed"], mostMinutes * 60);
    const seconds = await secondsOf(async () => {
      await imports.run(id);
      const now = await imports.until(id, ["done", "failed"], mostMinutes * 60);
      if (now.rowsGood !== fromFile) throw new Error(JSON.stringify({ ...now, sample: [] }));
    });
    printFigure(
      "tests taken in from the bench's file",
      `${Math.round(fromFile / seconds).toLocaleString("en-US")} rows/s`,
    );
  }
} finally {
  await shop.close();
  await database.drop();
  if (process.env.KEEP_BUNDLE === undefined) rmSync(folder, { recursive: true, force: true });
  else process.stdout.write(`${folder}\n`);
}

/** Tests that are on record once more, some seconds after the ones from the file, until there are enough. */
async function putOnRecordAgain(): Promise<void> {
  const { rows: first } = await shop.admin.query<{ id: string }>("SELECT id FROM meter_test ORDER BY id");
  const columnsOf = async (table: string, but: readonly string[]) =>
    (
      await shop.admin.query<{ name: string }>(
        "SELECT attname AS name FROM pg_attribute WHERE attrelid = $1::regclass AND attnum > 0 AND NOT attisdropped",
        [table],
      )
    ).rows
      .map(({ name }) => name)
      .filter((name) => !but.includes(name));
  const ofTest = await columnsOf("meter_test", ["id", "entry_id", "performed_at", "recorded_at"]);
  const ofPoint = await columnsOf("meter_test_point", ["test_id"]);
  const made = "unnest($1::uuid[], $2::uuid[], $3::uuid[]) AS c (original, id, entry_id)";
  const written = (at: string) => `to_char(${at} AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"')`;
  const seconds = await secondsOf(async () => {
    for (let done = first.length, round = 1; done < tests; round++) {
      const originals = first.slice(0, tests - done).map(({ id }) => id);
      const ids = [originals, originals.map(newId), originals.map(newId)];
      await inTransaction(shop.admin, null, async (tx) => {
        const [now] = await tx.query<{ at: Date }>("SELECT now_to_the_millisecond() AS at");
        await tx.query(
          `INSERT INTO ledger_entry (id, at, actor_id, action, subject_type, subject_id, reason, payload)
           SELECT c.entry_id, $5, e.actor_id, e.action, e.subject_type, c.id::text, e.reason,
             replace(e.payload, ${written("t.performed_at")}, ${written("(t.performed_at + $4 * interval '1 second')")})
           FROM ${made} JOIN meter_test t ON t.id = c.original JOIN ledger_entry e ON e.id = t.entry_id`,
          [...ids, round, now?.at],
        );
        await tx.query(
          `INSERT INTO meter_test (id, entry_id, performed_at, recorded_at, ${ofTest.join(", ")})
           SELECT c.id, c.entry_id, t.performed_at + $4 * interval '1 second', $5, ${ofTest.map((name) => `t.${name}`).join(", ")}
           FROM ${made} JOIN meter_test t ON t.id = c.original`,
          [...ids, round, now?.at],
        );
        await tx.query(
          `INSERT INTO meter_test_point (test_id, ${ofPoint.join(", ")})
           SELECT c.id, ${ofPoint.map((name) => `p.${name}`).join(", ")}
           FROM ${made} JOIN meter_test_point p ON p.test_id = c.original AND $3::uuid[] IS NOT NULL`,
          ids,
        );
      });
      done += originals.length;
    }
  });
  printFigure("the others put on record from these, and logged", `${seconds.toFixed(1)} s`);
}

async function release(): Promise<string> {
  const author = await shop.signIn("quality-engineer");
  const other = await shop.signIn("supervisor");
  const { rows } = await shop.admin.query<{ id: string }>(
    "SELECT id FROM rule_profile WHERE key = 'us-nc' ORDER BY version::int DESC LIMIT 1",
  );
  const id = newId();
  const report = {
    id,
    kind: "first",
    title: "Meter tests of 2025",
    periodFrom: "2025-01-01",
    periodTo: "2025-12-31",
  };
  await author.agent
    .post("/api/reports")
    .send({ ...report, profileId: rows[0]?.id, layoutProfileId: null, placeId: null })
    .expect(201);
  const seconds = await secondsOf(async () => {
    for (const [{ agent }, step] of [
      [other, "review"],
      [author, "signature"],
      [other, "release"],
    ] as const) {
      await agent
        .post(`/api/reports/${id}/${step}`)
        .set("Idempotency-Key", newId())
        .send({ password: testPassword })
        .expect(200);
    }
  });
  printFigure("reviewed, signed and released, with the manifest", `${seconds.toFixed(1)} s`);
  return id;
}

async function handOut(reportId: string, path: string): Promise<void> {
  const { agent } = await shop.signIn("regulator");
  while ((await shop.admin.query("SELECT FROM log_pending LIMIT 1")).rowCount !== 0) await sleep(500);
  const seconds = await secondsOf(() =>
    pipeline(agent.get(`/api/reports/${reportId}/bundle`) as never, createWriteStream(path)),
  );
  printFigure(
    "evidence handed out",
    `${seconds.toFixed(1)} s`,
    `${(statSync(path).size / 1e6).toFixed(0)} MB`,
  );
}

async function verifyByCommand(path: string, key: string): Promise<void> {
  let said = "";
  const seconds = await secondsOf(async () => {
    const { verification, lines } = await verifyBundleFile(path, readHeld(key));
    if (!verification.holdsFully) throw new Error(lines.join("\n"));
    said = lines.join("\n");
  });
  printFigure(
    "verified by the command",
    `${seconds.toFixed(1)} s`,
    "holds",
    said.includes("Everything here holds."),
  );
}

async function verifyInPage(path: string, key: string): Promise<void> {
  const page = await buildVerifier(folder);
  const browser = await openBrowser();
  try {
    const { page: tab, context } = await openDesk(browser, "http://localhost");
    await context.setOffline(true);
    await tab.goto(pathToFileURL(page.path).href);
    await tab.getByLabel("Evidence bundle").setInputFiles(path);
    await tab.getByLabel("What you hold from elsewhere").fill(key);
    const seconds = await secondsOf(async () => {
      await tab.getByRole("button", { name: "Verify" }).click();
      await tab
        .getByRole("heading", { name: /hold|told/ })
        .first()
        .waitFor({ timeout: mostMinutes * 60_000 });
    });
    const holds = (await tab.getByRole("heading", { name: "Everything here holds." }).count()) === 1;
    printFigure("verified by the offline page in a browser", `${seconds.toFixed(1)} s`, "holds", holds);
  } finally {
    await browser.close();
  }
}

function csv(columns: readonly string[], cellsOf: (n: number) => readonly string[]): Buffer {
  const pieces = [Buffer.from(`${columns.join(",")}\n`)];
  let piece = "";
  for (let n = 1; n <= fromFile; n++) {
    piece += `${cellsOf(n).join(",")}\n`;
    if (piece.length < 1_000_000 && n < fromFile) continue;
    pieces.push(Buffer.from(piece));
    piece = "";
  }
  return Buffer.concat(pieces);
}

function numberOf(n: number): string {
  return String(n).padStart(8, "0");
}

/** A day from 3 January to 18 December 2025. */
function dayOf(n: number): string {
  return new Date(Date.UTC(2025, 0, 3 + (n % 350))).toISOString().slice(0, 10);
}

/** Percent registration from 97.50 to 102.49. */
function figure(n: number, factor: number): string {
  return (97.5 + ((n * factor) % 500) / 100).toFixed(2);
}

async function secondsOf(work: () => Promise<unknown>): Promise<number> {
  const start = performance.now();
  await work();
  return (performance.now() - start) / 1000;
}
