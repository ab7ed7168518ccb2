import { wholeMonthsBetween } from "../calendar/whole-months-between.ts";
import { Decimal } from "../decimal.ts";
import type { LotEvaluation } from "../sampling/decision/lot-evaluation-schema.ts";
import type { CharacteristicPlan, LotPlan } from "../sampling/decision/lot-plan-schema.ts";
import type { LotCharacteristic, LotLine, RejectedLot } from "./lot-line-schema.ts";

/** A decided lot as it stands on record. */
export interface DecidedLot extends Omit<LotLine, "characteristics"> {
  readonly plan: LotPlan;
  readonly evaluation: LotEvaluation;
  /** The lot of the same series that was decided before this one; null for a first one. */
  readonly before: { readonly number: string; readonly evaluation: LotEvaluation } | null;
  /** Of each meter whose test counts: when it was tested and when before, purchase year, average as found. */
  readonly tested: readonly {
    readonly performedOn: string;
    readonly previousOn: string | null;
    readonly purchaseYear: number | null;
    readonly average: string | null;
  }[];
}

const significantDigits = 8;

/**
 * What a report says of a decided lot: per characteristic the plan, the results, mean, s and percent nonconforming, and
 * how they changed since the lot before of its series.
 *
 * @source "projected yearly change of mean, s, P", Wisconsin Administrative Code PSC 113.0919; the change here is the
 *   difference to the lot before, which is not projected
 */
export function lotLine({ plan, evaluation, before, tested: _, ...line }: DecidedLot): LotLine {
  return {
    ...line,
    characteristics: evaluation.characteristics.map((evaluated): LotCharacteristic => {
      const planned = plan.characteristics.find(
        ({ characteristic }) => characteristic === evaluated.characteristic,
      );
      if (planned === undefined)
        throw new RangeError(`the plan does not look at ${evaluated.characteristic}`);
      const earlier = before?.evaluation.characteristics.find(
        ({ characteristic }) => characteristic === evaluated.characteristic,
      );
      const now = figuresOf(evaluated);
      const then = earlier === undefined ? null : figuresOf(earlier);
      return {
        characteristic: evaluated.characteristic,
        severity: planned.severity,
        plan: planWords(planned.plan),
        n: planned.plan.n,
        counted: evaluated.counted,
        nonconforming: evaluated.nonconforming,
        untestable: evaluated.untestable,
        leftOut: evaluated.leftOut,
        mean: written(now.mean),
        s: written(now.s),
        percentNonconforming: written(now.percentNonconforming),
        change:
          before === null || then === null
            ? null
            : {
                since: before.number,
                mean: difference(now.mean, then.mean),
                s: difference(now.s, then.s),
                percentNonconforming: difference(now.percentNonconforming, then.percentNonconforming),
              },
        outcome: evaluated.outcome,
      };
    }),
  };
}

/**
 * A lot that was not accepted, as a commission asks for it.
 *
 * @returns null for a lot that was accepted
 * @source R 460.3617(b) and (c) of the Michigan Administrative Code
 */
export function rejectedLot(lot: DecidedLot): RejectedLot | null {
  if (lot.outcome !== "not-accepted") return null;
  const months = lot.tested.flatMap(({ performedOn, previousOn }) =>
    previousOn === null ? [] : wholeMonthsBetween(previousOn, performedOn),
  );
  const averages = lot.tested.flatMap(({ average }) => (average === null ? [] : new Decimal(average)));
  const years = lot.tested.flatMap(({ purchaseYear }) => purchaseYear ?? []);
  return {
    id: lot.id,
    number: lot.number,
    maker: lot.maker,
    model: lot.model,
    sampled: lot.plan.n < lot.size,
    averageMonthsSinceLastTest:
      months.length === 0 ? null : writtenDecimal(Decimal.sum(...months).dividedBy(months.length)),
    tightened: lot.plan.characteristics.some(({ severity }) => severity === "tightened"),
    purchaseYears: [...new Set(years)].sort((a, b) => a - b),
    leastAsFound: averages.length === 0 ? null : Decimal.min(...averages).toFixed(),
    greatestAsFound: averages.length === 0 ? null : Decimal.max(...averages).toFixed(),
  };
}

/** A plan in words, as documents print it. */
function planWords(plan: CharacteristicPlan["plan"]): string {
  switch (plan.kind) {
    case "attributes":
      return `${plan.edition}, letter ${plan.letter}: n = ${plan.n}, Ac = ${plan.ac}, Re = ${plan.re}`;
    case "variables":
      return `${plan.edition}, letter ${plan.letter}: n = ${plan.n}, M = ${plan.maximumPercent} %`;
    case "plan-table":
      return `${plan.table}: n = ${plan.n}, Ac = ${plan.ac}, Re = ${plan.re}`;
    case "whole-lot":
      return `Every meter of the lot: n = ${plan.n}, none may be nonconforming`;
  }
}

interface LotFigures {
  mean: Decimal | null;
  s: Decimal | null;
  percentNonconforming: Decimal | null;
}

function figuresOf({
  mean,
  s,
  estimate,
  counted,
  nonconforming,
}: LotEvaluation["characteristics"][number]): LotFigures {
  const observed = counted === 0 ? null : new Decimal(nonconforming).times(100).dividedBy(counted);
  return {
    mean: mean === null ? null : new Decimal(mean),
    s: s === null ? null : new Decimal(s),
    percentNonconforming: estimate === null ? observed : new Decimal(estimate.p),
  };
}

function difference(now: Decimal | null, then: Decimal | null): string | null {
  return now === null || then === null ? null : writtenDecimal(now.minus(then));
}

function written(value: Decimal | null): string | null {
  return value === null ? null : writtenDecimal(value);
}

function writtenDecimal(value: Decimal): string {
  const rounded = value.toSignificantDigits(significantDigits);
  return (rounded.isZero() ? rounded.abs() : rounded).toFixed();
}
