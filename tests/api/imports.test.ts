import { setTimeout as sleep } from "node:timers/promises";
import { checkTask, runTask } from "@sealbook/api/modules/imports/imports";
import { importTasks } from "@sealbook/api/modules/imports/jobs";
import type { Jobs } from "@sealbook/api/platform/jobs";
import { newId } from "@sealbook/api/platform/transaction";
import type { Import, ImportProblem, TestMapping } from "@sealbook/contract/imports";
import type { MeterTest } from "@sealbook/contract/meter-tests";
import { parse } from "csv-parse/sync";
import { pino } from "pino";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp, testPassword } from "../support/app.ts";
import { benchMapping } from "../support/bench-file.ts";
import { type ImportBench, importBench } from "../support/import-bench.ts";

let shop: TestApp;
let imports: ImportBench;
let jobs: Jobs;

beforeAll(async () => {
  shop = await testApp();
  imports = await importBench(shop, { meters: 8 });
  jobs = await imports.startJobs();
});
afterAll(async () => {
  await jobs.stop();
  await shop.close();
});

/** A small mapping: meter, time, three figures; the rest is said for all rows. */
function aBody(over: Partial<TestMapping> = {}): Partial<TestMapping> {
  return {
    columns: {
      Meter: "meterNumber",
      When: "performedAt",
      FL: "FL.asFound",
      LL: "LL.asFound",
      PF: "PF.asFound",
    },
    defaultReason: "periodic",
    standardDesignation: imports.standard,
    ...over,
  };
}

let minutes = 0;
/** A time that no other row of this file has: local, in June 2026. */
function aTime(): string {
  minutes += 1;
  const two = (value: number) => String(value).padStart(2, "0");
  return `2026-06-${two(1 + Math.floor(minutes / 600))} ${two(8 + Math.floor((minutes % 600) / 60))}:${two(minutes % 60)}`;
}

const number = (index = 0): string => imports.meters[index]?.number ?? "";

async function dryRun(
  content: string,
  mapping: Partial<TestMapping> = aBody(),
): Promise<{ import: Import; problems: ImportProblem[] }> {
  const added = await imports.add(content);
  await imports.check(added.id, await imports.aMapping(mapping));
  const checked = await imports.until(added.id, ["checked", "failed"]);
  expect(checked.failure).toBeNull();
  return { import: checked, problems: await imports.problems(added.id) };
}

/** Puts a file in and gives its tests in the order of its rows. */
async function putIn(content: string, mapping: Partial<TestMapping> = aBody()): Promise<MeterTest[]> {
  const checked = await dryRun(content, mapping);
  expect(checked.problems).toEqual([]);
  await imports.run(checked.import.id);
  expect(await imports.until(checked.import.id, ["done", "failed"])).toMatchObject({
    state: "done",
    failure: null,
  });
  return await testsOf(checked.import.id);
}

async function testsOf(importId: string): Promise<MeterTest[]> {
  const { agent } = imports.bench.technician;
  const { body } = await agent.get("/api/meter-tests").query({ importId, limit: 200 }).expect(200);
  const tests: MeterTest[] = [];
  for (const { id } of body.rows) tests.push((await agent.get(`/api/meter-tests/${id}`).expect(200)).body);
  return tests.sort((one, other) => (one.source?.rowNumber ?? 0) - (other.source?.rowNumber ?? 0));
}

const codes = (problems: ImportProblem[]) =>
  problems.map(({ rowNumber, column, code }) => `${rowNumber} ${column} ${code}`);

function foundPercents(test: MeterTest | undefined): (string | null)[] {
  return (test?.evaluation.asFound?.points ?? []).map(({ meanPercent }) => meanPercent);
}

