import { describe, expect, it } from "vitest";
import { singleLaw } from "../../trade/lots/plan-law.ts";
import { probabilityText, protectionSentence } from "../../trade/lots/protection-sentence.ts";
import { chosenPlan } from "./chosen-plan.ts";
import { type PlanChoice, readPlanChoice } from "./plan-standards.ts";

const shipment: PlanChoice = {
  standard: "attributes",
  lotSize: "3000",
  level: "II",
  aql: "1",
  severity: "normal",
  percent: "",
};

function factsOf(choice: PlanChoice): Record<string, string> {
  const plan = chosenPlan(choice);
  return plan.kind === "refused"
    ? { refused: plan.reason }
    : Object.fromEntries(plan.facts.map((fact) => [fact.term, fact.value]));
}

describe("the plan chooser", () => {
  it("reads the single plan of a lot of 3,000", () => {
    // MIL-STD-105E, Tables I and II-A: 1,201 to 3,200 at level II is letter K; K at AQL 1.0 is n 125, Ac 3, Re 4.
    expect(factsOf(shipment)).toEqual({
      "Code letter": "K",
      "Sample size n": "125",
      "Accepted with at most (Ac)": "3 nonconforming",
      "Not accepted from (Re)": "4 nonconforming",
    });
  });

  it("reads the French plan with its spares", () => {
    // Order of 1 August 2013, Annexe 7: up to 9,999 meters 56 are tested, 5 may fail, 85 are drawn.
    expect(factsOf({ ...shipment, standard: "france-in-service" })).toMatchObject({
      "Sample size n": "56",
      "Accepted with at most (Ac)": "5 nonconforming",
      "Drawn with spares": "85",
    });
  });

  it("says why there is no plan", () => {
    expect(factsOf({ ...shipment, lotSize: "1" })).toEqual({ refused: "lot-too-small" });
  });

  it("takes the usual value where the address asks for what the tables do not have", () => {
    expect(
      readPlanChoice({ standard: "z1.9", level: "IV", aql: "3", severity: "loose", lotSize: "500" }),
    ).toEqual({
      standard: "z1.9",
      lotSize: "500",
      level: "II",
      aql: "2.5",
      severity: "normal",
      percent: "",
    });
  });
});

describe("what a plan protects", () => {
  it("agrees with the handbook's curve", () => {
    // NIST/SEMATECH e-Handbook 6.2.3.2: n = 52, c = 3; Pa is 0.998 at 1 % and 0.930 at 3 %.
    const law = singleLaw(52, 3, 10_000);
    expect(law?.ofProcess(0.01)).toBeCloseTo(0.998, 3);
    expect(law?.ofProcess(0.03)).toBeCloseTo(0.93, 3);
  });

  it("counts the lot's own meters", () => {
    // Two inspected, none may fail, one of ten nonconforming: 8 of 10 samples of two miss it (9 x 8 / 90).
    const law = singleLaw(2, 0, 10);
    expect(law).not.toBeNull();
    if (law === null) return;
    expect(protectionSentence(10, 10, law.ofLot(0.1))).toBe(
      "A lot with 10 % nonconforming (1 of 10 meters) is accepted with probability 0.800.",
    );
  });

  it("all but never accepts by variables what is half nonconforming", () => {
    // ANSI/ASQ Z1.9, Table B-3: letter L at AQL 1.0 is n 75, M 2.27 %. At 50 % the mean lies on the limit, and 75
    // readings would have to estimate 2.27 % beyond it: 17 standard errors of a mean away.
    const plan = chosenPlan({ ...shipment, standard: "z1.9", lotSize: "5000" });
    expect(plan.kind).toBe("plan");
    if (plan.kind === "refused") return;
    expect(plan.facts).toContainEqual({ term: "Sample size n", value: "75" });
    expect(plan.law?.ofProcess(0.5)).toBeLessThan(1e-9);
  });

  it("has no law where everything is accepted", () => {
    expect(singleLaw(3, 3, 3)).toBeNull();
  });

  it("never writes what is uncertain as certain", () => {
    expect(probabilityText(0.99996)).toBe("above 0.999");
    expect(probabilityText(0.0001)).toBe("below 0.001");
    expect(probabilityText(1)).toBe("1");
  });
});
