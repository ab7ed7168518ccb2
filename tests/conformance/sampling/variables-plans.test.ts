import {
  estimatePercentNonconforming,
  type PercentEstimate,
} from "@sealbook/metrology/sampling/evaluation/estimate-percent-nonconforming";
import { inspectionSeverities } from "@sealbook/metrology/sampling/sampling-terms";
import { judgeForm1 } from "@sealbook/metrology/sampling/variables/judge-form-1";
import { judgeForm2 } from "@sealbook/metrology/sampling/variables/judge-form-2";
import { milstd414Plan } from "@sealbook/metrology/sampling/variables/milstd414-plan";
import { percentBeyondLimit } from "@sealbook/metrology/sampling/variables/percent-beyond-limit";
import type {
  VariablesPlan,
  VariablesPlanRequest,
} from "@sealbook/metrology/sampling/variables/variables-plan";
import { z19Plan } from "@sealbook/metrology/sampling/variables/z19-plan";
import { z19Aqls } from "@sealbook/metrology/sampling/variables/z19-tables";
import { describe, expect, it } from "vitest";
import { z } from "zod";
import { readOpenCases, readTable } from "./read-data.ts";

const severitySchema = z.enum(inspectionSeverities);

function planOf(find: typeof z19Plan, request: VariablesPlanRequest): VariablesPlan {
  const plan = find(request);
  if (plan.kind !== "plan") throw new Error(plan.sentence);
  return plan;
}

function estimateOf(...parameters: Parameters<typeof estimatePercentNonconforming>): PercentEstimate {
  const estimate = estimatePercentNonconforming(...parameters);
  if (estimate.kind !== "estimate") throw new Error(estimate.sentence);
  return estimate;
}

describe("ANSI/ASQ Z1.9, standard deviation method, variability unknown", () => {
  const letters = readTable("z19-table-a2.csv");
  const cells = new Map(
    readTable("z19-sigma-unknown.csv").map((row) => [
      `${row.severity} ${row.letter} ${Number(row.aql)}`,
      row,
    ]),
  );

  it("gives the n and M of Tables B-3 and B-4 for every level, lot range, AQL and severity", () => {
    let checked = 0;
    for (const { lotMin, lotMax, level, letter } of letters) {
      for (const inspection of inspectionSeverities) {
        for (const aql of z19Aqls) {
          const printed = cells.get(`${inspection} ${letter} ${aql}`);
          for (const lotSize of [Number(lotMin), Number(lotMax === "" ? 5_000_000 : lotMax)]) {
            expect(planOf(z19Plan, { lotSize, level: level ?? "", aql, inspection })).toMatchObject({
              letter,
              tableSampleSize: Number(printed?.n),
              n: Math.min(lotSize, Number(printed?.n)),
              maximumPercent: Number(printed?.M),
              allInspected: Number(printed?.n) >= lotSize,
            });
          }
          checked += 1;
        }
      }
    }
    expect([letters.length, cells.size, checked]).toEqual([80, 462, 80 * 3 * 11]);
  });

  const cases = readOpenCases(
    "variables_z19_lookup",
    z.object({
      sigma: z.string(),
      lot_size: z.number(),
      inspection_level: z.string(),
      aql: z.string(),
      severity: severitySchema,
    }),
    z.object({ code_letter: z.string(), n: z.number(), M_percent: z.number(), k: z.number() }),
  ).filter(({ input }) => input.sigma === "unknown_s");
  it("has the 26 look-up cases with unknown variability", () => expect(cases).toHaveLength(26));
  it.each(cases)("$id: $source", ({ input, expected }) => {
    const plan = planOf(z19Plan, {
      lotSize: input.lot_size,
      level: input.inspection_level,
      aql: Number(input.aql),
      inspection: input.severity,
    });
    expect([plan.letter, plan.tableSampleSize, plan.maximumPercent]).toEqual([
      expected.code_letter,
      expected.n,
      expected.M_percent,
    ]);
  });

  it("gives L, 75 and 2.27 % for a lot of 5,000 at level II and AQL 1.0 (Z1.9, Tables A-2 and B-3)", () => {
    expect(planOf(z19Plan, { lotSize: 5000, level: "II", aql: 1, inspection: "normal" })).toMatchObject({
      letter: "L",
      n: 75,
      maximumPercent: 2.27,
    });
  });

  it("refuses what Z1.9 does not have, and levels of MIL-STD-414 by name", () => {
    const good = { lotSize: 500, level: "II", aql: 2.5, inspection: "normal" } as const;
    expect(z19Plan({ ...good, lotSize: 1 })).toMatchObject({ reason: "lot-too-small" });
    expect(z19Plan({ ...good, level: "IV" })).toMatchObject({ reason: "level-not-in-standard" });
    expect(z19Plan({ ...good, aql: 0.065 })).toMatchObject({ reason: "aql-not-in-table" });
    expect(() => z19Plan({ ...good, lotSize: Number.NaN })).toThrow(RangeError);
  });
});

