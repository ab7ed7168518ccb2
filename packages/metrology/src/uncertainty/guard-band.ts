import { normalQuantile } from "../statistics/normal-quantile.ts";

/** How wide the band between a tolerance limit and its acceptance limit is. */
export type GuardBandRule =
  /** w = r U: acceptance limits drawn in by r times the expanded uncertainty (r = 1 is T - U). */
  | { kind: "multiple"; uncertaintyMultiple: number }
  /** A = T sqrt(1 - 1 / TUR^2). */
  | { kind: "root-sum-square" }
  /** A = T - U M, M = 1.04 - exp(0.38 ln TUR - 0.54), never negative: keeps false accept at or under 2 %. */
  | { kind: "method-6" }
  /** w = z u, so that a value at the acceptance limit is falsely accepted with this probability. */
  | { kind: "specific-risk"; maxProbability: number };

export type GuardBand =
  | { kind: "guard-band"; width: number; acceptanceLimit: number }
  | { kind: "nothing-acceptable"; width: number; reason: string };

/**
 * Guard band of a symmetric tolerance: how far within it a measured value must lie to be accepted.
 *
 * @param tolerance half-width T of the tolerance; > 0
 * @param expandedUncertainty U at k = 2, in the same unit; > 0. The standard uncertainty is half of it.
 * @param rule how the width is made; a multiple is >= 0, a probability 0 < p < 1
 * @returns width of the band and half-width of the acceptance interval, or that the band leaves nothing to accept.
 *   A negative width (a specific risk above one half) widens the interval.
 * @throws RangeError if an argument is outside its range
 * @source JCGM 106:2012, 8.3; ILAC-G8:09/2019, section 4 (multiple); ANSI/NCSL Z540.3 handbook, methods 5 and 6 as
 *   commonly quoted
 * @example guardBand(1, 0.5, { kind: "root-sum-square" }) // acceptance limit 0.8660 (TUR 2)
 */
export function guardBand(tolerance: number, expandedUncertainty: number, rule: GuardBandRule): GuardBand {
  for (const [name, value] of [
    ["tolerance", tolerance],
    ["expanded uncertainty", expandedUncertainty],
  ] as const) {
    if (!(value > 0) || !Number.isFinite(value))
      throw new RangeError(`the ${name} must be positive, got ${value}`);
  }
  const width = guardBandWidth(tolerance, expandedUncertainty, rule);
  if (!(width < tolerance)) {
    return {
      kind: "nothing-acceptable",
      width,
      reason: "The guard band is as wide as the tolerance: no measured value could be accepted.",
    };
  }
  return { kind: "guard-band", width, acceptanceLimit: tolerance - width };
}

function guardBandWidth(tolerance: number, expandedUncertainty: number, rule: GuardBandRule): number {
  const ratio = tolerance / expandedUncertainty;
  switch (rule.kind) {
    case "multiple":
      if (!(rule.uncertaintyMultiple >= 0) || !Number.isFinite(rule.uncertaintyMultiple)) {
        throw new RangeError(`the multiple must not be negative, got ${rule.uncertaintyMultiple}`);
      }
      return rule.uncertaintyMultiple * expandedUncertainty;
    case "root-sum-square":
      return ratio <= 1 ? tolerance : tolerance * (1 - Math.sqrt(1 - 1 / (ratio * ratio)));
    case "method-6":
      return expandedUncertainty * Math.max(0, 1.04 - Math.exp(0.38 * Math.log(ratio) - 0.54));
    case "specific-risk":
      if (!(rule.maxProbability > 0 && rule.maxProbability < 1)) {
        throw new RangeError(`a probability lies between 0 and 1, got ${rule.maxProbability}`);
      }
      return (-normalQuantile(rule.maxProbability) * expandedUncertainty) / 2;
  }
}
