import { importTasks } from "@sealbook/api/modules/imports/jobs";
import { type Jobs, startJobs } from "@sealbook/api/platform/jobs";
import { pino } from "pino";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp } from "../support/app.ts";
import { inventoryImport, plainMapping } from "../support/inventory-import.ts";
import { type MeterBench, meterBench } from "../support/meter-bench.ts";

/** What would break in the shop: a utility that brings its old inventory along, and meters lost or twice on the way. */
let shop: TestApp;
let bench: MeterBench;
let supervisor: SignedIn;
let files: ReturnType<typeof inventoryImport>;
let jobs: Jobs;
let planCode: string;

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  supervisor = await shop.signIn("supervisor");
  files = inventoryImport(supervisor.agent);
  planCode = (await bench.aPlan()).code;
  const { database } = shop.app;
  const log = pino({ level: "silent" });
  jobs = await startJobs({ database, tasks: importTasks(database, log), log });
}, 120_000);
afterAll(async () => {
  await jobs.stop();
  await shop.close();
});

const typeColumns = [
  "maker",
  "model",
  "form",
  "phases",
  "wires",
  "elements",
  "classAmperes",
  "testAmperes",
  "voltsMin",
  "voltsMax",
  "designVolts",
  "kh",
  "accuracyClass",
  "technology",
  "registerDials",
  "testPlanCode",
];
const meterColumns = [
  "utilityNumber",
  "serial",
  "maker",
  "model",
  "owner",
  "purchasedOn",
  "place",
  "placedOn",
];
const pointColumns = ["servicePoint", "address", "area", "jurisdiction"];
const eventColumns = ["utilityNumber", "eventKind", "performedAt", "place", "registerReading", "eventReason"];
const asThemselves = (columns: readonly string[]) => Object.fromEntries(columns.map((name) => [name, name]));
const csv = (columns: readonly string[], rows: readonly (readonly string[])[]) =>
  `${[columns, ...rows].map((row) => row.join(",")).join("\r\n")}\r\n`;
const codesOf = (problems: readonly { rowNumber: number; code: string }[]) =>
  problems.map(({ rowNumber, code }) => `${rowNumber} ${code}`);

