import { engineVersion } from "../../engine-version.ts";
import { requireWhole } from "../require-whole.ts";
import { evaluateCharacteristic } from "./evaluate-characteristic.ts";
import type { LotEvaluation } from "./lot-evaluation-schema.ts";
import type { LotPlan } from "./lot-plan-schema.ts";
import { outcomeOfAll } from "./outcome-of-all.ts";
import type { SampledPlace } from "./sampled-place.ts";
import type { SamplingScheme } from "./sampling-scheme.ts";

/**
 * What the results of a lot's sample say, with all arithmetic: each characteristic by its own plan, and the lot by all
 * of them. It can be asked at any time; while results are missing the outcome is open and the figures are a tally.
 *
 * @param scheme the scheme that the lot was planned under
 * @param plan the lot's plan
 * @param places the places of the sample, each once, in the order drawn: as many as the plan asks for
 * @returns the evaluation
 * @throws RangeError if the places are not those of the plan
 * @source MIL-STD-105E, 4.10; MIL-STD-414 (1957), Section B; ANSI/ASQ Z1.9, Section B; the plan table's own
 */
export function evaluateLot(
  scheme: SamplingScheme,
  plan: LotPlan,
  places: readonly SampledPlace[],
): LotEvaluation {
  requireWhole(places.length, 1, "the number of places");
  if (places.length !== plan.n || places.some(({ place }, index) => place !== index + 1)) {
    throw new RangeError(`the plan has places 1 to ${plan.n}, in this order`);
  }
  const characteristics = plan.characteristics.map((characteristicPlan) => {
    const judged = scheme.characteristics.find(
      ({ characteristic }) => characteristic === characteristicPlan.characteristic,
    );
    if (judged === undefined)
      throw new RangeError(`the scheme does not judge ${characteristicPlan.characteristic}`);
    return evaluateCharacteristic(scheme, judged, characteristicPlan, plan.lotSize, places);
  });
  const outcome = outcomeOfAll(characteristics.map((evaluated) => evaluated.outcome));
  return {
    format: 1,
    engineVersion,
    lotSize: plan.lotSize,
    sampleSize: plan.n,
    waiting: places.filter(({ outcome: { kind } }) => kind === "waiting").length,
    characteristics,
    outcome,
    sentence: sentenceOf(outcome, characteristics.length),
  };
}

function sentenceOf(outcome: LotEvaluation["outcome"], characteristics: number): string {
  const all = characteristics === 1 ? "The characteristic judged" : "Every characteristic judged";
  switch (outcome) {
    case "open":
      return "Results are missing: the figures are a tally, not a decision.";
    case "accepted":
      return `${all} is accepted: the lot is accepted.`;
    case "accepted-return-to-normal":
      return "The lot is accepted, and normal inspection returns: a count lies between the acceptance and rejection numbers.";
    case "not-accepted":
      return characteristics === 1
        ? "The characteristic judged is not accepted: the lot is not accepted."
        : "A characteristic is not accepted: the lot is not accepted.";
    case "person-decides":
      return "The plan alone cannot decide this lot: a person decides and says why.";
  }
}