describe("reading a bench's file", () => {
  it("takes commas, semicolons, tabs and bars, every line ending, and a byte order mark", async () => {
    for (const [separator, ending, mark] of [
      [",", "\r\n", "\uFEFF"],
      [";", "\n", ""],
      ["\t", "\r", "\uFEFF"],
      ["|", "\r\n", ""],
    ] as const) {
      const lines = [
        ["Meter", "When", "FL", "LL", "PF"],
        [number(0), aTime(), "100.1", "99.9", "100"],
        [number(1), aTime(), "100.2", "99.8", "100"],
      ];
      const text = mark + lines.map((cells) => cells.join(separator)).join(ending) + ending;
      const added = await imports.add(text);
      expect(added.headings).toEqual(lines[0]);
      expect(added.sample).toEqual(lines.slice(1));
      const tests = await putIn(text, aBody({ separator }));
      expect(tests.map((test) => [test.meter.utilityNumber, ...foundPercents(test)])).toEqual([
        [number(0), "100.1", "99.9", "100"],
        [number(1), "100.2", "99.8", "100"],
      ]);
    }
  });

  it("takes a decimal comma, and refuses figures that could mean two things", async () => {
    const mapping = aBody({ separator: ";", decimalMark: "," });
    const [test] = await putIn(`Meter;When;FL;LL;PF\n${number()};${aTime()};100,25;99,75;100\n`, mapping);
    expect(foundPercents(test)).toEqual(["100.25", "99.75", "100"]);
    const { problems } = await dryRun(
      `Meter;When;FL;LL;PF\n${number()};${aTime()};100.25;1.000,5;1e2\n`,
      mapping,
    );
    expect(codes(problems)).toEqual(["2 FL not-a-number", "2 LL not-a-number", "2 PF not-a-number"]);
  });

  it("takes quoted cells with separators, doubled quotes and line ends inside", async () => {
    const columns = { ...aBody().columns, "Note; long": "remarks" };
    const csv = [
      'Meter,When,FL,LL,PF,"Note; long"',
      `${number()},${aTime()},100,100,100,"cover cracked,\r\n12"" pipe"`,
      `"${number(1)}",${aTime()},100,100,100,`,
    ].join("\r\n");
    const tests = await putIn(csv, aBody({ columns }));
    expect(tests.map(({ remarks }) => remarks)).toEqual(['cover cracked,\r\n12" pipe', ""]);
    expect(tests.map(({ source }) => source?.rowNumber)).toEqual([2, 3]);
  });

  it("sets rows with stray quotes or a wrong count of cells aside and reads on behind them", async () => {
    const csv = [
      "Meter,When,FL,LL,PF",
      `${number()},${aTime()},12" disk,100,100`, // 2: a quote in a cell that is not quoted
      `${number()},"${aTime()},100,100,100`, // 3: a quoted cell that does not end
      `${number()},${aTime()},100,100`, // 4: a cell too few
      `${number()},${aTime()},100,100,100,1`, // 5: a cell too many
      `${number()},"${aTime()}"x,100,100,100`, // 6: something behind a closing quote
      "", // 7: nothing
      `${number()},${aTime()},100,100,100`, // 8: good
    ].join("\n");
    const { import: checked, problems } = await dryRun(csv);
    expect(codes(problems)).toEqual([
      "2  quote-misplaced",
      "3  quote-misplaced",
      "4  wrong-column-count",
      "5  wrong-column-count",
      "6  quote-misplaced",
    ]);
    expect(checked).toMatchObject({ rowsTotal: 6, rowsGood: 1, rowsBad: 5 });
  });

  it("refuses a file that is no text or has no headings, and a mapping that does not fit its columns", async () => {
    const { agent } = imports.bench.technician;
    const add = async (content: string | Buffer) =>
      await agent
        .post("/api/imports")
        .send({ id: newId(), kind: "meter-tests", fileId: await imports.keepFile(content) });
    expect((await add("%PDF-1.7\n")).status).toBe(422);
    expect((await add("\n\n\n")).status).toBe(422);
    await agent.post("/api/imports").send({ id: newId(), kind: "meter-tests", fileId: newId() }).expect(404);

    const added = (await add("Meter;When;FL;LL;PF\n1;2;3;4;5\n")).body;
    const reply = await agent
      .post(`/api/imports/${added.id}/check`)
      .send({ mappingId: await imports.aMapping(aBody()) });
    expect(reply.status).toBe(422);
    expect(reply.body.detail).toContain('no columns "Meter", "When", "FL", "LL", "PF"');
    const twice = (await add("Meter,When,FL,FL,LL,PF\n")).body;
    const refused = await agent
      .post(`/api/imports/${twice.id}/check`)
      .send({ mappingId: await imports.aMapping(aBody()) });
    expect(refused.body.detail).toContain('"FL" twice');
  });
});

describe("figures", () => {
  // R = 100 + E by definition; a correction has the error's sign turned. Sums done by hand.
  it("become percent registration from errors and from corrections, exactly", async () => {
    const csv = () => `Meter,When,FL,LL,PF\n${number()},${aTime()},+0.31,-0.205,0\n`;
    const [fromErrors] = await putIn(csv(), aBody({ figures: "error" }));
    expect(foundPercents(fromErrors)).toEqual(["100.31", "99.795", "100"]);
    const [fromCorrections] = await putIn(csv(), aBody({ figures: "correction" }));
    expect(foundPercents(fromCorrections)).toEqual(["99.69", "100.205", "100"]);
  });

  it("are computed from counts and the standard's energy in Wh or kWh", async () => {
    const columns = {
      Meter: "meterNumber",
      When: "performedAt",
      FLn: "FL.counts",
      FLw: "FL.standardEnergy",
      LLn: "LL.counts",
      LLw: "LL.standardEnergy",
      PF: "PF.asFound",
    };
    const head = "Meter,When,FLn,FLw,LLn,LLw,PF";
    // Form 9S in series: m = 3, Kh = 1.8. R = 100 n K / (m W): 100 x 10 x 1.8 / (3 x 6) = 100;
    // 100 x 1 x 1.8 / (3 x 0.602) = 99.66777408637873..., given with 12 significant digits.
    const [inWh] = await putIn(`${head}\n${number()},${aTime()},10,6,1,0.602,100\n`, aBody({ columns }));
    const [inKwh] = await putIn(
      `${head}\n${number()},${aTime()},10,0.006,1,0.000602,100\n`,
      aBody({ columns, energyUnit: "kWh" }),
    );
    for (const test of [inWh, inKwh]) {
      const [full, light] = foundPercents(test);
      expect(full).toBe("100");
      expect(light).toBe("99.6677740864");
      expect(test?.outcome).toMatchObject({
        asFound: { points: [{ runs: [{ kind: "counts", counts: "10" }] }, {}, {}] },
      });
    }
    const { problems } = await dryRun(
      `${head}\n${number()},${aTime()},10,0.006,1,0.602,100\n${number()},${aTime()},10,,0,0.602,100\n`,
      aBody({ columns }),
    );
    // Energy in kWh under a mapping that says Wh is a thousand times off; a missing energy; counts of nothing.
    expect(codes(problems)).toEqual([
      "2 FLn implausible-figure",
      "3 FLw figure-missing",
      "3 LLn not-positive",
    ]);
  });

  it("far from 100 are set aside as slips of sign, unit or column, up to and without the bounds", async () => {
    const row = (figure: string) => `${number()},${aTime()},${figure},100,100`;
    const { problems } = await dryRun(
      ["Meter,When,FL,LL,PF", ...["50", "150", "49.99", "150.01", "0.2", "-100"].map(row)].join("\n"),
    );
    expect(codes(problems)).toEqual([4, 5, 6, 7].map((at) => `${at} FL implausible-figure`));
  });

  it("must be there for every point of the plan and no other", async () => {
    const columns = { ...aBody().columns, VAR: "VAR.asFound" };
    const { problems } = await dryRun(
      [
        "Meter,When,FL,LL,PF,VAR",
        `${number()},${aTime()},100,,100,`,
        `${number()},${aTime()},100,100,100,100`,
      ].join("\n"),
      aBody({ columns }),
    );
    expect(codes(problems)).toEqual(["2 LL figure-missing", "3 VAR point-not-in-plan"]);
  });
});

