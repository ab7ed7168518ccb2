import { describe, expect, test } from "vitest";
import { bandOf } from "../profiles/band-of.ts";
import { michigan } from "../profiles/places/michigan.ts";
import { roundedToWhole } from "../profiles/rounded-to-whole.ts";
import { percentRegistration } from "../units.ts";
import { classesOf, classFinder } from "./class-of.ts";
import { figureChanges } from "./figure-changes.ts";
import { measures, type ReportedPass, type ReportedTest } from "./reported-test.ts";
import { summarise } from "./summarise.ts";
import { testCounter } from "./test-counter.ts";
import { testPeriodOf } from "./test-period-of.ts";

const bands = michigan.reportBands;
if (bands === null) throw new Error("Michigan's layout has bands");

const passed = (average: string | null, more: Partial<ReportedPass> = {}): ReportedPass => ({
  verdict: "pass",
  fullLoad: average,
  lightLoad: average,
  powerFactor: null,
  average,
  outside: [],
  creeps: false,
  ...more,
});

let made = 0;
const aTest = (more: Partial<ReportedTest> = {}): ReportedTest => {
  made += 1;
  return {
    id: `test ${String(made).padStart(4, "0")}`,
    entryId: `entry ${made}`,
    meterId: `meter ${made}`,
    typeId: "type one",
    performedOn: "2026-05-04",
    recordedAt: "2026-05-04T15:00:00.000Z",
    reasons: ["periodic"],
    previousOn: null,
    state: "counted",
    standardId: "standard one",
    calibrationId: "calibration one",
    asFound: passed("100.02"),
    asLeft: passed("100.02"),
    untestableReason: null,
    ...more,
  };
};

const terms = {
  bands,
  phasesOfType: new Map([
    ["type one", 1],
    ["type two", 3],
  ]),
  lateSince: null,
};

/**
 * The classes as the rule prints them, in its order: R 460.3617(2) of the Michigan Administrative Code as it stood before
 * 10 April 2023, read at http://mirules.elaws.us/rule/r460.3617.
 */
const printed = [
  "Not recording",
  "Creeping",
  "up to 94.0",
  "94.1-96.0",
  "96.1-97.0",
  "97.1-98.0",
  "98.1-99.0",
  "99.1-100.0",
  "100.1-101.0",
  "101.1-102.0",
  "102.1-103.0",
  "103.1-104.0",
  "104.1-106.0",
  "over 106.0",
];

describe("the fourteen classes of Michigan's layout", () => {
  test("stand in the rule's order, with two more that keep the sum whole", () => {
    expect(classesOf(bands).map(({ label }) => label)).toEqual([
      ...printed,
      "No test possible",
      "Not measured",
    ]);
  });

  // Each edge from below, at and above: the class is that of the value rounded to one decimal, half away from zero, which
  // is the rounding rule that the profile states. The pairs follow from the printed bounds by hand.
  test.each([
    ["94.0", "94.04", "94.0499", "up to 94.0"],
    ["94.05", "94.1", "96.04", "94.1-96.0"],
    ["96.05", "96.1", "97.0499999999", "96.1-97.0"],
    ["97.05", "97.5", "98.04", "97.1-98.0"],
    ["98.05", "98.1", "99.0", "98.1-99.0"],
    ["99.05", "99.1", "100.04", "99.1-100.0"],
    ["100.05", "100.1", "101.049", "100.1-101.0"],
    ["101.05", "102.0", "102.04", "101.1-102.0"],
    ["102.05", "102.1", "103.04", "102.1-103.0"],
    ["103.05", "103.1", "104.04", "103.1-104.0"],
    ["104.05", "106.0", "106.04", "104.1-106.0"],
    ["106.05", "106.1", "250", "over 106.0"],
    ["0.01", "50", "93.999", "up to 94.0"],
  ])("%s, %s and %s are counted in %s", (...values) => {
    const label = values.pop() as string;
    const classAt = classFinder(bands);
    const labels = classesOf(bands).map((one) => one.label);
    for (const value of values) {
      const test = aTest({ asFound: passed(value) });
      expect(labels[classAt(test, test.asFound, "average")]).toBe(label);
      expect(bandOf(percentRegistration(value), bands)).toBe(label);
    }
  });

  test("not recording goes before creeping, and creeping before the bands", () => {
    const classAt = classFinder(bands);
    const keys = classesOf(bands).map(({ key }) => key);
    const classOf = (test: ReportedTest) => keys[classAt(test, test.asFound, "fullLoad")];
    expect(classOf(aTest({ asFound: passed("0", { creeps: true }) }))).toBe("not-recording");
    expect(classOf(aTest({ asFound: passed("0.000") }))).toBe("not-recording");
    expect(classOf(aTest({ asFound: passed("100.0", { creeps: true }) }))).toBe("creeping");
    expect(classOf(aTest({ asFound: null, untestableReason: "dead" }))).toBe("not-recording");
    expect(classOf(aTest({ asFound: null, untestableReason: "not-registering" }))).toBe("not-recording");
    expect(classOf(aTest({ asFound: null, untestableReason: "tampered" }))).toBe("no-test-possible");
    expect(classOf(aTest({ asFound: passed(null, { creeps: true }) }))).toBe("not-measured");
  });
});

test.each([
  ["102.05", 1, 1021],
  ["102.04", 1, 1020],
  ["-0.05", 1, -1],
  ["-0.04", 1, 0],
  ["99.95", 1, 1000],
  // A binary double holds 1.005 as a little less and would round it down.
  ["1.005", 2, 101],
  ["7", 0, 7],
  ["7.5", 0, 8],
])("%s with %d decimals is %d of the last one", (text, places, whole) => {
  expect(roundedToWhole(text, places)).toBe(whole);
});

