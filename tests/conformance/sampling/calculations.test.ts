import { samplingCalculations } from "@sealbook/contract/calc-sampling";
import { describe, expect, it } from "vitest";

/** Runs a calculation as the command line does: parse the input, compute, and the output must fit its own schema. */
function calculate(name: string, input: unknown): Record<string, unknown> {
  const calculation = samplingCalculations.find((one) => one.name === name);
  if (calculation === undefined) throw new Error(`no calculation ${name}`);
  const parsed = calculation.input.safeParse(input);
  if (!parsed.success) return { error: parsed.error.issues.map(({ message }) => message).join("; ") };
  const output = calculation.run(parsed.data);
  if (!("error" in output)) expect(calculation.output.parse(output)).toEqual(output);
  return output as Record<string, unknown>;
}

describe("doors of acceptance sampling", () => {
  it("have unique names", () => {
    const names = samplingCalculations.map(({ name }) => name);
    expect(new Set(names).size).toBe(names.length);
    for (const name of [
      "attributes-plan",
      "variables-plan",
      "estimate",
      "oc",
      "clopper-pearson",
      "switching",
      "draw",
    ]) {
      expect(names).toContain(name);
    }
  });

  it("attributes-plan: K, 125, 3, 4 (MIL-STD-105E, Tables I and II-A)", () => {
    expect(
      calculate("attributes-plan", { lotSize: 2000, level: "II", aql: "1.0", inspection: "normal" }),
    ).toMatchObject({
      letter: "K",
      n: 125,
      ac: 3,
      re: 4,
    });
    expect(calculate("attributes-plan", { lotSize: 0, level: "II", aql: 1 })).toHaveProperty("error");
    expect(calculate("attributes-plan", { lotSize: 100, level: "II", aql: 3 })).toHaveProperty("error");
    expect(calculate("attributes-plan", { lotSize: 100.5, level: "II", aql: 1 })).toHaveProperty("error");
  });

  it("variables-plan: L, 75, 2.27 % (Z1.9, Tables A-2 and B-3); D, 5, k 1.53, 3.32 % (MIL-STD-414, example B-1)", () => {
    const asked = { lotSize: 5000, level: "II", aql: 1, inspection: "normal", sigma: "unknown" };
    expect(calculate("variables-plan", asked)).toMatchObject({ letter: "L", n: 75, M: 2.27, k: null });
    expect(
      calculate("variables-plan", { lotSize: 40, level: "IV", aql: 1, standard: "MIL-STD-414" }),
    ).toMatchObject({
      letter: "D",
      n: 5,
      M: 3.32,
      k: 1.53,
    });
    expect(calculate("variables-plan", { ...asked, sigma: "known" })).toHaveProperty("error");
    expect(
      calculate("variables-plan", {
        lotSize: 40,
        level: "IV",
        aql: 1,
        standard: "MIL-STD-414",
        inspection: "reduced",
      }),
    ).toHaveProperty("error");
  });

  it("estimate: MIL-STD-414, example B-3, from values and from mean, s and n", () => {
    const fromValues = calculate("estimate", {
      values: ["197", 188, 184, 205, 201],
      lower: 180,
      upper: "209",
    });
    expect(fromValues).toMatchObject({ n: 5, mean: 195 });
    expect(fromValues.pUpper).toBeCloseTo(2.182311752038682, 12);
    expect(fromValues.pLower).toBeCloseTo(0.616896789681819, 12);
    expect(fromValues.p).toBeCloseTo(2.182311752038682 + 0.616896789681819, 12);
    const fromFigures = calculate("estimate", { mean: 195, s: fromValues.s, n: 5, lower: 180, upper: 209 });
    expect(fromFigures).toEqual(fromValues);
    expect(calculate("estimate", { values: [1, 2, 3] })).toHaveProperty("error");
    expect(calculate("estimate", { values: [1, 2], upper: 3 })).toHaveProperty("error");
    expect(calculate("estimate", { values: [1, 2, 3], mean: 2, upper: 3 })).toHaveProperty("error");
    expect(calculate("estimate", { values: [1, 2, 3], lower: 5, upper: 3 })).toHaveProperty("error");
  });

  it("oc: 0.92954 for n 52, Ac 3, p 0.03 (e-Handbook 6.2.3.2); D is returned for a lot", () => {
    const process = calculate("oc", { n: 52, ac: 3, p: 0.03 });
    expect(process.pa).toBeCloseTo(0.92954, 5);
    expect(process).not.toHaveProperty("nonconforming");
    // SAS/QC function documentation: N 120, D 22, n 20, Ac 1 gives 0.0762970752.
    const lot = calculate("oc", { n: 20, ac: 1, p: 22 / 120, lotSize: 120 });
    expect(lot).toMatchObject({ nonconforming: 22 });
    expect(lot.pa).toBeCloseTo(0.0762970752, 10);
    // e-Handbook 6.2.3.2 prints an ATI of 2655 for p 0.05 and lots of 10,000.
    expect(Math.round(calculate("oc", { n: 52, ac: 3, p: 0.05, lotSize: 10_000 }).ati as number)).toBe(2655);
    expect(calculate("oc", { n: 5, ac: 5, p: 0.5 })).toEqual({ pa: 1 });
    expect(calculate("oc", { n: 20, ac: 1, p: 0.1, lotSize: 10 })).toHaveProperty("error");
    expect(calculate("oc", { n: 20, ac: 1, p: 3 })).toHaveProperty("error");
  });

  it("variables-oc: 0.8978085 for n 10, k 1.72, p 0.01 (scipy, mpmath)", () => {
    expect(calculate("variables-oc", { n: 10, k: 1.72, p: 0.01 }).pa).toBeCloseTo(0.897808516603665, 12);
    const one = calculate("variables-oc", { n: 10, M: 4.72, p: 0.02 });
    expect(calculate("variables-oc", { n: 10, M: 4.72, pLower: 0, pUpper: 0.02 })).toEqual(one);
    expect(calculate("variables-oc", { n: 10, k: 1.72, pLower: 0.01, pUpper: 0.01 })).toHaveProperty("error");
    expect(calculate("variables-oc", { n: 10, p: 0.01 })).toHaveProperty("error");
  });

  it("clopper-pearson: 682 of 925 (Conover 1971, page 97); 1 of 50 in a lot of 500", () => {
    const limits = calculate("clopper-pearson", { nonconforming: 682, n: 925 });
    expect(limits.lower).toBeCloseTo(0.7076683, 7);
    expect(limits.upper).toBeCloseTo(0.7654066, 7);
    expect(calculate("clopper-pearson", { nonconforming: 1, n: 50, lotSize: 500 })).toMatchObject({
      lot: { lower: 1, upper: 51 },
    });
    expect(calculate("clopper-pearson", { nonconforming: 6, n: 5 })).toHaveProperty("error");
  });

  it("switching: two of five lots not accepted tighten (MIL-STD-105E, 4.7.1)", () => {
    const lots = ["not-accepted", "accepted", "not-accepted"].map((outcome) => ({
      outcome,
      sampleUnits: 80,
    }));
    expect(calculate("switching", { aql: 1, lots })).toMatchObject({
      severity: "tightened",
      steps: [
        { severityUsed: "normal", severityNext: "normal" },
        { severityUsed: "normal", severityNext: "normal" },
        { severityUsed: "normal", severityNext: "tightened" },
      ],
    });
    const gap = { aql: 1, lots: [{ outcome: "accepted-return-to-normal" }] };
    expect(calculate("switching", gap)).toHaveProperty("error");
    expect(calculate("switching", { ...gap, start: "reduced" })).toMatchObject({ severity: "normal" });
  });

  it("draw and list-hash: the first vector of the specification", () => {
    const candidates = Array.from({ length: 10 }, (_, place) => String(1009 - place));
    const seed = "3 1 4 1 5 9 2 6 5 3 5 8 9 7 9 3 2 3 8 4";
    const listHash = "640d77d68d4badb8e8da461a86fc34392c9655cc8e54fb13d15d5bc6efd5c03e";
    expect(calculate("draw", { candidates, seed, n: 3, spares: 2 })).toEqual({
      sample: ["1003", "1005", "1000"],
      spares: ["1009", "1001"],
      listHash,
      algorithm: "sealbook-draw-1",
    });
    expect(calculate("list-hash", { candidates })).toEqual({ listHash, candidates: 10 });
    expect(calculate("draw", { candidates: ["a", "a"], seed: "1", n: 1 })).toHaveProperty("error");
    expect(calculate("draw", { candidates, seed: "", n: 1 })).toHaveProperty("error");
    expect(calculate("draw", { candidates, seed: "1", n: 11 })).toHaveProperty("error");
    expect(calculate("list-hash", { candidates: ["a", "a"] })).toHaveProperty("error");
  });
});
