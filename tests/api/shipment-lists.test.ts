import { setTimeout as sleep } from "node:timers/promises";
import { importTasks } from "@sealbook/api/modules/imports/jobs";
import { type Jobs, startJobs } from "@sealbook/api/platform/jobs";
import { newId } from "@sealbook/api/platform/transaction";
import type { Import, ImportProblem, ImportState, ShipmentMapping } from "@sealbook/contract/imports";
import type { Lot } from "@sealbook/contract/sampling";
import type { Scheme } from "@sealbook/contract/sampling-schemes";
import { parse } from "csv-parse/sync";
import { pino } from "pino";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp } from "../support/app.ts";
import { benchMapping } from "../support/bench-file.ts";
import { makerList, makerListColumns, makerListMapping } from "../support/maker-list.ts";
import {
  inServiceScheme,
  type SamplingBench,
  samplingBench,
  shipmentScheme,
} from "../support/sampling-bench.ts";

let shop: TestApp;
let bench: SamplingBench;
let scheme: Scheme;
let jobs: Jobs;
let storekeeper: SignedIn;
let mappingId: string;

const startImportJobs = () => {
  const log = pino({ level: "silent" });
  const { database } = shop.app;
  return startJobs({ database, tasks: importTasks(database, log), log });
};

beforeAll(async () => {
  shop = await testApp();
  bench = await samplingBench(shop);
  scheme = await bench.aScheme(shipmentScheme);
  storekeeper = await shop.signIn("storekeeper");
  mappingId = await aMapping();
  jobs = await startImportJobs();
});
afterAll(async () => {
  await jobs.stop();
  await bench.close();
  await shop.close();
});

const slug = (reply: { body: { type?: string } }) => reply.body.type?.replace("/problems/", "");

async function keepFile(content: string): Promise<string> {
  const id = newId();
  await storekeeper.agent
    .post("/api/files")
    .query({ id })
    .attach("file", Buffer.from(content), "list.csv")
    .expect(201);
  return id;
}

async function aMapping(over: Partial<ShipmentMapping> = {}): Promise<string> {
  const id = newId();
  await storekeeper.agent
    .post("/api/import-mappings")
    .send({ id, name: `Lists ${id.slice(-8)}`, body: { ...makerListMapping, ...over } })
    .expect(201);
  return id;
}

const add = (lotId: string, fileId: string, by = storekeeper) =>
  by.agent.post("/api/imports").send({ id: newId(), kind: "shipment-meters", fileId, lotId });

const get = async (id: string): Promise<Import> =>
  (await storekeeper.agent.get(`/api/imports/${id}`).expect(200)).body;

async function until(id: string, ...states: ImportState[]): Promise<Import> {
  for (const end = Date.now() + 120_000; ; await sleep(25)) {
    const now = await get(id);
    if (states.includes(now.state)) return now;
    if (Date.now() > end) throw new Error(`the import is ${now.state}`);
  }
}

/** Takes a list in for a shipment and looks at what would become of it. */
async function dryRun(lotId: string, content: string, mapping = mappingId): Promise<Import> {
  const { body } = await add(lotId, await keepFile(content)).expect(201);
  await storekeeper.agent.post(`/api/imports/${body.id}/check`).send({ mappingId: mapping }).expect(202);
  return await until(body.id, "checked", "failed");
}

async function run(id: string): Promise<Import> {
  await storekeeper.agent.post(`/api/imports/${id}/run`).expect(202);
  return await until(id, "done", "failed");
}

async function problemsOf(id: string): Promise<ImportProblem[]> {
  return (await storekeeper.agent.get(`/api/imports/${id}/problems?limit=200`).expect(200)).body.rows;
}

const codes = (problems: readonly ImportProblem[]) =>
  problems.map(({ rowNumber, code, column }) => ({ rowNumber, code, column }));

/** A shipment that still takes meters in, received on 20 November 2026. */
async function forming(): Promise<{ lot: Lot; typeId: string }> {
  return await bench.aShipment(scheme, 0, { planned: false });
}

async function setAsideRows(id: string): Promise<Record<string, string>[]> {
  const { text } = await storekeeper.agent.get(`/api/imports/${id}/set-aside.csv`).buffer(true).expect(200);
  return parse(text, { bom: true, columns: true, delimiter: ";", relax_column_count: true });
}

/** A small list: serial, badge and whatever else a test is about. */
const small = (headings: string, ...rows: string[]) => [headings, ...rows].join("\n");

