import { expect, test } from "vitest";
import type { LotEvaluation } from "../sampling/decision/lot-evaluation-schema.ts";
import { type DecidedLot, lotLine, rejectedLot } from "./lot-lines.ts";

const evaluated = (over: Partial<LotEvaluation["characteristics"][number]>): LotEvaluation => ({
  format: 1,
  engineVersion: "2",
  lotSize: 1_000,
  sampleSize: 35,
  waiting: 0,
  outcome: "accepted",
  sentence: "",
  characteristics: [
    {
      characteristic: "full-load",
      limits: null,
      places: 35,
      readings: [],
      waiting: 0,
      leftOut: 0,
      untestable: 0,
      counted: 35,
      nonconforming: 2,
      fraction: null,
      lot: null,
      mean: 99.9,
      s: 0.5,
      least: null,
      greatest: null,
      estimate: null,
      normality: null,
      outlier: null,
      criteria: [],
      outcome: "accepted",
      sentence: "",
      cautions: [],
      ...over,
    },
  ],
});

const aLot = (over: Partial<DecidedLot> = {}): DecidedLot => ({
  id: "lot",
  number: "G-2",
  kind: "in-service",
  title: "Brackmere BF-210",
  maker: "Brackmere",
  model: "BF-210",
  size: 1_000,
  scheme: "HOUSE 1",
  series: "brackmere",
  decidedOn: "2026-11-02",
  approvedOn: null,
  outcome: "not-accepted",
  disposition: null,
  plan: {
    format: 1,
    lotSize: 1_000,
    n: 35,
    spares: 5,
    characteristics: [
      {
        characteristic: "full-load",
        severity: "tightened",
        reasons: [],
        aqlPercent: "2.5",
        plan: {
          kind: "variables",
          edition: "ANSI/ASQ Z1.9-2003",
          letter: "I",
          n: 35,
          maximumPercent: 5.57,
          allInspected: false,
        },
        notes: [],
        protection: null,
      },
    ],
  },
  evaluation: evaluated({}),
  before: null,
  tested: [],
  ...over,
});

test("changes are differences to the lot before of the series, in decimals", () => {
  const { characteristics } = lotLine(
    aLot({
      // 0.1 + 0.2 style differences: as doubles 99.9 - 100.2 is -0.29999999999999716.
      before: { number: "G-1", evaluation: evaluated({ mean: 100.2, s: 0.4, nonconforming: 0 }) },
    }),
  );
  expect(characteristics[0]).toMatchObject({
    severity: "tightened",
    mean: "99.9",
    s: "0.5",
    // 2 of 35, by hand: 5.7142857...
    percentNonconforming: "5.7142857",
    change: { since: "G-1", mean: "-0.3", s: "0.1", percentNonconforming: "5.7142857" },
  });
  expect(lotLine(aLot()).characteristics[0]?.change).toBeNull();
});

test("where the plan is by variables with an estimate, that is the percent nonconforming", () => {
  const estimate = { qLower: null, qUpper: null, pLower: 1, pUpper: 1.5, p: 2.5 };
  const { characteristics } = lotLine(aLot({ evaluation: evaluated({ estimate }) }));
  expect(characteristics[0]?.percentNonconforming).toBe("2.5");
});

test("a rejected lot says what the commission asks for: months since the last test, tightened, years, range", () => {
  const tested = [
    { performedOn: "2026-05-04", previousOn: "2025-05-04", purchaseYear: 2009, average: "97.5" },
    { performedOn: "2026-05-04", previousOn: "2016-05-05", purchaseYear: 2004, average: "100.25" },
    { performedOn: "2026-05-04", previousOn: null, purchaseYear: 2009, average: null },
  ];
  expect(rejectedLot(aLot({ tested }))).toEqual({
    id: "lot",
    number: "G-2",
    maker: "Brackmere",
    model: "BF-210",
    sampled: true,
    // 12 and 119 whole months, by hand.
    averageMonthsSinceLastTest: "65.5",
    tightened: true,
    purchaseYears: [2004, 2009],
    leastAsFound: "97.5",
    greatestAsFound: "100.25",
  });
  expect(rejectedLot(aLot({ outcome: "accepted" }))).toBeNull();
});