describe("MIL-STD-414 (1957), standard deviation method, variability unknown", () => {
  it("gives the n, k and M of Tables B-1 and B-3 for every lot range, level, AQL and severity", () => {
    const plans = readTable("milstd414-tables-b1-b3.csv");
    const letters = readTable("milstd414-table-a2.csv");
    let checked = 0;
    for (const { lotMax, level, letter } of letters) {
      for (const printed of plans.filter((row) => row.letter === letter)) {
        for (const inspection of ["normal", "tightened"] as const) {
          const aql = inspection === "normal" ? printed.aqlNormal : printed.aqlTightened;
          if (aql === "") continue;
          const lotSize = Number(lotMax === "" ? 2_000_000 : lotMax);
          expect(
            planOf(milstd414Plan, { lotSize, level: level ?? "", aql: Number(aql), inspection }),
          ).toMatchObject({
            letter,
            tableSampleSize: Number(printed.n),
            k: Number(printed.k),
            maximumPercent: Number(printed.M),
          });
          checked += 1;
        }
      }
    }
    expect([letters.length, plans.length, checked]).toEqual([85, 224, 85 * 27]);
  });

  const cases = readOpenCases(
    "variables_414_lookup",
    z.object({
      method: z.string(),
      lot_size: z.number(),
      inspection_level: z.string(),
      aql: z.number(),
      severity: severitySchema,
    }),
    z.object({
      code_letter: z.string(),
      plan_letter: z.string(),
      n: z.number(),
      k: z.number(),
      M_percent: z.number().optional(),
    }),
  ).filter(({ input }) => input.method.startsWith("s ("));
  it("has the 60 look-up cases of the standard deviation method", () => expect(cases).toHaveLength(60));
  it.each(cases)("$id: $source", ({ input, expected }) => {
    const plan = planOf(milstd414Plan, {
      lotSize: input.lot_size,
      level: input.inspection_level,
      aql: input.aql,
      inspection: input.severity,
    });
    expect([plan.letter, plan.tableSampleSize, plan.k, plan.maximumPercent]).toEqual([
      expected.code_letter,
      expected.n,
      expected.k,
      expected.M_percent,
    ]);
  });

  it("refuses reduced inspection, a tightened 0.04 and a level of Z1.9", () => {
    const good = { lotSize: 500, level: "IV", aql: 1, inspection: "normal" } as const;
    expect(milstd414Plan({ ...good, inspection: "reduced" })).toMatchObject({
      reason: "severity-not-available",
    });
    expect(milstd414Plan({ ...good, aql: 0.04, inspection: "tightened" })).toMatchObject({
      reason: "aql-not-in-table",
    });
    expect(milstd414Plan({ ...good, level: "S-3" })).toMatchObject({ reason: "level-not-in-standard" });
    expect(milstd414Plan({ ...good, lotSize: 2 })).toMatchObject({ reason: "lot-too-small" });
  });
});

