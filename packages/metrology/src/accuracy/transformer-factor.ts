import { Fraction } from "../fraction.ts";
import { requirePositive } from "../require-positive.ts";
import { type Factor, factor } from "../units.ts";
import type { DecimalString } from "./test-terms.ts";

/** Nameplate ratio of an instrument transformer: 20:5 A, 7200:120 V. */
export interface TransformerRatio {
  primary: DecimalString;
  secondary: DecimalString;
}

/**
 * Transformer factor of an installation: the ratio of its current transformers times that of its voltage transformers.
 *
 * @param current  ratio of the current transformers, amperes; null without them
 * @param voltage  ratio of the voltage transformers, volts; null without them
 * @returns the factor, exact; 1 for a self-contained meter
 * @throws RangeError if a rating is not greater than 0
 * @source US Navy MO-221, navalfacilities.tpub.com/mo221/mo2210142.htm
 * @example 20:5 and 7200:120 // 4 x 60 = 240
 */
export function transformerFactor(
  current: TransformerRatio | null,
  voltage: TransformerRatio | null,
): Factor {
  return factor(ratioOf("current transformer", current).times(ratioOf("voltage transformer", voltage)));
}

function ratioOf(name: string, ratio: TransformerRatio | null): Fraction {
  if (ratio === null) {
    return Fraction.of("1");
  }
  const [primary, secondary] = [Fraction.of(ratio.primary), Fraction.of(ratio.secondary)];
  requirePositive(`primary rating of the ${name}`, primary);
  requirePositive(`secondary rating of the ${name}`, secondary);
  return primary.dividedBy(secondary);
}