describe("as left", () => {
  const columns = () => ({
    ...aBody().columns,
    FL2: "FL.asLeft",
    LL2: "LL.asLeft",
    PF2: "PF.asLeft",
    Work: "adjustment",
  });
  const head = "Meter,When,FL,LL,PF,FL2,LL2,PF2,Work";

  it("is as found where nothing was adjusted, and its own pass where something was", async () => {
    const tests = await putIn(
      [
        `${head},Creep`,
        `${number(0)},${aTime()},100.5,100.1,100.2,,,,,none`,
        `${number(1)},${aTime()},103.5,103.1,103.2,100.1,100,99.9,magnet moved,none`,
        `${number(2)},${aTime()},103.5,103.1,103.2,100.1,100,99.9,,none`,
        `${number(3)},${aTime()},100.5,100.1,100.2,100.5,100.1,100.2,,none`,
        `${number(4)},${aTime()},100.5,100.1,100.2,,,,,`,
      ].join("\n"),
      aBody({ columns: { ...columns(), Creep: "creep" } }),
    );
    const asLeft = tests.map(({ outcome }) => (outcome.kind === "tested" ? outcome.asLeft : null));
    expect(asLeft).toMatchObject([
      { kind: "same" },
      { kind: "entered", adjustment: "magnet moved" },
      { kind: "entered", adjustment: "Not described in the bench's file." },
      { kind: "same" },
      { kind: "same" },
    ]);
    // North Carolina: as found beyond 102 fails, within 98 and 102 passes. The plan asks for creep: where the file says
    // nothing of it, as of the adjusted meters as left, the pass stays open.
    expect(tests.map(({ asFound, asLeft: left }) => [asFound, left])).toEqual([
      ["pass", "pass"],
      ["fail", "incomplete"],
      ["fail", "incomplete"],
      ["pass", "pass"],
      ["incomplete", "incomplete"],
    ]);
  });

  it("is complete where the file says that the adjusted meter does not creep", async () => {
    const tests = await putIn(
      [
        `${head},Creep,Creep2`,
        `${number(0)},${aTime()},103.5,103.1,103.2,100.1,100,99.9,magnet moved,none,none`,
        `${number(1)},${aTime()},100.5,100.1,100.2,100.5,100.1,100.2,,yes,no`,
        `${number(2)},${aTime()},100.5,100.1,100.2,,,,,none,none`,
      ].join("\n"),
      aBody({ columns: { ...columns(), Creep: "creep", Creep2: "creepAsLeft" } }),
    );
    const asLeft = tests.map(({ outcome }) => (outcome.kind === "tested" ? outcome.asLeft : null));
    expect(asLeft).toMatchObject([
      { kind: "entered", pass: { creep: "none" } },
      { kind: "entered", pass: { creep: "none" } },
      { kind: "same" },
    ]);
    // North Carolina: within 98 and 102 without creep passes; a meter that creeps fails.
    expect(tests.map(({ asFound, asLeft: left }) => [asFound, left])).toEqual([
      ["fail", "pass"],
      ["fail", "pass"],
      ["pass", "pass"],
    ]);
  });

  it("needs figures as left where creep is said to be another as left", async () => {
    const { problems } = await dryRun(
      `${head},Creep,Creep2\n${number(0)},${aTime()},100,100,100,,,,,yes,no\n`,
      aBody({ columns: { ...columns(), Creep: "creep", Creep2: "creepAsLeft" } }),
    );
    expect(codes(problems)).toEqual(["2 Creep2 as-left-missing"]);
  });

  it("is asked for whole, and where work is named", async () => {
    const { problems } = await dryRun(
      [
        head,
        `${number(0)},${aTime()},103,103,103,100,100,,magnet moved`,
        `${number(1)},${aTime()},103,103,103,,,,magnet moved`,
      ].join("\n"),
      aBody({ columns: columns() }),
    );
    expect(codes(problems)).toEqual(["2 PF2 figure-missing", "3 Work as-left-missing"]);
  });
});

