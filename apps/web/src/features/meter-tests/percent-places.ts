import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { Decimal, formatDecimal } from "@sealbook/metrology/decimal";

const fewest = 3;
const most = 9;

/**
 * Decimals for the columns of a pass: three, or as many more as it takes that no figure, once rounded, seems to stand
 * on the other side of its limit. 102.0004 must not read "102.000" beside "outside limits".
 */
export function percentPlaces(evaluation: PassEvaluation): number {
  const judged = [
    ...evaluation.points.map((point) => ({ value: point.meanPercent, limits: point.limits })),
    { value: evaluation.average?.registrationPercent ?? null, limits: evaluation.average?.limits ?? null },
  ];
  for (let places = fewest; places < most; places += 1) {
    const isTrue = judged.every(({ value, limits }) => {
      if (value === null || limits === null) return true;
      const exact = new Decimal(value);
      const rounded = new Decimal(formatDecimal(exact, places));
      return [limits.minPercent, limits.maxPercent].every(
        (limit) => rounded.comparedTo(limit) === exact.comparedTo(limit),
      );
    });
    if (isTrue) return places;
  }
  return most;
}
