import { Fraction } from "../fraction.ts";
import { requirePositive } from "../require-positive.ts";
import { type Factor, type KilowattHours, kilowattHours } from "../units.ts";

/** Two readings of one register and what a step of it is worth. */
export interface RegisterReadings {
  /** Reading at the start, in steps of the register: 0 <= before < 10^dials. */
  before: Fraction;
  /** Reading at the end, in the same steps. */
  after: Fraction;
  /** Whole dials or digits before the decimal sign, 1 to 12: where the register begins again at 0. */
  dials: number;
  /** Register multiplier; > 0, 1 where the register is read directly. */
  multiplier: Factor;
  /** Current ratio times voltage ratio; 1 for a self-contained meter. > 0 */
  transformerFactor: Factor;
}

export type RegisterAdvance =
  /** A register that ends below its start has rolled over once; more rounds cannot be told from readings. */
  | { kind: "advance"; energy: KilowattHours; rolledOver: boolean }
  | { kind: "reading-beyond-dials"; which: "before" | "after"; reason: string };

/**
 * Energy that a register counted between two readings: (after - before) times its multiplier and the transformer
 * factor; a register that passed its last dial once is continued.
 *
 * @param readings  the two readings and the register's constants
 * @returns kWh (or kvarh, kVAh, as the register counts), or which reading the dials cannot show
 * @throws RangeError if a factor is not greater than 0, or dials is no whole number from 1 to 12
 * @source US Navy MO-221, navalfacilities.tpub.com/mo221/mo2210142.htm (multiplier and transformer factor); the roll-over
 *   is arithmetic
 * @example five dials, 99990 to 00015, multiplier 10 // 250 kWh, rolled over
 */
export function registerAdvance(readings: RegisterReadings): RegisterAdvance {
  const { before, after, dials, multiplier, transformerFactor } = readings;
  requirePositive("multiplier", multiplier);
  requirePositive("transformer factor", transformerFactor);
  if (!Number.isInteger(dials) || dials < 1 || dials > 12) {
    throw new RangeError(`a register has 1 to 12 dials, got ${dials}`);
  }
  const round = Fraction.of(10n ** BigInt(dials));
  for (const [which, reading] of [
    ["before", before],
    ["after", after],
  ] as const) {
    if (reading.isLessThan("0") || !reading.isLessThan(round)) {
      const reason = `A register of ${dials} dials cannot show ${reading.toText()}.`;
      return { kind: "reading-beyond-dials", which, reason };
    }
  }
  const rolledOver = after.isLessThan(before);
  const steps = after.minus(before).plus(rolledOver ? round : "0");
  return {
    kind: "advance",
    energy: kilowattHours(steps.times(multiplier).times(transformerFactor)),
    rolledOver,
  };
}