describe("files of the inventory", () => {
  it("bring meter types, told apart by maker, model, form and class", async () => {
    const typeRow = (maker: string, model: string, over: Record<string, string> = {}) =>
      typeColumns.map(
        (column) =>
          over[column] ??
          {
            maker,
            model,
            form: "2S",
            phases: "1",
            wires: "3",
            elements: "1",
            classAmperes: "200",
            testAmperes: "30",
            voltsMin: "240",
            voltsMax: "240",
            designVolts: "240",
            kh: "7.2",
            accuracyClass: "0.5",
            technology: "solid-state",
            registerDials: "5",
            testPlanCode: planCode,
          }[column] ??
          "",
      );
    const mappingId = await files.aMapping(plainMapping("meter-types", asThemselves(typeColumns)));
    const content = csv(typeColumns, [
      typeRow("Harrowgate", "HG-200"),
      typeRow("Pellworth", "P1"),
      typeRow("Harrowgate", "HG-200"),
      typeRow("Harrowgate", "HG-7", { kh: "none" }),
      typeRow("Harrowgate", "HG-8", { testAmperes: "300" }),
      typeRow("Harrowgate", "HG-9", { testPlanCode: "NO-SUCH" }),
    ]);
    const added = await files.add("meter-types", content);
    expect(await files.check(added.id, mappingId)).toMatchObject({
      state: "checked",
      rowsGood: 2,
      rowsBad: 4,
    });
    expect(codesOf(await files.problems(added.id))).toEqual([
      "4 duplicate-in-file",
      "5 not-a-number",
      "6 refused",
      "7 refused",
    ]);
    expect(await files.run(added.id)).toMatchObject({ state: "done", rowsGood: 2, rowsBad: 4 });
    expect(await files.check(added.id, mappingId)).toMatchObject({ rowsGood: 0, rowsAlready: 2 });
  });

  it("bring service points, whose addresses the ledger never holds", async () => {
    const mappingId = await files.aMapping(plainMapping("service-points", asThemselves(pointColumns)));
    const content = csv(pointColumns, [
      ["SP-1", '"1 Larch Lane, rear"', "Quillmoor East", "us-nc"],
      ["SP-2", "2 Larch Lane", "Quillmoor East", "us-nc"],
      ["SP-2", "2 Larch Lane", "Quillmoor East", "us-nc"],
      ["SP-3", "3 Larch Lane", "Quillmoor East", "nowhere"],
      ["SP-4", "", "Quillmoor East", "us-nc"],
    ]);
    const added = await files.add("service-points", content);
    expect(await files.check(added.id, mappingId)).toMatchObject({ rowsGood: 2, rowsBad: 3 });
    expect(codesOf(await files.problems(added.id))).toEqual([
      "4 duplicate-in-file",
      "5 unknown-jurisdiction",
      "6 missing",
    ]);
    expect(await files.run(added.id)).toMatchObject({ state: "done", rowsGood: 2 });
    const { rows } = await shop.admin.query(
      `SELECT s.number, v.value, (SELECT count(*)::int FROM ledger_entry e WHERE e.payload LIKE '%Larch%') AS leaks
       FROM service_point s JOIN personal_value v ON v.id = s.address_id WHERE s.number LIKE 'SP-_' ORDER BY s.number`,
    );
    expect(rows).toEqual([
      { number: "SP-1", value: "1 Larch Lane, rear", leaks: 0 },
      { number: "SP-2", value: "2 Larch Lane", leaks: 0 },
    ]);
    expect(await files.check(added.id, mappingId)).toMatchObject({ rowsGood: 0, rowsAlready: 2 });
  });

  it("bring meters to service points and places, and say of each row that cannot go in why", async () => {
    const mappingId = await files.aMapping(plainMapping("meters", asThemselves(meterColumns)));
    const room = (
      await shop.admin.query<{ name: string }>("SELECT name FROM place WHERE id = $1", [bench.placeId])
    ).rows[0]?.name;
    const ok = ["Harrowgate", "HG-200", "utility", "2019-04-01"];
    const content = csv(meterColumns, [
      ["000123", "A1", ...ok, "SP-1", "2019-06-03"],
      ["000124", "A2", ...ok, String(room), ""],
      ["000124", "A3", ...ok, String(room), ""],
      ["000125", "A1", ...ok, String(room), ""],
      ["000126", "A4", "Harrowgate", "HG-999", "utility", "2019-04-01", "SP-1", ""],
      ["000127", "A5", ...ok, "Attic", ""],
      ["000128", "A6", "Harrowgate", "HG-200", "lodger", "2019-04-01", "SP-1", ""],
      ["000129", "A7", "Harrowgate", "HG-200", "utility", "2999-04-01", "SP-1", ""],
      ["000130", "A8", ...ok, "SP-1", "2018-01-01"],
      ["", "A9", ...ok, "SP-1", ""],
      ["000131", "A1", "Pellworth", "P1", "customer", "", "SP-2", ""],
    ]);
    const added = await files.add("meters", content);
    expect(await files.check(added.id, mappingId)).toMatchObject({ rowsGood: 3, rowsBad: 8 });
    expect(codesOf(await files.problems(added.id))).toEqual([
      "4 duplicate-in-file",
      "5 duplicate-in-file",
      "6 unknown-type",
      "7 unknown-place",
      "8 unknown-word",
      "9 purchase-in-future",
      "10 placed-before-purchase",
      "11 missing",
    ]);
    expect(await files.run(added.id)).toMatchObject({ state: "done", rowsGood: 3, rowsBad: 8 });
    const { rows } = await shop.admin.query(
      `SELECT m.utility_number, m.serial, m.owner, m.state, e.kind, (e.performed_at AT TIME ZONE 'America/New_York')::text AS at,
         x.action FROM meter m JOIN meter_event e ON e.meter_id = m.id JOIN ledger_entry x ON x.id = m.entry_id
       WHERE m.utility_number LIKE '0001__' AND e.entry_id = m.entry_id ORDER BY m.utility_number`,
    );
    const entry = { action: "import.rows" };
    expect(rows).toEqual([
      {
        utility_number: "000123",
        serial: "A1",
        owner: "utility",
        state: "in-service",
        kind: "set",
        at: "2019-06-03 00:00:00",
        ...entry,
      },
      {
        utility_number: "000124",
        serial: "A2",
        owner: "utility",
        state: "received",
        kind: "receive",
        at: "2019-04-01 00:00:00",
        ...entry,
      },
      {
        utility_number: "000131",
        serial: "A1",
        owner: "customer",
        state: "in-service",
        kind: "set",
        at: expect.any(String),
        ...entry,
      },
    ]);
    expect(await files.setAside(added.id)).toContain("000127,A5,Harrowgate,HG-200,utility,2019-04-01,Attic,");

    // The same rows in another file, and rows that are at odds with the book.
    const again = await files.add(
      "meters",
      csv(meterColumns, [
        ["000123", "A1", ...ok, "SP-1", "2019-06-03"],
        ["000999", "A2", ...ok, "SP-1", ""],
        ["000124", "A77", ...ok, "SP-1", ""],
      ]),
    );
    expect(await files.check(again.id, mappingId)).toMatchObject({ rowsGood: 0, rowsAlready: 1, rowsBad: 2 });
    expect(codesOf(await files.problems(again.id))).toEqual(["3 serial-taken", "4 number-taken"]);
  });

  it("bring events in any order of the file, as long as each is legal where it stands in its meter's life", async () => {
    const mappingId = await files.aMapping(plainMapping("meter-events", asThemselves(eventColumns)));
    const room = (
      await shop.admin.query<{ name: string }>("SELECT name FROM place WHERE id = $1", [bench.placeId])
    ).rows[0]?.name;
    const content = csv(eventColumns, [
      ["000124", "set", "2019-07-01 10:00", "SP-1", "0", ""],
      ["000124", "stock", "2019-05-02 09:00", String(room), "", ""],
      ["000123", "remove", "2021-03-01 09:30", String(room), "41234", "Exchange"],
      ["000124", "remove", "2019-06-01 10:00", String(room), "5", "Before it was set"],
      ["000131", "retire", "2022-06-01 10:00", String(room), "", "Still in service"],
      ["777777", "remove", "2022-06-01 10:00", String(room), "", ""],
      ["000124", "remove", "2020-06-01 10:00", "SP-2", "9", "To a service point"],
      ["000123", "vanish", "2022-06-01 10:00", String(room), "", ""],
      ["000123", "retire", "2999-06-01 10:00", String(room), "", ""],
      ["000123", "retire", "2021-04-01 10:00", "", "", ""],
    ]);
    const added = await files.add("meter-events", content);
    expect(await files.check(added.id, mappingId)).toMatchObject({ rowsGood: 3, rowsBad: 7 });
    expect(codesOf(await files.problems(added.id))).toEqual([
      "5 illegal",
      "6 illegal",
      "7 unknown-meter",
      "8 wrong-place",
      "9 unknown-word",
      "10 in-future",
      "11 place-missing",
    ]);
    expect(await files.run(added.id)).toMatchObject({ state: "done", rowsGood: 3 });
    const { rows } = await shop.admin.query(
      `SELECT m.utility_number, m.state, string_agg(e.kind, ' ' ORDER BY e.performed_at) AS life
       FROM meter m JOIN meter_event e ON e.meter_id = m.id WHERE m.utility_number IN ('000123', '000124') GROUP BY m.id ORDER BY 1`,
    );
    expect(rows).toEqual([
      { utility_number: "000123", state: "removed", life: "set remove" },
      { utility_number: "000124", state: "in-service", life: "receive stock set" },
    ]);
    expect(await files.check(added.id, mappingId)).toMatchObject({ rowsGood: 0, rowsAlready: 3 });

    const late = await files.add(
      "meter-events",
      csv(eventColumns, [
        ["000124", "return", "2019-06-15 10:00", String(room), "", "Would leave it in the shop"],
      ]),
    );
    expect(await files.check(late.id, mappingId)).toMatchObject({ rowsGood: 0, rowsBad: 1 });
    expect(codesOf(await files.problems(late.id))).toEqual(["2 breaks-later"]);
  });

  it("keep the seals, and ask about a reading that goes backwards, as by hand", async () => {
    const columns = [
      "utilityNumber",
      "eventKind",
      "performedAt",
      "place",
      "registerReading",
      "readingNote",
      "sealsOn",
      "sealsOff",
    ];
    const mappingId = await files.aMapping(plainMapping("meter-events", asThemselves(columns)));
    const room = (
      await shop.admin.query<{ name: string }>("SELECT name FROM place WHERE id = $1", [bench.placeId])
    ).rows[0]?.name;
    const shopRoom = String(room);
    // The meter of the test before, in service since July 2019.
    const content = csv(columns, [
      ["000124", "remove", "2020-03-01 10:00", shopRoom, "99980", "", "", ""],
      ["000124", "return", "2020-03-02 10:00", shopRoom, "", "", "", ""],
      ["000124", "stock", "2020-03-03 10:00", shopRoom, "", "", "", ""],
      ["000124", "set", "2020-04-01 10:00", "SP-1", "99990", "", "K-1; K-2", ""],
      ["000124", "seal", "2020-05-01 10:00", "", "", "", "K-3", "K-1"],
      ["000124", "remove", "2020-06-01 10:00", shopRoom, "12", "", "", ""],
      ["000124", "remove", "2020-06-02 10:00", shopRoom, "12", "rolled-over", "", "K-2;K-3"],
      ["000124", "return", "2020-06-03 10:00", shopRoom, "123456", "", "", ""],
      // In service: it cannot be retired, and what would follow on that cannot be either.
      ["000131", "retire", "2022-06-01 10:00", shopRoom, "", "", "", ""],
      ["000131", "dispose", "2022-06-02 10:00", "", "", "", "", ""],
    ]);
    const added = await files.add("meter-events", content);
    expect(await files.check(added.id, mappingId)).toMatchObject({ rowsGood: 6, rowsBad: 4 });
    expect(codesOf(await files.problems(added.id))).toEqual([
      "7 reading-lower",
      "9 reading-too-long",
      "10 illegal",
      "11 illegal",
    ]);
    expect(await files.run(added.id)).toMatchObject({ state: "done", rowsGood: 6 });
    const { rows } = await shop.admin.query(
      `SELECT e.kind, e.register_reading::text AS reading, e.reading_note AS note,
         (SELECT string_agg(c.change || ' ' || c.number, ', ' ORDER BY c.change, c.number) FROM seal_change c WHERE c.event_id = e.id) AS seals
       FROM meter_event e JOIN meter m ON m.id = e.meter_id
       WHERE m.utility_number = '000124' AND e.performed_at > '2020-03-15' ORDER BY e.performed_at`,
    );
    expect(rows).toEqual([
      { kind: "set", reading: "99990", note: null, seals: "on K-1, on K-2" },
      { kind: "seal", reading: null, note: null, seals: "off K-1, on K-3" },
      { kind: "remove", reading: "12", note: "rolled-over", seals: "off K-2, off K-3" },
    ]);

    const between = await files.add(
      "meter-events",
      csv(columns, [["000124", "seal", "2020-03-10 10:00", "", "99995", "", "K-9", ""]]),
    );
    expect(await files.check(between.id, mappingId)).toMatchObject({ rowsBad: 1 });
    expect(codesOf(await files.problems(between.id))).toEqual(["2 reading-higher"]);
  });

  it("are read with a byte order mark, semicolons, and lines inside quotes; UTF-16 is told apart and refused", async () => {
    const mappingId = await files.aMapping(
      plainMapping("service-points", asThemselves(pointColumns), { separator: ";" }),
    );
    const content = `\uFEFF${pointColumns.join(";")}\nSP-81;"8 ""Mill"" Row; upper";Quillmoor West;us-nc\nSP-82;"8 Mill Row\nrear";Quillmoor West;us-nc\n`;
    const added = await files.add("service-points", content);
    expect(await files.check(added.id, mappingId)).toMatchObject({ rowsTotal: 2, rowsGood: 1, rowsBad: 1 });
    // A line's end inside a cell is read as part of it, and an address holds none.
    expect(await files.problems(added.id)).toMatchObject([
      { rowNumber: 3, code: "malformed", value: "8 Mill Row\nrear" },
    ]);
    expect(await files.run(added.id)).toMatchObject({ rowsGood: 1 });
    const { rows } = await shop.admin.query(
      "SELECT v.value FROM service_point s JOIN personal_value v ON v.id = s.address_id WHERE s.number = 'SP-81'",
    );
    expect(rows).toEqual([{ value: '8 "Mill" Row; upper' }]);

    const utf16 = Buffer.concat([Buffer.from([0xff, 0xfe]), Buffer.from(content.slice(1), "utf16le")]);
    const { body } = await supervisor.agent
      .post("/api/files")
      .query({ id: "01900000-0000-7000-8000-000000000001" })
      .attach("file", utf16, "points.csv")
      .expect(415);
    expect(body.detail).toContain("UTF-16");
  });
});
