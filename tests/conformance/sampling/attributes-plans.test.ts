import { attributesPlan } from "@sealbook/metrology/sampling/attributes/attributes-plan";
import { doublePlan } from "@sealbook/metrology/sampling/attributes/double-plan";
import { findTablePlan } from "@sealbook/metrology/sampling/attributes/find-table-plan";
import { franceInServicePlans } from "@sealbook/metrology/sampling/attributes/france-in-service-plans";
import { judgeAttributes } from "@sealbook/metrology/sampling/attributes/judge-attributes";
import { limitNumber } from "@sealbook/metrology/sampling/attributes/limit-number";
import { attributesAqls, attributesLevels } from "@sealbook/metrology/sampling/attributes/milstd105e-tables";
import { planTableSchema } from "@sealbook/metrology/sampling/attributes/plan-table";
import { resolveCell } from "@sealbook/metrology/sampling/attributes/resolve-cell";
import { inspectionSeverities } from "@sealbook/metrology/sampling/sampling-terms";
import { describe, expect, it } from "vitest";
import { z } from "zod";
import { readOpenCases, readTable } from "./read-data.ts";

const severitySchema = z.enum(inspectionSeverities);
const lookupInput = z.object({
  lot_size: z.number(),
  inspection_level: z.string(),
  aql: z.string(),
  severity: severitySchema,
});

function singlePlanOf(request: Parameters<typeof attributesPlan>[0]) {
  const plan = attributesPlan(request);
  if (plan.kind !== "plan") throw new Error(plan.sentence);
  return plan;
}

describe("single sampling by attributes (MIL-STD-105E, Tables I and II)", () => {
  const letters = readTable("milstd105e-table-1.csv");
  const table2 = new Map(
    readTable("milstd105e-table-2.csv").map((row) => [
      `${row.severity} ${row.letter} ${Number(row.aql)}`,
      row,
    ]),
  );

  it("gives the printed plan for all 8,190 combinations of level, lot range, AQL and severity", () => {
    let checked = 0;
    for (const { lotMin, lotMax, level, letter } of letters) {
      for (const severity of inspectionSeverities) {
        for (const aql of attributesAqls) {
          const printed = table2.get(`${severity} ${letter} ${aql}`);
          for (const lotSize of new Set([Number(lotMin), Number(lotMax === "" ? 10_000_000 : lotMax)])) {
            const plan = singlePlanOf({ lotSize, level: level ?? "", aql, inspection: severity });
            expect(
              [
                plan.letter,
                plan.planLetter,
                plan.tableSampleSize,
                plan.n,
                plan.ac,
                plan.re,
                plan.allInspected,
              ],
              `${severity}, level ${level}, lot ${lotSize}, AQL ${aql}`,
            ).toEqual([
              letter,
              printed?.planLetter,
              Number(printed?.n),
              Math.min(Number(printed?.n), lotSize),
              Number(printed?.ac),
              Number(printed?.re),
              Number(printed?.n) >= lotSize,
            ]);
          }
          checked += 1;
        }
      }
    }
    expect(letters).toHaveLength(105);
    expect(checked).toBe(8190);
  });

  it("keeps every printed cell, arrows and the extra row S of the tightened table included", () => {
    expect(table2.size).toBe(1251);
    for (const row of table2.values()) {
      const cell = resolveCell(severitySchema.parse(row.severity), row.letter ?? "", Number(row.aql));
      expect(cell.arrow, JSON.stringify(row)).toBe(row.cell === "plan" ? "none" : row.cell);
      expect([cell.planLetter, cell.sampleSize, cell.acceptanceNumber, cell.rejectionNumber]).toEqual([
        row.planLetter,
        Number(row.n),
        Number(row.ac),
        Number(row.re),
      ]);
    }
  });

  const cases = readOpenCases(
    "attributes_single_lookup",
    lookupInput,
    z.object({
      code_letter: z.string(),
      table_cell: z.string(),
      plan_letter: z.string(),
      n: z.number(),
      ac: z.number(),
      re: z.number(),
      hundred_percent: z.boolean(),
      units_to_inspect: z.number(),
    }),
  );
  it("has all 120 cases of the look-up", () => expect(cases).toHaveLength(120));
  it.each(cases)("$id: $source", ({ input, expected }) => {
    const plan = singlePlanOf({
      lotSize: input.lot_size,
      level: input.inspection_level,
      aql: Number(input.aql),
      inspection: input.severity,
    });
    expect(plan).toMatchObject({
      letter: expected.code_letter,
      planLetter: expected.plan_letter,
      tableSampleSize: expected.n,
      ac: expected.ac,
      re: expected.re,
      allInspected: expected.hundred_percent,
      n: expected.units_to_inspect,
    });
  });

  it("gives K, 125, 3, 4 for a lot of 2,000 at level II and AQL 1.0 (MIL-STD-105E, Tables I and II-A)", () => {
    expect(singlePlanOf({ lotSize: 2000, level: "II", aql: 1, inspection: "normal" })).toMatchObject({
      letter: "K",
      n: 125,
      ac: 3,
      re: 4,
      allInspected: false,
      notes: [],
    });
  });

  it("inspects all and says so when the plan asks for as many units as the lot has", () => {
    // Letter A at AQL 0.65 leads down to letter F, n 20 (Table II-A).
    const plan = singlePlanOf({ lotSize: 8, level: "II", aql: 0.65, inspection: "normal" });
    expect(plan).toMatchObject({
      letter: "A",
      planLetter: "F",
      n: 8,
      tableSampleSize: 20,
      allInspected: true,
    });
    expect(plan.notes.join(" ")).toContain("All inspected");
  });

  it("refuses an empty lot, a lot of one, a level and an AQL that the standard does not have", () => {
    const good = { lotSize: 100, level: "II", aql: 1, inspection: "normal" } as const;
    expect(attributesPlan({ ...good, lotSize: 0 })).toMatchObject({
      kind: "refused",
      reason: "lot-too-small",
    });
    expect(attributesPlan({ ...good, lotSize: 1 })).toMatchObject({
      kind: "refused",
      reason: "lot-too-small",
    });
    expect(attributesPlan({ ...good, level: "IV" })).toMatchObject({ reason: "level-not-in-standard" });
    expect(attributesPlan({ ...good, aql: 3 })).toMatchObject({ reason: "aql-not-in-table" });
    expect(() => attributesPlan({ ...good, lotSize: 2.5 })).toThrow(RangeError);
    expect(() => attributesPlan({ ...good, lotSize: -1 })).toThrow(RangeError);
    expect(attributesLevels).toHaveLength(7);
  });
});