describe("a maker's list of 3,000 meters", () => {
  it("goes in but for the dozen bad rows, once, however often it is sent, and whole once it is mended", async () => {
    const { lot, typeId } = await forming();
    const known = await bench.received(typeId, 2);
    const [other] = await bench.received(await bench.aType(), 1);
    const list = makerList({
      rows: 3_000,
      seed: 20_261_125,
      prefix: "A1",
      spoil: { serialOfOtherType: `S${other}`, numberTaken: known[0] ?? "" },
    });
    expect(list.bad).toHaveLength(12);

    // The dry run says what would become of each row and changes nothing.
    const checked = await dryRun(lot.id, list.csv);
    expect(checked).toMatchObject({
      failure: null,
      kind: "shipment-meters",
      lot: { id: lot.id, number: lot.number },
      rowsTotal: 3_000,
      rowsGood: 2_988,
      rowsAlready: 0,
      rowsBad: 12,
    });
    expect(codes(await problemsOf(checked.id))).toEqual(list.bad);
    expect((await bench.lot(lot.id)).counts.members).toBe(0);

    const done = await run(checked.id);
    expect(done).toMatchObject({ state: "done", rowsGood: 2_988, rowsAlready: 0, rowsBad: 12 });
    expect(await bench.lot(lot.id)).toMatchObject({ counts: { members: 2_988 }, makerResults: 2_988 });
    const { rows: entries } = await shop.admin.query<{ action: string; n: number }>(
      `SELECT e.action, count(*)::int AS n FROM ledger_entry e
       WHERE e.id IN (SELECT m.entry_id FROM meter m JOIN lot_member b ON b.meter_id = m.id WHERE b.lot_id = $1)
          OR (e.subject_type = 'import' AND e.subject_id = $2) GROUP BY e.action ORDER BY e.action`,
      [lot.id, checked.id],
    );
    expect(entries).toEqual([
      { action: "import.add", n: 1 },
      { action: "import.finish", n: 1 },
      { action: "import.run", n: 1 },
      { action: "meter.create", n: 2_988 },
    ]);

    // The same file again is the import on record; the same list saved anew adds nothing.
    const again = await add(lot.id, await keepFile(list.csv)).expect(201);
    expect(again.body).toMatchObject({ id: checked.id, state: "done" });
    const copy = await dryRun(lot.id, list.csv.replaceAll("\r\n", "\n"));
    expect(copy).toMatchObject({ rowsGood: 0, rowsAlready: 2_988, rowsBad: 12 });
    expect(await run(copy.id)).toMatchObject({ state: "done", rowsGood: 0, rowsAlready: 2_988 });
    expect((await bench.lot(lot.id)).counts.members).toBe(2_988);

    // The rows set aside come back as a file; mended, they go in, and only they do.
    const aside = await setAsideRows(checked.id);
    expect(aside.map(({ _row }) => Number(_row))).toEqual(list.bad.map(({ rowNumber }) => rowNumber));
    expect(aside.every(({ _reasons = "" }) => _reasons.length > 20)).toBe(true);
    const headings = Object.keys(makerListColumns);
    const mended = list.bad.map(({ rowNumber }) => Object.values(list.right.get(rowNumber) ?? {}).join(";"));
    const sentBack = await dryRun(lot.id, small(headings.join(";"), ...mended));
    expect(sentBack).toMatchObject({ rowsGood: 12, rowsAlready: 0, rowsBad: 0 });
    await run(sentBack.id);
    expect(await bench.lot(lot.id)).toMatchObject({ counts: { members: 3_000 }, makerResults: 3_000 });

    // The whole list, mended, is in the book already.
    const whole = small(
      headings.join(";"),
      ...[...list.right.values()].map((row) => Object.values(row).join(";")),
    );
    expect(await dryRun(lot.id, whole)).toMatchObject({ rowsGood: 0, rowsAlready: 3_000, rowsBad: 0 });
  }, 240_000);

  it("goes on where it stood when the service is stopped in the middle", async () => {
    const { lot } = await forming();
    const list = makerList({ rows: 1_600, seed: 7, prefix: "A2", spoil: null });
    const { id } = await dryRun(lot.id, list.csv);
    await storekeeper.agent.post(`/api/imports/${id}/run`).expect(202);
    for (const end = Date.now() + 60_000; (await get(id)).rowsDone < 500; await sleep(5)) {
      if (Date.now() > end) throw new Error("no rows go in");
    }
    await jobs.stop();
    expect((await get(id)).rowsDone).toBeLessThan(1_600);
    jobs = await startImportJobs();
    expect(await until(id, "done", "failed")).toMatchObject({
      rowsDone: 1_600,
      rowsGood: 1_600,
      rowsAlready: 0,
    });
    expect((await bench.lot(lot.id)).counts.members).toBe(1_600);
  }, 120_000);
});

