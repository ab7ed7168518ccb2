import { passEvaluationSchema } from "@sealbook/contract/pass-evaluation";
import { evaluatePass } from "@sealbook/metrology/accuracy/evaluate-pass";
import { describe, expect, it } from "vitest";

describe("an evaluation on record from version 1 of the arithmetic", () => {
  it("is read as one that asked for neither starting load nor demand", () => {
    const evaluation = evaluatePass({
      meter: { form: "9S", kh: "1.8", kt: null },
      points: [],
      average: null,
      averageLimits: null,
      decisionRule: { kind: "simple", source: "house rule" },
      occasion: "in-service",
      creepAllowed: false,
      standard: null,
      volts: "120",
      testAmperes: "2.5",
      entry: { points: [], creep: "none" },
    });
    const { startingLoad: _, demand: __, ...older } = evaluation;
    expect(passEvaluationSchema.parse(older)).toEqual({ ...older, startingLoad: null, demand: null });
  });
});
