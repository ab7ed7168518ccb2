import { drawSample } from "@sealbook/metrology/sampling/draw/draw-sample";
import { evaluateSample } from "@sealbook/metrology/sampling/evaluation/evaluate-sample";
import { nextSeverity } from "@sealbook/metrology/sampling/switching/next-severity";
import { startSeries } from "@sealbook/metrology/sampling/switching/start-series";
import { judgeForm2 } from "@sealbook/metrology/sampling/variables/judge-form-2";
import { z19Plan } from "@sealbook/metrology/sampling/variables/z19-plan";
import { describe, expect, it } from "vitest";
import { walks } from "./walks.ts";

describe("two state rules from group to decision", () => {
  it("has both decisions of Indiana's rule and all severities of Michigan's", () => {
    expect(walks.map(({ inspection, accepted }) => [inspection, accepted])).toEqual([
      ["normal", true],
      ["normal", false],
      ["normal", false],
      ["tightened", true],
      ["reduced", true],
    ]);
  });

  it.each(walks)("$name ($rule)", (walk) => {
    const plan = z19Plan({ lotSize: walk.lotSize, level: "II", aql: 2.5, inspection: walk.inspection });
    if (plan.kind !== "plan") throw new Error(plan.sentence);
    expect(plan).toMatchObject({ letter: walk.letter, n: walk.n, maximumPercent: walk.M });

    const candidates = Array.from({ length: walk.lotSize }, (_, place) =>
      String(walk.firstMeter + walk.step * place),
    );
    const draw = drawSample({ candidates, seed: walk.seed, n: plan.n, spares: walk.spares });
    if (draw.kind !== "drawn") throw new Error(draw.sentence);
    expect(draw.listHash).toBe(walk.listHash);
    expect(draw.sample.slice(0, 3)).toEqual(walk.firstDrawn);
    expect(draw.spares.at(-1)).toBe(walk.lastSpare);

    const { estimate } = evaluateSample(walk.fullLoad, { lower: 98, upper: 102 }, walk.lotSize);
    if (estimate.kind !== "estimate") throw new Error(estimate.sentence);
    expect(estimate.mean).toBeCloseTo(Number(walk.mean), 12);
    expect(estimate.s).toBeCloseTo(Number(walk.s), 13);
    expect(Math.abs(estimate.pLower - Number(walk.pLower))).toBeLessThanOrEqual(1e-11);
    expect(Math.abs(estimate.pUpper - Number(walk.pUpper))).toBeLessThanOrEqual(1e-11);
    expect(judgeForm2(estimate, plan.maximumPercent).outcome === "accepted").toBe(walk.accepted);
  });

  it("leaves Z1.9's switching to the authority, because its text was not read", () => {
    const first = nextSeverity(
      startSeries("ANSI/ASQ Z1.9"),
      {
        kind: "lot",
        inspection: "original",
        outcome: "not-accepted",
        nonconforming: 8,
        sampleUnits: 100,
        steady: true,
        reducedApproved: false,
      },
      { aql: 2.5 },
    );
    expect(first.state.severity).toBe("normal");
    expect(first.reasons.join(" ")).toContain("Nothing is switched");
    const directed = {
      kind: "directed",
      severity: "tightened",
      reason: "Read in the standard by the engineer.",
    } as const;
    expect(nextSeverity(first.state, directed, { aql: 2.5 }).state.severity).toBe("tightened");
  });
});