describe("a row of a maker's list", () => {
  it("keeps the maker's results as percent registration, exactly, and what else it says of the meter", async () => {
    // E = R - 100 by definition, so an error of 0.12 % is a registration of 100.12 %; a correction c = -E (common
    // practice, no source) of 0.12 % is one of 99.88 %.
    for (const [figures, fullLoad, average] of [
      ["registration", "100.12", "99.95"],
      ["error", "0.12", "-0.05"],
      ["correction", "-0.12", "0.05"],
    ] as const) {
      const { lot } = await forming();
      const mapping = await aMapping({
        separator: ",",
        decimalMark: ".",
        dateOrder: "iso",
        figures,
        columns: {
          S: "serial",
          B: "utilityNumber",
          F: "fullLoad",
          A: "average",
          D: "purchasedOn",
          V: "firmware",
        },
      });
      const serial = `E-${figures}`;
      const list = small("S,B,F,A,D,V", `${serial},E${figures},${fullLoad},${average},2026-11-20,4.2b`);
      const checked = await dryRun(lot.id, list, mapping);
      expect(await problemsOf(checked.id)).toEqual([]);
      await run(checked.id);
      const { body } = await bench.engineer.agent.get(`/api/lots/${lot.id}/members`).expect(200);
      expect(body.rows).toMatchObject([
        {
          serial,
          makerResult: [
            { label: "Full load", registrationPercent: "100.12" },
            { label: "Average", registrationPercent: "99.95" },
          ],
        },
      ]);
      const { rows } = await shop.admin.query(
        "SELECT firmware, state, purchased_on FROM meter WHERE serial = $1",
        [serial],
      );
      expect(rows).toMatchObject([{ firmware: "4.2b", state: "received" }]);
    }
  });

  it("of a meter on record enters it without a badge, and sets aside a badge that is not the one on record", async () => {
    const { lot, typeId } = await forming();
    const [one, two] = (await bench.received(typeId, 2)) as [string, string];
    const mapping = await aMapping({ columns: { S: "serial", B: "utilityNumber" } });
    const checked = await dryRun(lot.id, small("S;B", `S${one};`, `S${two};NOT-${two}`), mapping);
    expect(codes(await problemsOf(checked.id))).toEqual([
      { rowNumber: 3, code: "number-taken", column: "B" },
    ]);
    expect(await run(checked.id)).toMatchObject({ rowsGood: 1 });
    expect((await bench.lot(lot.id)).counts.members).toBe(1);
  });

  it("of a meter in another shipment is set aside, and the same file is another import there", async () => {
    const typeId = await bench.aType();
    const { lot: first } = await bench.aShipment(scheme, 0, { typeId, planned: false });
    const { lot: second } = await bench.aShipment(scheme, 0, { typeId, planned: false });
    const list = makerList({ rows: 3, seed: 5, prefix: "A3", spoil: null });
    const one = await dryRun(first.id, list.csv);
    await run(one.id);
    const two = await dryRun(second.id, list.csv);
    expect(two.id).not.toBe(one.id);
    expect(two).toMatchObject({ rowsGood: 0, rowsBad: 3 });
    expect(new Set((await problemsOf(two.id)).map(({ code }) => code))).toEqual(new Set(["in-another-lot"]));
  });

  it("is set aside with a far-off figure, as its sign or unit must be another one", async () => {
    const { lot } = await forming();
    const mapping = await aMapping({ columns: { S: "serial", B: "utilityNumber", F: "fullLoad" } });
    const checked = await dryRun(lot.id, small("S;B;F", "F-1;F1;100,1"), mapping);
    expect(codes(await problemsOf(checked.id))).toEqual([
      { rowNumber: 2, code: "implausible-figure", column: "F" },
    ]);
  });
});