describe("times", () => {
  // Clocks in New York: forward at 02:00 on the second Sunday of March, back at 02:00 on the first Sunday of
  // November (15 U.S.C. 260a). From memory; the dates are 2026-03-08 and 2025-11-02.
  it("are the shop's wall time, summer and winter, and are refused where clocks change", async () => {
    const row = (time: string) => `${number(4)},${time},100,100,100`;
    const csv = [
      "Meter,When,FL,LL,PF",
      row("2026-01-15 09:00"), // UTC-5
      row("2026-07-15T09:00:30"), // UTC-4
      row("2026-03-08 02:30"),
      row("2025-11-02 01:30"),
      row("2025-11-02 01:30-04:00"),
      row("2025-11-02 01:30-05:00"),
      row("2026-02-01T12:00:00Z"),
    ].join("\n");
    const { import: checked, problems } = await dryRun(csv);
    expect(codes(problems)).toEqual(["4 When time-nonexistent", "5 When time-ambiguous"]);
    await imports.run(checked.id);
    await imports.until(checked.id, ["done"]);
    expect((await testsOf(checked.id)).map(({ performedAt }) => performedAt)).toEqual([
      "2026-01-15T14:00:00.000Z",
      "2026-07-15T13:00:30.000Z",
      "2025-11-02T05:30:00.000Z",
      "2025-11-02T06:30:00.000Z",
      "2026-02-01T12:00:00.000Z",
    ]);
  });

  it("are read in the order that the mapping says, in one column or two", async () => {
    const columns = { ...aBody().columns, Day: "performedDate", Clock: "performedTime" };
    delete (columns as Record<string, string>).When;
    const csv = (day: string, clock: string) =>
      `Meter,Day,Clock,FL,LL,PF\n${number(5)},${day},${clock},100,100,100\n`;
    const [european] = await putIn(
      csv("03.04.2026", "14:05"),
      aBody({ columns, dateOrder: "day-month-year" }),
    );
    expect(european?.performedAt).toBe("2026-04-03T18:05:00.000Z");
    const [american] = await putIn(
      csv("3/4/2026", "2:05 PM"),
      aBody({ columns, dateOrder: "month-day-year" }),
    );
    expect(american?.performedAt).toBe("2026-03-04T19:05:00.000Z");
    const { problems } = await dryRun(
      [
        "Meter,Day,Clock,FL,LL,PF",
        ...[
          "2026-13-01,10:00",
          "2026-02-29,10:00",
          "26-03-01,10:00",
          "2026-03-01,25:00",
          "2026-03-01,",
          ",10:00",
        ].map((when) => `${number(5)},${when},100,100,100`),
      ].join("\n"),
      aBody({ columns }),
    );
    expect(codes(problems)).toEqual([
      "2 Day bad-date",
      "3 Day bad-date",
      "4 Day bad-date",
      "5 Day bad-date",
      "6 Clock time-missing",
      "7 Day bad-date",
    ]);
  });

  it("in the future and before the meter came into the book are refused", async () => {
    const { problems } = await dryRun(
      `Meter,When,FL,LL,PF\n${number()},2999-01-01 10:00,100,100,100\n${number()},2019-06-02 10:00,100,100,100\n`,
    );
    expect(codes(problems)).toContain("2 When time-refused");
    expect(codes(problems)).toContain("3 When time-refused");
  });
});