describe("double sampling by attributes (MIL-STD-105E, Table III)", () => {
  it("gives every cell of the three tables, the single plan where an asterisk stands", () => {
    const lotOfLetter = new Map(
      readTable("milstd105e-table-1.csv").map(({ letter, lotMax, level }) => [
        letter ?? "",
        { lotSize: Number(lotMax === "" ? 10_000_000 : lotMax), level: level ?? "" },
      ]),
    );
    let checked = 0;
    for (const row of readTable("milstd105e-table-3.csv")) {
      const lot = lotOfLetter.get(row.letter ?? "");
      if (lot === undefined) throw new Error(`no lot has letter ${row.letter}`);
      const inspection = severitySchema.parse(row.severity);
      const plan = doublePlan({ ...lot, aql: Number(row.aql), inspection });
      if (row.use === "double") {
        expect(plan, JSON.stringify(row)).toMatchObject({
          kind: "double-plan",
          letter: row.letter,
          planLetter: row.planLetter,
          n1: Number(row.n1),
          ac1: Number(row.ac1),
          re1: Number(row.re1),
          n2: Number(row.n2),
          ac2: Number(row.ac2),
          re2: Number(row.re2),
          standing: inspection === "reduced" ? "one source, consistent with the single plans" : "two sources",
        });
      } else {
        expect(plan, JSON.stringify(row)).toMatchObject({
          kind: "use-single-plan",
          single: {
            tableSampleSize: Number(row.singleN),
            ac: Number(row.singleAc),
            re: Number(row.singleRe),
          },
        });
      }
      checked += 1;
    }
    expect(checked).toBe(1248);
  });

  const cases = readOpenCases(
    "attributes_double_lookup",
    lookupInput,
    z.looseObject({ code_letter: z.string(), double_plan: z.null().optional() }),
  );
  it("has all 48 cases of the look-up", () => expect(cases).toHaveLength(48));
  it.each(cases)("$id: $source", ({ input, expected }) => {
    const plan = doublePlan({
      lotSize: input.lot_size,
      level: input.inspection_level,
      aql: Number(input.aql),
      inspection: input.severity,
    });
    const { code_letter: letter, plan_letter: planLetter, use_single: single, ...numbers } = expected;
    if (expected.double_plan === null) {
      const { n, ...rest } = z.object({ n: z.number(), ac: z.number(), re: z.number() }).parse(single);
      expect(plan).toMatchObject({
        kind: "use-single-plan",
        single: { letter, tableSampleSize: n, ...rest },
      });
    } else {
      expect(Object.keys(numbers)).toEqual(["n1", "ac1", "re1", "n2", "ac2", "re2"]);
      expect(plan).toMatchObject({ kind: "double-plan", letter, planLetter, ...numbers });
    }
  });
});

