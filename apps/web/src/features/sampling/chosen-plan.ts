import { attributesPlan } from "@sealbook/metrology/sampling/attributes/attributes-plan";
import { doublePlan } from "@sealbook/metrology/sampling/attributes/double-plan";
import { findTablePlan } from "@sealbook/metrology/sampling/attributes/find-table-plan";
import { franceInServicePlans } from "@sealbook/metrology/sampling/attributes/france-in-service-plans";
import type { PlanRefusal } from "@sealbook/metrology/sampling/sampling-terms";
import { milstd414Plan } from "@sealbook/metrology/sampling/variables/milstd414-plan";
import { z19Plan } from "@sealbook/metrology/sampling/variables/z19-plan";
import { doubleLaw, type PlanLaw, singleLaw, variablesLaw } from "../../trade/lots/plan-law.ts";
import { type PlanChoice, standardOf } from "./plan-standards.ts";

/** A plan as people read it, with what it does to good and bad lots. */
export interface ChosenPlan {
  kind: "plan";
  facts: readonly { term: string; value: string }[];
  notes: readonly string[];
  /** Null where everything is accepted, whatever the lot holds. */
  law: PlanLaw | null;
}

/**
 * Finds the plan that a choice asks for.
 *
 * @param choice  a choice whose lot size is a whole number, 0 or more
 * @returns the plan, or why the tables give none
 */
export function chosenPlan(choice: PlanChoice): ChosenPlan | PlanRefusal {
  const lotSize = Number(choice.lotSize);
  const { level, severity: inspection } = choice;
  const request = { lotSize, level, aql: Number(choice.aql), inspection };
  switch (choice.standard) {
    case "attributes": {
      const plan = attributesPlan(request);
      if (plan.kind === "refused") return plan;
      return {
        kind: "plan",
        facts: [
          { term: "Code letter", value: letters(plan.letter, plan.planLetter) },
          ...singleFacts(plan.n, plan.ac, plan.re),
        ],
        notes: plan.notes,
        law: singleLaw(plan.n, plan.ac, lotSize),
      };
    }
    case "attributes-double": {
      const plan = doublePlan(request);
      if (plan.kind === "refused") return plan;
      if (plan.kind === "use-single-plan") {
        const single = chosenPlan({ ...choice, standard: "attributes" });
        if (single.kind === "refused") return single;
        return {
          ...single,
          notes: ["The table of double plans sends this lot to the single plan.", ...single.notes],
        };
      }
      return {
        kind: "plan",
        facts: [
          { term: "Code letter", value: letters(plan.letter, plan.planLetter) },
          { term: "First sample", value: `n ${plan.n1}, Ac ${plan.ac1}, Re ${plan.re1}` },
          { term: "Second sample", value: `n ${plan.n2}; both together Ac ${plan.ac2}, Re ${plan.re2}` },
        ],
        notes: plan.allInspected ? ["Both samples together may take the whole lot."] : [],
        law: doubleLaw(plan, lotSize),
      };
    }
    case "z1.9":
    case "milstd-414": {
      const plan = choice.standard === "z1.9" ? z19Plan(request) : milstd414Plan(request);
      if (plan.kind === "refused") return plan;
      return {
        kind: "plan",
        facts: [
          { term: "Code letter", value: plan.letter },
          { term: "Sample size n", value: String(plan.n) },
          { term: "M, most estimated percent nonconforming", value: `${plan.maximumPercent} %` },
          ...(plan.k === null ? [] : [{ term: "k, for one limit by Form 1", value: String(plan.k) }]),
        ],
        notes: plan.notes,
        law: variablesLaw(plan),
      };
    }
    case "france-in-service": {
      const plan = findTablePlan(
        franceInServicePlans,
        lotSize,
        inspection === "tightened" ? "tightened" : "normal",
      );
      if (plan.kind === "refused") return plan;
      return {
        kind: "plan",
        facts: [
          ...singleFacts(plan.n, plan.ac, plan.re),
          { term: "Drawn with spares", value: String(plan.drawn) },
          { term: "Source", value: plan.source },
        ],
        notes: franceInServicePlans.remarks,
        law: singleLaw(plan.n, plan.ac, lotSize),
      };
    }
  }
}

/** The name of the choice, as a heading says it. */
export function choiceName(choice: PlanChoice): string {
  const standard = standardOf(choice.standard);
  const asked = standard.levels.length === 0 ? "" : `, level ${choice.level}, AQL ${choice.aql}`;
  return `${standard.name}${asked}, ${choice.severity} inspection`;
}

function singleFacts(n: number, ac: number, re: number) {
  return [
    { term: "Sample size n", value: String(n) },
    { term: "Accepted with at most (Ac)", value: `${ac} nonconforming` },
    { term: "Not accepted from (Re)", value: `${re} nonconforming` },
  ];
}

function letters(letter: string, planLetter: string): string {
  return letter === planLetter ? letter : `${letter}, by the arrow ${planLetter}`;
}