describe("what rows name", () => {
  it("finds the meter by number or serial, and refuses a pair that does not belong together", async () => {
    const columns = { ...aBody().columns, Serial: "serial" };
    const [first, second] = imports.meters;
    const csv = [
      "Meter,Serial,When,FL,LL,PF",
      `,${first?.serial},${aTime()},100,100,100`,
      `${first?.number},${first?.serial},${aTime()},100,100,100`,
      `${first?.number},${second?.serial},${aTime()},100,100,100`,
      `,,${aTime()},100,100,100`,
      `${first?.number.replace(/^0+/, "")},,${aTime()},100,100,100`, // leading zeros are part of the number
    ].join("\n");
    const { import: checked, problems } = await dryRun(csv, aBody({ columns }));
    expect(codes(problems)).toEqual([
      "4 Meter meter-mismatch",
      "5 Meter meter-missing",
      "6 Meter unknown-meter",
    ]);
    expect(checked.rowsGood).toBe(2);
  });

  it("finds the tester by sign-in name or printed name, whatever the case, and refuses a name of two people", async () => {
    const administrator = await shop.signIn("administrator");
    for (const username of ["twin1", "twin2"]) {
      await administrator.agent
        .post("/api/people")
        .send({ id: newId(), username, name: "Wren Halloway", role: "technician", password: testPassword })
        .expect(201);
    }
    const columns = { ...aBody().columns, Who: "tester" };
    const { bench } = imports;
    const csv = [
      "Meter,Who,When,FL,LL,PF",
      `${number()},${bench.engineer.username.toUpperCase()},${aTime()},100,100,100`,
      `${number()},Quality-Engineer Number 2,${aTime()},100,100,100`,
      `${number()},wren halloway,${aTime()},100,100,100`,
      `${number()},twin2,${aTime()},100,100,100`,
      `${number()},,${aTime()},100,100,100`,
    ].join("\n");
    const { import: checked, problems } = await dryRun(csv, aBody({ columns }));
    expect(codes(problems)).toEqual(["4 Who ambiguous-tester"]);
    await imports.run(checked.id);
    await imports.until(checked.id, ["done"]);
    expect((await testsOf(checked.id)).map(({ tester }) => tester?.name)).toEqual([
      "quality-engineer number 2",
      "quality-engineer number 2",
      "Wren Halloway",
      // No name in the row: whoever has the file taken in.
      "technician number 1",
    ]);
  });

  it("knows reasons, standards and plans, and says which it does not know", async () => {
    const columns = { ...aBody().columns, Why: "reason", Std: "standard", Plan: "planCode" };
    const csv = [
      "Meter,When,FL,LL,PF,Why,Std,Plan",
      `${number()},${aTime()},100,100,100,ROUTINE,${imports.standard},`,
      `${number()},${aTime()},100,100,100,referee,,`,
      `${number()},${aTime()},100,100,100,,,`,
      `${number()},${aTime()},100,100,100,because,NO-STD,NO-PLAN`,
      `${number()},${aTime()},100,100,100,,${imports.overdueStandard},`,
    ].join("\n");
    const { problems } = await dryRun(csv, aBody({ columns, defaultReason: "removal" }));
    expect(codes(problems)).toEqual(["5 Why unknown-reason", "6 Std standard-overdue"]);
    expect(problems[1]?.value).toBe(imports.overdueStandard);
    const { problems: unknown } = await dryRun(
      `Meter,When,FL,LL,PF,Why,Std,Plan\n${number()},${aTime()},100,100,100,,NO-STD,NO-PLAN\n`,
      aBody({ columns, defaultReason: "removal" }),
    );
    expect(codes(unknown)).toEqual(["2 Std unknown-standard", "2 Plan unknown-plan"]);
  });

  it("takes a meter that cannot be tested as a result of its own", async () => {
    const columns = { ...aBody().columns, State: "noTestPossible" };
    const mapping = aBody({ columns, noTestPossible: { "NO REG": "not-registering" } });
    const csv = [
      "Meter,When,FL,LL,PF,State",
      `${number(6)},${aTime()},0,0.00,,no reg`,
      `${number(6)},${aTime()},,,,damaged`,
      `${number(6)},${aTime()},100,100,100,damaged`,
      `${number(6)},${aTime()},,,,lost its way`,
    ].join("\n");
    const { import: checked, problems } = await dryRun(csv, mapping);
    expect(codes(problems)).toEqual([
      "4 FL figure-of-untestable",
      "4 LL figure-of-untestable",
      "4 PF figure-of-untestable",
      "5 State unknown-word",
    ]);
    await imports.run(checked.id);
    await imports.until(checked.id, ["done"]);
    expect(
      (await testsOf(checked.id)).map(({ outcome, standardInUse }) => ({ outcome, standardInUse })),
    ).toMatchObject([
      { outcome: { kind: "no-test-possible", reason: "not-registering" }, standardInUse: null },
      { outcome: { kind: "no-test-possible", reason: "damaged" }, standardInUse: null },
    ]);
  });

  it("keeps readings, seals, conditions, creep and remarks", async () => {
    const columns = {
      ...aBody().columns,
      Before: "readingBefore",
      After: "readingAfter",
      Off: "sealsRemoved",
      On: "sealsApplied",
      V: "volts",
      A: "amperes",
      T: "temperature",
      Creep: "creep",
      Note: "remarks",
    };
    const [test] = await putIn(
      `Meter,When,FL,LL,PF,Before,After,Off,On,V,A,T,Creep,Note\n${number(7)},${aTime()},100,100,100,01234.5,01234.7,A1,"B2; B3",119.8,2.5,-3.5,yes,glass dirty\n`,
      aBody({ columns }),
    );
    expect(test).toMatchObject({
      readingBefore: "01234.5",
      readingAfter: "01234.7",
      sealsRemoved: ["A1"],
      sealsApplied: ["B2", "B3"],
      conditions: { volts: "119.8", amperes: "2.5", temperatureCelsius: "-3.5" },
      remarks: "glass dirty",
      outcome: { asFound: { creep: "creeps" } },
      method: "imported",
    });
  });
});