describe("limit numbers for reduced inspection (MIL-STD-105E, Table VIII)", () => {
  it("gives every cell that could be read in print, and the closed form for the rest", () => {
    const rows = readTable("milstd105e-table-8.csv");
    expect(rows).toHaveLength(316);
    for (const { aql, units, limit, read } of rows) {
      const [from, to] = (units ?? "").split(/[-+]/);
      for (const sampleUnits of [Number(from), Number(to === "" ? 100_000 : to)]) {
        const number = limitNumber(sampleUnits, Number(aql));
        expect(number === null ? "*" : String(number), `AQL ${aql}, ${units}`).toBe(limit);
      }
      if (read !== "") expect(limit).toBe(read);
    }
    expect(rows.filter(({ read }) => read !== "").length).toBeGreaterThan(100);
  });

  it.each(
    readOpenCases(
      "limit_numbers",
      z.object({ aql: z.string(), sample_units_last_10_lots: z.number() }),
      z.object({ limit_number: z.number() }),
    ),
  )("$id: $source", ({ input, expected }) => {
    expect(limitNumber(input.sample_units_last_10_lots, Number(input.aql))).toBe(expected.limit_number);
  });

  it("has no limit number below 20 sample units", () => expect(limitNumber(19, 10)).toBeNull());
});

describe("the decision by count", () => {
  it.each([
    [0, "accepted"],
    [2, "accepted"],
    [3, "accepted-return-to-normal"],
    [4, "accepted-return-to-normal"],
    [5, "not-accepted"],
    [125, "not-accepted"],
  ])("with Ac 2 and Re 5, %i nonconforming is %s (MIL-STD-105E, 4.7.4)", (nonconforming, outcome) => {
    expect(judgeAttributes(nonconforming, { ac: 2, re: 5 }).outcome).toBe(outcome);
  });

  it("has no gap where Re follows Ac", () => {
    expect(judgeAttributes(3, { ac: 3, re: 4 }).outcome).toBe("accepted");
    expect(judgeAttributes(4, { ac: 3, re: 4 }).outcome).toBe("not-accepted");
    expect(() => judgeAttributes(1, { ac: 3, re: 3 })).toThrow(RangeError);
  });
});

describe("a plan table as data of a profile", () => {
  // Order of 1 August 2013 on meters of active electrical energy (France), Annexe 7, as published.
  const annexe7 = [
    { lots: [1, 9_999], normal: [56, 5, 85], tightened: [206, 20, 310] },
    { lots: [10_000, 49_999], normal: [106, 10, 160], tightened: [306, 30, 460] },
    { lots: [50_000, 99_999], normal: [206, 20, 310], tightened: [406, 40, 610] },
    { lots: [100_000, 2_000_000], normal: [306, 30, 460], tightened: [506, 50, 760] },
  ] as const;

  it.each(annexe7)("gives France's plan for lots of $lots", ({ lots, ...plans }) => {
    for (const lotSize of lots) {
      for (const severity of ["normal", "tightened"] as const) {
        const [n, ac, drawn] = plans[severity];
        expect(findTablePlan(franceInServicePlans, lotSize, severity)).toMatchObject({
          kind: "table-plan",
          n: Math.min(n, lotSize),
          ac,
          re: ac + 1,
          drawn: Math.min(drawn, lotSize),
          allInspected: n >= lotSize,
        });
      }
    }
  });

  it("allows a tightened second try within three months (Article 23)", () => {
    expect(franceInServicePlans.secondTry?.withinMonths).toBe(3);
  });

  it("refuses an empty lot and a severity that the table does not have", () => {
    expect(findTablePlan(franceInServicePlans, 0, "normal")).toMatchObject({ reason: "lot-too-small" });
    const { secondTry: _, ...withoutSecondTry } = franceInServicePlans;
    const normalOnly = planTableSchema.parse({
      ...withoutSecondTry,
      rows: [{ lotMin: 1, lotMax: null, normal: { n: 10, ac: 1 } }],
    });
    expect(findTablePlan(normalOnly, 5, "tightened")).toMatchObject({ reason: "severity-not-available" });
    expect(findTablePlan(normalOnly, 50, "normal")).toMatchObject({ n: 10, ac: 1, re: 2, drawn: 10 });
  });

  it("refuses a table with a gap, an overlap or an open row before the last", () => {
    const plan = { normal: { n: 10, ac: 1 } };
    for (const rows of [
      [
        { lotMin: 1, lotMax: 9, ...plan },
        { lotMin: 11, lotMax: null, ...plan },
      ],
      [
        { lotMin: 1, lotMax: 9, ...plan },
        { lotMin: 9, lotMax: null, ...plan },
      ],
      [
        { lotMin: 1, lotMax: null, ...plan },
        { lotMin: 2, lotMax: null, ...plan },
      ],
      [{ lotMin: 5, lotMax: 4, ...plan }],
    ]) {
      expect(planTableSchema.safeParse({ ...franceInServicePlans, rows }).success).toBe(false);
    }
  });
});