test("a test outside its limits is counted apart from the band that it prints in", () => {
  const failing = aTest({ asFound: passed("102.04", { verdict: "fail", outside: ["average"] }) });
  const { divisions, layout } = summarise([failing], terms);
  const [all] = divisions[0]?.rows ?? [];
  const average = all?.measures.find(({ pass, measure }) => pass === "asFound" && measure === "average");
  expect(all?.outsideLimits).toBe(1);
  expect(average?.outsideLimits).toBe(1);
  const place = layout.classes.findIndex(({ label }) => label === "101.1-102.0");
  expect(average?.classes[place]).toBe(1);
});

describe("a year of tests", () => {
  const year = [
    aTest(),
    aTest({ typeId: "type two", reasons: ["customer-request", "periodic"], previousOn: "2018-05-05" }),
    aTest({ previousOn: "2018-05-04", asFound: passed("97.3", { verdict: "fail", outside: ["average"] }) }),
    aTest({ asFound: passed(null, { verdict: "incomplete" }), asLeft: null }),
    aTest({
      asFound: null,
      asLeft: null,
      standardId: null,
      calibrationId: null,
      untestableReason: "damaged",
    }),
    aTest({ state: "amended" }),
    aTest({ state: "withdrawn", asFound: null, asLeft: null }),
    aTest({ recordedAt: "2027-02-01T10:00:00.000Z" }),
  ];
  const yearTerms = { ...terms, lateSince: "2027-01-15T00:00:00.000Z" };
  const summary = summarise(year, yearTerms);

  test("each test falls in exactly one class per measure, in every row", () => {
    for (const { rows } of summary.divisions) {
      for (const row of rows) {
        expect(row.measures.length).toBe(measures.length);
        for (const { classes } of row.measures) {
          expect(classes.reduce((sum, count) => sum + count, 0)).toBe(row.tests);
        }
      }
    }
  });

  test("is divided by type, reason, phase and test period, and counts each test once in the whole", () => {
    const rows = (dimension: string) =>
      summary.divisions
        .find((division) => division.dimension === dimension)
        ?.rows.map(({ key, tests }) => [key, tests]);
    expect(rows("all")).toEqual([["", 6]]);
    expect(rows("type")).toEqual([
      ["type one", 5],
      ["type two", 1],
    ]);
    expect(rows("reason")).toEqual([
      ["customer-request", 1],
      ["periodic", 6],
    ]);
    expect(rows("phase")).toEqual([
      ["polyphase", 1],
      ["single-phase", 5],
    ]);
    expect(rows("test-period")).toEqual([
      ["7", 1],
      ["8", 1],
      ["first", 4],
    ]);
    expect(summary.setAside).toEqual({ amended: 1, withdrawn: 1 });
    expect(summary.untestable).toEqual([{ reason: "damaged", tests: 1 }]);
    expect(summary.divisions[0]?.rows[0]).toMatchObject({
      withinLimits: 3,
      outsideLimits: 1,
      incomplete: 1,
      noTestPossible: 1,
      severalReasons: 1,
      late: 1,
    });
  });

  test("every number opens as many tests as it says", () => {
    const counter = testCounter(yearTerms);
    let looked = 0;
    const behind = (
      dimension: (typeof summary.divisions)[number]["dimension"],
      key: string,
      figure: string,
    ) => year.filter((test) => counter.isBehind(test, { dimension, key, figure })).length;
    for (const { dimension, rows } of summary.divisions) {
      for (const row of rows) {
        expect(behind(dimension, row.key, "tests")).toBe(row.tests);
        expect(behind(dimension, row.key, "outsideLimits")).toBe(row.outsideLimits);
        for (const { pass, measure, classes } of row.measures) {
          for (const [place, count] of classes.entries()) {
            const figure = `${pass}/${measure}/${summary.layout.classes[place]?.key}`;
            expect(behind(dimension, row.key, figure)).toBe(count);
            looked += 1;
          }
        }
      }
    }
    expect(behind("all", "", "setAside/amended")).toBe(1);
    expect(behind("all", "", "untestable/damaged")).toBe(1);
    expect(looked).toBeGreaterThan(500);
  });

  test("counts as left too where the layout's rule does not ask for results before adjustment alone", () => {
    const { asFoundOnly: _, ...both } = bands;
    const [all] = summarise(year, { ...yearTerms, bands: both }).divisions[0]?.rows ?? [];
    expect(all?.measures.map(({ pass }) => pass)).toContain("asLeft");
    expect(summary.divisions[0]?.rows[0]?.measures.map(({ pass }) => pass)).not.toContain("asLeft");
  });
});

test.each([
  [null, "2026-05-04", "first"],
  ["2026-05-04", "2026-05-04", "0"],
  ["2025-05-05", "2026-05-04", "0"],
  ["2025-05-04", "2026-05-04", "1"],
  ["2010-01-01", "2026-05-04", "16"],
])("the period from %s to %s is %s", (from, to, period) => {
  expect(testPeriodOf(from, to)).toBe(period);
});

test("two editions are compared figure by figure, rows by their key", () => {
  const before = {
    tests: 4,
    rows: [
      { key: "a", tests: 3 },
      { key: "b", tests: 1 },
    ],
  };
  const after = {
    tests: 5,
    rows: [
      { key: "b", tests: 2 },
      { key: "a", tests: 3 },
      { key: "c/d", tests: 0 },
    ],
  };
  expect(figureChanges(before, after)).toEqual([
    { at: "/tests", before: "4", after: "5" },
    { at: "/rows/b/tests", before: "1", after: "2" },
    { at: "/rows/c~1d/key", before: null, after: "c/d" },
    { at: "/rows/c~1d/tests", before: null, after: "0" },
  ]);
  expect(figureChanges(after, after)).toEqual([]);
});