describe("a maker's list", () => {
  it("is taken in by whoever receives shipments, and by nobody else; tests are another kind", async () => {
    const { lot } = await forming();
    const fileId = await keepFile("S;B\nG-1;G1\n");
    expect(slug(await add(lot.id, fileId, bench.technician))).toBe("not-permitted");
    const { body } = await add(lot.id, fileId).expect(201);
    const check = (by: SignedIn, mapping: string) =>
      by.agent.post(`/api/imports/${body.id}/check`).send({ mappingId: mapping });
    expect(slug(await check(bench.technician, mappingId))).toBe("not-permitted");
    // Records of tests are not the storekeeper's.
    const tests = await storekeeper.agent
      .post("/api/imports")
      .send({ id: newId(), kind: "meter-tests", fileId });
    expect(slug(tests)).toBe("not-permitted");
    const saved = { id: newId(), name: `Bench ${newId().slice(-8)}`, body: benchMapping };
    expect(slug(await storekeeper.agent.post("/api/import-mappings").send(saved))).toBe("not-permitted");
  });

  it("is read by a mapping of its own kind alone", async () => {
    const id = newId();
    await bench.technician.agent
      .post("/api/import-mappings")
      .send({ id, name: `Bench ${id.slice(-8)}`, body: benchMapping })
      .expect(201);
    const { lot } = await forming();
    const { body } = await add(lot.id, await keepFile("S;B\nH-1;H1\n")).expect(201);
    const reply = await storekeeper.agent.post(`/api/imports/${body.id}/check`).send({ mappingId: id });
    expect(slug(reply)).toBe("refused-by-rule");
    expect(reply.body.errors).toMatchObject([{ pointer: "/mappingId" }]);
    const offered = async (kind: string) =>
      (await storekeeper.agent.get(`/api/import-mappings?kind=${kind}&limit=200`).expect(200)).body.rows.map(
        (row: { body: { kind: string } }) => row.body.kind,
      );
    expect(new Set(await offered("shipment-meters"))).toEqual(new Set(["shipment-meters"]));
    expect(new Set(await offered("meter-tests"))).toEqual(new Set(["meter-tests"]));
    const turned = await bench.engineer.agent
      .put(`/api/import-mappings/${id}`)
      .set("if-match", '"1"')
      .send({ name: "Turned", body: makerListMapping });
    expect(slug(turned)).toBe("refused-by-rule");
  });

  it("needs a mapping that says where the serial stands, each meaning once", async () => {
    const refused = async (columns: Record<string, string>) => {
      const reply = await storekeeper.agent
        .post("/api/import-mappings")
        .send({ id: newId(), name: `No ${newId().slice(-8)}`, body: { ...makerListMapping, columns } })
        .expect(422);
      return reply.body.errors.map(({ pointer }: { pointer: string }) => pointer);
    };
    expect(await refused({ B: "utilityNumber" })).toEqual(["/body/columns"]);
    expect(await refused({ "S/1": "serial", S2: "serial" })).toEqual([
      "/body/columns/S~11",
      "/body/columns/S2",
    ]);
  });

  it("belongs to a shipment that still takes meters in", async () => {
    const { lot: planned } = await bench.aShipment(scheme, 3);
    const fileId = await keepFile("S;B\nI-1;I1\n");
    expect(slug(await add(planned.id, fileId))).toBe("wrong-state");
    expect(slug(await add(newId(), fileId))).toBe("not-found");

    // Planned between the dry run and the run: the run says so and nothing goes in.
    const { lot } = await forming();
    await bench.engineer.agent
      .post(`/api/shipments/${lot.id}/meters`)
      .set("idempotency-key", newId())
      .send({ numbers: await bench.received(lot.typeId ?? "", 2) })
      .expect(200);
    const mapping = await aMapping({ columns: { S: "serial", B: "utilityNumber" } });
    const checked = await dryRun(lot.id, "S;B\nI-2;I2\n", mapping);
    expect(checked.rowsGood).toBe(1);
    await bench.plan(lot.id);
    expect(await run(checked.id)).toMatchObject({
      state: "failed",
      failure: "This shipment is planned: its meters are fixed.",
      rowsGood: 0,
    });
    expect((await bench.lot(lot.id)).counts.members).toBe(2);
  });

  it("does not enter a group in service", async () => {
    const typeId = await bench.aType();
    await bench.inService(
      typeId,
      Array.from({ length: 3 }, (_, index) => `GRP-${index}`),
    );
    const programme = await bench.aProgramme(await bench.aScheme(inServiceScheme));
    const [group] = await bench.lotsOf(programme.id);
    const reply = await add(group?.id ?? "", await keepFile("S;B\nJ-1;J1\n"));
    expect(slug(reply)).toBe("not-found");
  });
});