describe("estimated percent nonconforming", () => {
  it("agrees with the beta relation to 1e-12 percent, from n 3 to 5,000 and to the ends of Q", () => {
    const rows = readTable("percent-beyond-limit-reference.csv");
    expect(rows).toHaveLength(653);
    for (const { n, q, percent } of rows) {
      const error = Math.abs(percentBeyondLimit(Number(q), Number(n)) - Number(percent));
      expect(error, `n ${n}, Q ${q}, ${percent} %`).toBeLessThanOrEqual(1e-12);
    }
  });

  it("agrees with the whole table of Q 0.00 to 4.00 for the sixteen sample sizes (compare MIL-STD-414, B-5)", () => {
    let checked = 0;
    for (const { n, percents } of readTable("p-from-q.csv")) {
      (percents ?? "").split(" ").forEach((percent, step) => {
        expect(percentBeyondLimit((step * 2) / 100, Number(n)), `n ${n}, step ${step}`).toBeCloseTo(
          Number(percent),
          5.9,
        );
        checked += 1;
      });
    }
    expect(checked).toBe(3216);
  });

  const cases = readOpenCases(
    "phat_from_Q",
    z.looseObject({ Q: z.number().optional(), n: z.number().optional(), sigma: z.string().optional() }),
    z.looseObject({ p_percent: z.number().optional() }),
  ).filter(({ input }) => input.sigma === "unknown (s)");
  it("has the 42 cases with unknown variability", () => expect(cases).toHaveLength(42));
  it.each(cases)("$id: $source", ({ input, expected }) => {
    const percent = percentBeyondLimit(input.Q ?? Number.NaN, input.n ?? Number.NaN);
    expect(Math.abs(percent - (expected.p_percent ?? Number.NaN))).toBeLessThanOrEqual(1e-12);
  });

  it("gives 2.19 and 0.66 percent for n 5 and Q 1.59 and 1.70 (MIL-STD-414, Table B-5, examples B-2 and B-3)", () => {
    expect(percentBeyondLimit(1.59, 5).toFixed(2)).toBe("2.19");
    expect(percentBeyondLimit(1.7, 5).toFixed(2)).toBe("0.66");
  });

  it("gives 3.211 percent for n 10 and k 1.72 (computed apart from this project; the table prints M 3.26)", () => {
    expect(percentBeyondLimit(1.72, 10)).toBeCloseTo(3.211, 3);
  });

  it("keeps the sign of Q: a mean beyond the limit is more than 50 percent", () => {
    for (const n of [3, 4, 5, 10, 75, 1000]) {
      expect(percentBeyondLimit(-0.7, n) + percentBeyondLimit(0.7, n)).toBeCloseTo(100, 11);
      expect(percentBeyondLimit(0, n)).toBe(50);
      expect(percentBeyondLimit(Number.POSITIVE_INFINITY, n)).toBe(0);
      expect(percentBeyondLimit(Number.NEGATIVE_INFINITY, n)).toBe(100);
    }
  });

  it("is a straight line for n 4 and ends where x leaves 0 to 1 (MIL-STD-414: n 3 ends at Q 1.1547, n 4 at 1.5)", () => {
    expect(percentBeyondLimit(0.75, 4)).toBe(25);
    expect(percentBeyondLimit(1.5, 4)).toBe(0);
    expect(percentBeyondLimit(1.4999, 4)).toBeGreaterThan(0);
    expect(percentBeyondLimit(1.1548, 3)).toBe(0);
    expect(percentBeyondLimit(1, 3)).toBeCloseTo(100 / 6, 12);
  });

  it("refuses fewer than three values and throws for what is no sample", () => {
    expect(estimatePercentNonconforming({ values: [100, 101] }, { upper: 102 })).toMatchObject({
      kind: "no-estimate",
    });
    expect(estimatePercentNonconforming({ values: [] }, { upper: 102 })).toMatchObject({
      kind: "no-estimate",
    });
    expect(() => percentBeyondLimit(1, 2)).toThrow(RangeError);
    expect(() => percentBeyondLimit(Number.NaN, 5)).toThrow(RangeError);
    expect(() => estimatePercentNonconforming({ values: [1, 2, 3] }, {})).toThrow(RangeError);
    expect(() => estimatePercentNonconforming({ values: [1, 2, 3] }, { lower: 2, upper: 1 })).toThrow(
      RangeError,
    );
    expect(() => estimatePercentNonconforming({ mean: 1, s: -1, n: 5 }, { upper: 2 })).toThrow(RangeError);
    expect(() => estimatePercentNonconforming({ mean: 1, s: 1, n: 5 }, { upper: Number.NaN })).toThrow(
      RangeError,
    );
  });

  it("says so when the sample has no spread: nothing beyond within the limits, all beyond outside", () => {
    const within = estimateOf({ values: [100.1, 100.1, 100.1] }, { lower: 98, upper: 102 });
    expect(within).toMatchObject({ mean: 100.1, s: 0, p: 0, qLower: null, qUpper: null });
    expect(within.notes).toHaveLength(1);
    expect(estimateOf({ values: [102, 102, 102] }, { lower: 98, upper: 102 }).p).toBe(0);
    expect(estimateOf({ values: [102.1, 102.1, 102.1] }, { lower: 98, upper: 102 }).p).toBe(100);
  });
});