describe("rows set aside", () => {
  it("come back as a file without formulas for spreadsheets, and go in unchanged once mended", async () => {
    const columns = { ...aBody().columns, "=Note": "remarks" };
    const notes = ["=1+1", "+cmd", "-5", "@x", "'=quoted", "plain", '-"5 to 6"'];
    const quoted = (cell: string) => `"${cell.replaceAll('"', '""')}"`;
    const times = notes.map(() => aTime());
    const rows = notes.map((note, index) => `BAD,${times[index]},100,100,100,${quoted(note)}`);
    const { import: checked } = await dryRun(
      ["Meter,When,FL,LL,PF,=Note", ...rows].join("\n"),
      aBody({ columns }),
    );
    const text = await imports.setAside(checked.id);
    const records: string[][] = parse(text, { bom: true });
    expect(records[0]).toEqual(["Meter", "When", "FL", "LL", "PF", "'=Note", "_row", "_reasons"]);
    // A minus before a plain number is a number; everything else that a spreadsheet would run is marked. A mark that
    // the bench's own file had is taken off when it is read and put on again.
    expect(records.slice(1).map((record) => record[5])).toEqual([
      "'=1+1",
      "'+cmd",
      "-5",
      "'@x",
      "'=quoted",
      "plain",
      `'-"5 to 6"`,
    ]);
    expect(records[1]?.[6]).toBe("2");
    expect(records[1]?.[7]).toMatch(/^Meter: No meter of this number/);

    const tests = await putIn(text.replaceAll(/^BAD/gm, number()), aBody({ columns }));
    expect(tests.map(({ remarks }) => remarks)).toEqual(
      notes.map((note) => (note === "'=quoted" ? "=quoted" : note)),
    );
  });

  it("keep what stands beyond the last heading among their reasons, so that the file can be read again", async () => {
    const { import: checked } = await dryRun(
      `Meter,When,FL,LL,PF\n${number()},${aTime()},100,100,100,surplus\n${number()},${aTime()}\n`,
    );
    const records: string[][] = parse(await imports.setAside(checked.id), { bom: true });
    expect(records).toHaveLength(3);
    expect(records[1]?.[6]).toContain("surplus");
    expect(records[2]?.slice(2, 5)).toEqual(["", "", ""]);
    const again = await imports.add(await imports.setAside(checked.id));
    await imports.check(again.id, await imports.aMapping(aBody()));
    // The row with the cell too many is whole now; the other lacks its figures.
    expect(await imports.until(again.id, ["checked"])).toMatchObject({ rowsGood: 1, rowsBad: 1 });
  });

  it("stay aside when the good rows go in, even if they could go in by then; a new dry run lets them", async () => {
    const late = `LATE-${newId().slice(-6)}`;
    const { import: checked } = await dryRun(
      `Meter,When,FL,LL,PF\n${number()},${aTime()},100,100,100\n${late},2026-11-20 10:00,100,100,100\n`,
    );
    expect(checked).toMatchObject({ rowsGood: 1, rowsBad: 1 });
    const { bench } = imports;
    const typeId = await bench.aType(await bench.aPlan());
    await bench.engineer.agent
      .post("/api/meters")
      .send({
        id: newId(),
        utilityNumber: late,
        serial: late,
        owner: "utility",
        typeId,
        firmware: "",
        program: "",
        purchasedOn: null,
        placeId: bench.placeId,
        registerReading: null,
      })
      .expect(201);
    await imports.run(checked.id);
    expect(await imports.until(checked.id, ["done"])).toMatchObject({ rowsGood: 1, rowsBad: 1 });
    expect(await testsOf(checked.id)).toHaveLength(1);
    await imports.check(checked.id, checked.mapping?.id ?? "");
    // Known by now, but in the book only since today.
    expect(await imports.until(checked.id, ["checked"])).toMatchObject({ rowsAlready: 1, rowsBad: 1 });
    expect(codes(await imports.problems(checked.id))).toEqual(["3 When time-refused"]);
  });
});

describe("what is in the book already", () => {
  it("is counted and not added again, whether it came by a file or by hand", async () => {
    const { bench } = imports;
    const meter = imports.meters[3];
    const typed = bench.aTest(meter?.id ?? "", await planOf(meter?.id ?? ""), {
      performedAt: "2026-10-05T14:00:00Z",
    });
    await bench.technician.agent.post("/api/meter-tests").send(typed).expect(201);
    const fresh = aTime();
    const csv = (last: string) =>
      `Meter,When,FL,LL,PF\n${meter?.number},2026-10-05 10:00,100,100,100\n${meter?.number},${fresh},100,100,${last}\n`;
    const first = await dryRun(csv("100"));
    expect(first.import).toMatchObject({ rowsGood: 1, rowsAlready: 1, rowsBad: 0 });
    await imports.run(first.import.id);
    await imports.until(first.import.id, ["done"]);
    // The same rows in a file that differs by a blank line.
    const second = await dryRun(`${csv("100")}\n`);
    expect(second.import.id).not.toBe(first.import.id);
    expect(second.import).toMatchObject({ rowsTotal: 2, rowsGood: 0, rowsAlready: 2 });
    // The same figure written otherwise is the same; another figure is not passed over in silence.
    expect((await dryRun(csv("100.00"))).import).toMatchObject({ rowsAlready: 2, rowsBad: 0 });
    const other = await dryRun(csv("100.01"));
    expect(other.import).toMatchObject({ rowsGood: 0, rowsAlready: 1, rowsBad: 1 });
    expect(codes(other.problems)).toEqual(["3 Meter differs-from-book"]);
  });

  async function planOf(meterId: string): Promise<string> {
    const { agent } = imports.bench.technician;
    return (await agent.get(`/api/meters/${meterId}/test-preparation`).expect(200)).body.plan.id;
  }
});

