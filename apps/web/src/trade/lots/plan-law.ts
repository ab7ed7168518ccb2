import {
  type DoubleCharacteristicPlan,
  doubleAcceptance,
} from "@sealbook/metrology/sampling/characteristic/double-acceptance";
import { singleAcceptance } from "@sealbook/metrology/sampling/characteristic/single-acceptance";
import { variablesAcceptance } from "@sealbook/metrology/sampling/characteristic/variables-acceptance";
import { variablesAcceptanceTwoLimits } from "@sealbook/metrology/sampling/characteristic/variables-acceptance-two-limits";

/** What a plan does to lots of a given quality. */
export interface PlanLaw {
  /** Probability of acceptance at a fraction nonconforming of the process, 1 at 0 and 0 at 1: the curve. */
  ofProcess: (fraction: number) => number;
  /** What one lot of this fraction meets, in sentences' figures. */
  ofLot: (fraction: number) => LotChance;
}

/** The chance of one lot: its nonconforming meters where the count decides, and the probabilities with their case. */
export interface LotChance {
  /** Meters nonconforming in the lot; null where the plan measures, not counts. */
  nonconforming: number | null;
  probability: number;
  /** Where the nonconforming meters lie on both sides of the limits in equal parts; null where nothing is measured. */
  probabilityOnBothSides: number | null;
}

/**
 * Law of a single plan by attributes: binomial for the process, hypergeometric for the lot.
 *
 * @param n sample size, at most the lot
 * @param ac acceptance number
 * @param lotSize meters in the lot
 * @returns the law; null where even a lot of nothing but nonconforming meters is accepted
 */
export function singleLaw(n: number, ac: number, lotSize: number): PlanLaw | null {
  if (ac >= n) return null;
  const ofLot = (fraction: number) => ({
    ...singleAcceptance({ n, ac }, fraction, lotSize),
    probabilityOnBothSides: null,
  });
  return {
    // Where every meter is inspected chance has no part, and the curve is the lot's own step.
    ofProcess: (fraction) =>
      n === lotSize ? ofLot(fraction).probability : singleAcceptance({ n, ac }, fraction).probability,
    ofLot,
  };
}

/** Law of a double plan by attributes; a lot smaller than both samples is taken as a process. */
export function doubleLaw(plan: DoubleCharacteristicPlan, lotSize: number): PlanLaw {
  return {
    ofProcess: (fraction) => doubleAcceptance(plan, fraction).probability,
    ofLot: (fraction) => {
      const isCounted = plan.n1 + plan.n2 <= lotSize;
      const { probability, nonconforming } = doubleAcceptance(
        plan,
        fraction,
        isCounted ? lotSize : undefined,
      );
      return { probability, nonconforming, probabilityOnBothSides: null };
    },
  };
}

/** Law of a plan by variables with M: the curve has all nonconforming meters beyond one limit. */
export function variablesLaw({ n, maximumPercent }: { n: number; maximumPercent: number }): PlanLaw | null {
  if (n < 3 || maximumPercent <= 0 || maximumPercent >= 100) return null;
  // Built anew, for a plan of the tables carries k besides and would be judged by it.
  const plan = { n, maximumPercent };
  const ofProcess = (fraction: number) => variablesAcceptance(plan, fraction);
  return {
    ofProcess,
    ofLot: (fraction) => ({
      nonconforming: null,
      probability: ofProcess(fraction),
      probabilityOnBothSides:
        fraction > 0 && fraction < 1
          ? variablesAcceptanceTwoLimits(plan, { lower: fraction / 2, upper: fraction / 2 })
          : null,
    }),
  };
}