describe("worked examples of MIL-STD-414, section B", () => {
  // MIL-STD-414 (1957), examples B-1 to B-4, from memory of the public-domain text; the arithmetic reproduces the print.
  const values = [197, 188, 184, 205, 201];
  const plan = planOf(milstd414Plan, { lotSize: 40, level: "IV", aql: 1, inspection: "normal" });

  it("B-1: n 5, mean 195, s 8.80, Q 1.59 against k 1.53: accepted by Form 1", () => {
    const estimate = estimateOf({ values }, { upper: 209 });
    expect(plan).toMatchObject({ letter: "D", n: 5, k: 1.53 });
    expect(estimate.mean).toBe(195);
    expect(estimate.s).toBeCloseTo(8.80340843, 7);
    expect(estimate.qUpper).toBeCloseTo(1.5902931, 7);
    expect(judgeForm1(estimate, plan.k ?? Number.NaN).outcome).toBe("accepted");
  });

  it("B-2: 2.18 percent (2.19 from Q rounded) against M 3.32: accepted by Form 2", () => {
    const estimate = estimateOf({ values }, { upper: 209 });
    expect(plan.maximumPercent).toBe(3.32);
    expect(Math.abs(estimate.p - 2.19)).toBeLessThan(0.02);
    expect(judgeForm2(estimate, plan.maximumPercent).outcome).toBe("accepted");
  });

  it("B-3: both limits with one AQL, 2.80 percent (2.85 from Q rounded) against 3.32: accepted", () => {
    const estimate = estimateOf({ values }, { lower: 180, upper: 209 });
    expect(estimate.pUpper).toBeCloseTo(2.182311752038682, 12);
    expect(estimate.pLower).toBeCloseTo(0.616896789681819, 12);
    expect(judgeForm2(estimate, 3.32).outcome).toBe("accepted");
    expect(judgeForm2(estimate, 2.5).outcome).toBe("not-accepted");
    expect(() => judgeForm1(estimate, 1.53)).toThrow(RangeError);
  });

  it("B-4: an AQL for each limit, M 3.32 and 9.80, and the larger for both: accepted", () => {
    const lowerPlan = planOf(milstd414Plan, { lotSize: 40, level: "IV", aql: 2.5, inspection: "normal" });
    expect(lowerPlan.maximumPercent).toBe(9.8);
    const estimate = estimateOf({ values }, { lower: 180, upper: 209 });
    const judged = judgeForm2(estimate, { lower: 9.8, upper: 3.32 });
    expect(judged.outcome).toBe("accepted");
    expect(judged.criteria.map(({ bound }) => bound)).toEqual([3.32, 9.8, 9.8]);
    expect(judgeForm2(estimate, { lower: 0.5, upper: 3.32 }).outcome).toBe("not-accepted");
  });

  it("accepts when Q equals k and when the percent equals M", () => {
    const estimate = estimateOf({ mean: 0, s: 1, n: 4 }, { upper: 0.75 });
    expect(judgeForm1(estimate, 0.75).outcome).toBe("accepted");
    expect(judgeForm2(estimate, 25).outcome).toBe("accepted");
    expect(judgeForm1(estimate, 0.7500001).outcome).toBe("not-accepted");
    expect(judgeForm2(estimate, 24.9999).outcome).toBe("not-accepted");
  });

  it("judges a sample without spread by where its value lies", () => {
    expect(judgeForm1(estimateOf({ mean: 5, s: 0, n: 5 }, { upper: 5 }), 1.5).outcome).toBe("accepted");
    expect(judgeForm1(estimateOf({ mean: 5.1, s: 0, n: 5 }, { upper: 5 }), 1.5).outcome).toBe("not-accepted");
  });

  it.each(
    readOpenCases(
      "variables_decisions",
      z.object({
        lot_size: z.number(),
        level: z.string(),
        aql: z.number(),
        upper_spec: z.number().nullable(),
        lower_spec: z.number().nullable(),
        sample: z.array(z.number()),
      }),
      z.looseObject({
        code_letter: z.string(),
        n: z.number(),
        k: z.number(),
        M_percent: z.number(),
        xbar: z.number(),
        s: z.number(),
        p_total: z.number(),
        accept_form2: z.boolean(),
        accept_form1: z.boolean().optional(),
        Q_U: z.number().optional(),
        Q_L: z.number().optional(),
      }),
    ),
  )("$id: $source", ({ input, expected }) => {
    const decided = planOf(milstd414Plan, {
      lotSize: input.lot_size,
      level: input.level,
      aql: input.aql,
      inspection: "normal",
    });
    expect(decided).toMatchObject({
      letter: expected.code_letter,
      n: expected.n,
      k: expected.k,
      maximumPercent: expected.M_percent,
    });
    const estimate = estimateOf(
      { values: input.sample },
      { lower: input.lower_spec ?? undefined, upper: input.upper_spec ?? undefined },
    );
    const near = (value: number | null, wanted: number | undefined) => {
      if (wanted !== undefined) {
        expect(Math.abs((value ?? Number.NaN) - wanted)).toBeLessThanOrEqual(
          1e-9 * Math.max(1e-3, Math.abs(wanted)),
        );
      }
    };
    near(estimate.mean, expected.xbar);
    near(estimate.s, expected.s);
    near(estimate.qUpper, expected.Q_U);
    near(estimate.qLower, expected.Q_L);
    near(estimate.p, expected.p_total);
    expect(judgeForm2(estimate, decided.maximumPercent).outcome === "accepted").toBe(expected.accept_form2);
    if (expected.accept_form1 !== undefined) {
      expect(judgeForm1(estimate, decided.k ?? Number.NaN).outcome === "accepted").toBe(
        expected.accept_form1,
      );
    }
  });
});