describe("steps", () => {
  const bigFile = (rows: number) => {
    const lines = ["Meter,When,FL,LL,PF"];
    const start = Date.UTC(2026, 1, 2, 15);
    for (let index = 0; index < rows; index++) {
      const at = new Date(start + (minutes + index) * 60_000).toISOString();
      lines.push(`${number(index % 8)},${at},100,100,100`);
    }
    minutes += rows;
    return lines.join("\n");
  };

  it("can be stopped: rows that went in stay, and another dry run takes up the rest", async () => {
    const { import: checked } = await dryRun(bigFile(1_600));
    await imports.run(checked.id);
    await waitForRows(checked.id, 500);
    const { agent } = imports.bench.technician;
    await agent.post(`/api/imports/${checked.id}/cancel`).expect(202);
    const cancelled = await imports.until(checked.id, ["cancelled", "done"]);
    expect(cancelled).toMatchObject({ state: "cancelled", cancelAsked: false });
    expect(cancelled.rowsGood).toBeGreaterThanOrEqual(500);
    expect(cancelled.rowsGood).toBeLessThan(1_600);
    expect(await countOf(checked.id)).toBe(cancelled.rowsGood);
    await agent.post(`/api/imports/${checked.id}/cancel`).expect(409);
    await agent.post(`/api/imports/${checked.id}/run`).expect(409);

    await imports.check(checked.id, checked.mapping?.id ?? "");
    expect(await imports.until(checked.id, ["checked"])).toMatchObject({
      rowsGood: 1_600 - cancelled.rowsGood,
      rowsAlready: cancelled.rowsGood,
    });
    await imports.run(checked.id);
    await imports.until(checked.id, ["done"]);
    expect(await countOf(checked.id)).toBe(1_600);
    const { rows } = await shop.admin.query(
      "SELECT action FROM ledger_entry WHERE subject_type = 'import' AND subject_id = $1 ORDER BY id",
      [checked.id],
    );
    expect(rows.map(({ action }) => action)).toEqual([
      "import.add",
      "import.run",
      "import.cancel",
      "import.finish",
      "import.run",
      "import.finish",
    ]);
  }, 240_000);

  it("go on where they stood when the service is stopped in the middle", async () => {
    const { import: checked } = await dryRun(bigFile(1_500));
    await imports.run(checked.id);
    await waitForRows(checked.id, 500);
    await jobs.stop();
    const stopped = await imports.get(checked.id);
    expect(stopped.state).toBe("running");
    expect(stopped.rowsDone).toBeLessThan(1_500);
    jobs = await imports.startJobs();
    expect(await imports.until(checked.id, ["done", "failed"])).toMatchObject({
      state: "done",
      rowsDone: 1_500,
      rowsGood: 1_500,
      rowsAlready: 0,
    });
    expect(await countOf(checked.id)).toBe(1_500);
  }, 240_000);

  it("do no row twice when two workers have the same import, however that came about", async () => {
    const { import: checked } = await dryRun(bigFile(1_000));
    await jobs.stop();
    await imports.run(checked.id);
    const { database } = shop.app;
    const run = importTasks(database, pino({ level: "silent" }))[runTask];
    const payload = { importId: checked.id, actorId: imports.bench.technician.id };
    const context = { signal: new AbortController().signal, lastAttempt: false };
    const ends = await Promise.allSettled([run?.(payload, context), run?.(payload, context)]);
    expect(ends.filter(({ status }) => status === "fulfilled").length).toBeGreaterThanOrEqual(1);
    expect(await imports.get(checked.id)).toMatchObject({ state: "done", rowsGood: 1_000, rowsAlready: 0 });
    expect(await countOf(checked.id)).toBe(1_000);
    jobs = await imports.startJobs();
  }, 240_000);

  it.each([
    ["has left the shop", () => ({ active: false })],
    ["has been limited to places", () => ({ active: true, placeIds: [imports.bench.placeId] })],
  ])("fail with a sentence when whoever asked %s since", async (_, change) => {
    const engineer = await shop.signIn("quality-engineer");
    const added = await imports.add(bigFile(3));
    await jobs.stop();
    const mappingId = await imports.aMapping(aBody());
    await engineer.agent.post(`/api/imports/${added.id}/check`).send({ mappingId }).expect(202);
    await engineer.agent.post(`/api/imports/${added.id}/check`).send({ mappingId }).expect(409);
    const administrator = await shop.signIn("administrator");
    await administrator.agent
      .put(`/api/people/${engineer.id}`)
      .set("if-match", '"2"')
      .send({ name: "Left Since", role: "quality-engineer", reason: "changed since", ...change() })
      .expect(200);
    jobs = await imports.startJobs();
    const failed = await imports.until(added.id, ["failed", "checked"]);
    expect(failed).toMatchObject({
      state: "failed",
      failure: expect.stringMatching(/may not import any more/),
    });
  });

  it("say that they failed when an error does not go away", async () => {
    const { import: checked } = await dryRun(bigFile(3));
    await jobs.stop();
    await imports.check(checked.id, checked.mapping?.id ?? "");
    const { database } = shop.app;
    const check = importTasks(database, pino({ level: "silent" }))[checkTask];
    const payload = { importId: checked.id, actorId: imports.bench.technician.id };
    const signal = new AbortController().signal;
    // As the owner of the tables may: no problem can be recorded, nor cleared.
    await shop.admin.query("REVOKE DELETE ON import_problem FROM sealbook_app");
    await expect(check?.(payload, { signal, lastAttempt: false })).rejects.toThrow(/permission denied/);
    expect(await imports.get(checked.id)).toMatchObject({ state: "checking", failure: null });
    await check?.(payload, { signal, lastAttempt: true });
    await shop.admin.query("GRANT DELETE ON import_problem TO sealbook_app");
    expect(await imports.get(checked.id)).toMatchObject({
      state: "failed",
      failure: expect.stringMatching(/^Something failed inside the service/),
    });
    jobs = await imports.startJobs();
  });

  async function waitForRows(id: string, rows: number): Promise<void> {
    for (;;) {
      const now = await imports.get(id);
      if (now.rowsDone >= rows) return;
      if (now.state !== "running") throw new Error(`the import is ${now.state}`);
      await sleep(20);
    }
  }

  async function countOf(importId: string): Promise<number> {
    const { rows } = await shop.admin.query<{ n: number }>(
      "SELECT count(*)::int AS n FROM meter_test WHERE import_id = $1",
      [importId],
    );
    return rows[0]?.n ?? -1;
  }
});

describe("mappings", () => {
  const create = (name: string, body: object) =>
    imports.bench.technician.agent.post("/api/import-mappings").send({ id: newId(), name, body });

  it("are refused when no file could be read by them, with the place", async () => {
    const { columns, ...rest } = benchMapping;
    const without = (...headings: string[]) =>
      Object.fromEntries(Object.entries(columns).filter(([heading]) => !headings.includes(heading)));
    const refused: [object, string][] = [
      [{ ...rest, columns: without("Meter no") }, "/body/columns"],
      [{ ...rest, columns: without("Time") }, "/body/columns"],
      [{ ...rest, columns: without("Purpose") }, "/body/defaultReason"],
      [{ ...rest, columns: without("Ref std") }, "/body/standardDesignation"],
      [{ ...rest, columns: without("FL reg", "LL reg", "PF reg") }, "/body/columns"],
      [{ ...rest, columns: { ...columns, "FL~/again": "FL.asFound" } }, "/body/columns/FL~0~1again"],
      [{ ...rest, columns: { ...columns, n: "FL.counts" } }, "/body/columns"],
      [{ ...benchMapping, timeZone: "Mars/Olympus" }, "/body/timeZone"],
      [{ ...benchMapping, defaultReason: "whim" }, "/body/defaultReason"],
      [{ ...benchMapping, reasons: { A: "whim" } }, "/body/reasons/A"],
      [{ ...benchMapping, noTestPossible: { "B/C": "lost" } }, "/body/noTestPossible/B~1C"],
    ];
    for (const [body, pointer] of refused) {
      const reply = await create(`Refused ${newId().slice(-8)}`, body);
      expect(reply.status, pointer).toBe(422);
      expect(reply.body.errors.map((error: { pointer: string }) => error.pointer)).toContain(pointer);
    }
    await create("Unknown field", { ...benchMapping, columns: { X: "colour" } }).expect(400);
  });

  it("have names of their own and are changed from the version that was read; an import keeps what it used", async () => {
    const { agent } = imports.bench.technician;
    const body = { ...benchMapping, ...aBody() };
    const name = `Bench ${newId().slice(-8)}`;
    const saved = (await create(name, body).expect(201)).body;
    expect((await create(name, body)).body.type).toBe("/problems/already-exists");

    const added = await imports.add(`Meter,When,FL,LL,PF\n${number()},${aTime()},100,100,100\n`);
    await imports.check(added.id, saved.id);
    await imports.until(added.id, ["checked"]);
    const change = { name, body: { ...body, figures: "error" } };
    const put = (version: number) =>
      agent.put(`/api/import-mappings/${saved.id}`).set("if-match", `"${version}"`).send(change);
    expect((await put(saved.version).expect(200)).body).toMatchObject({
      version: 2,
      body: { figures: "error" },
    });
    const stale = await put(saved.version);
    expect(stale.status).toBe(412);
    expect(stale.body.current).toMatchObject({ version: 2 });
    expect((await imports.get(added.id)).mapping?.body.figures).toBe("registration");

    const { rows } = await shop.admin.query(
      "SELECT action FROM ledger_entry WHERE subject_id = $1 ORDER BY id",
      [saved.id],
    );
    expect(rows.map(({ action }) => action)).toEqual(["importMapping.save", "importMapping.save"]);
  });

  it("and imports are listed page by page without loss", async () => {
    const { agent } = imports.bench.technician;
    for (const path of ["/api/import-mappings", "/api/imports"]) {
      const all = (await agent.get(path).query({ limit: 200 }).expect(200)).body.rows.map(
        ({ id }: { id: string }) => id,
      );
      const paged: string[] = [];
      let cursor: string | undefined;
      do {
        const { body } = await agent
          .get(path)
          .query({ limit: 3, ...(cursor === undefined ? {} : { cursor }) })
          .expect(200);
        paged.push(...body.rows.map(({ id }: { id: string }) => id));
        cursor = body.next ?? undefined;
      } while (cursor !== undefined);
      expect(paged).toEqual(all);
      expect(new Set(paged).size).toBe(paged.length);
    }
  });
});
