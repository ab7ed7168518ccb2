import { parseDecimal } from "../decimal.ts";
import { Fraction } from "../fraction.ts";
import type { DecimalString } from "./test-terms.ts";

/** A figure beside the points that is more often a slip than true: it is typed again, or confirmed. */
export interface UnusualCircumstance {
  field: "readingBefore" | "readingAfter" | "temperatureCelsius";
  reason: string;
}

const coldestCelsius = "-60";
const hottestCelsius = "80";

/**
 * Register readings that the register cannot show, and a temperature at which nobody tests.
 *
 * @param entered   readings in kWh and temperature in °C; null where none was entered. A text that is no number is
 *                  passed over: that is refused elsewhere
 * @param register  dials (digits before the decimal mark), and the multiplier from dials to kWh; > 0
 * @source common practice, no source
 * @example a reading of 100000 on five dials with multiplier 1 is unusual, 99999 is not
 */
export function unusualCircumstances(
  entered: {
    readingBefore: DecimalString | null;
    readingAfter: DecimalString | null;
    temperatureCelsius: DecimalString | null;
  },
  register: { registerDials: number; registerMultiplier: DecimalString },
): UnusualCircumstance[] {
  const unusual: UnusualCircumstance[] = [];
  const turnsOver = Fraction.of(10n ** BigInt(register.registerDials)).times(register.registerMultiplier);
  for (const field of ["readingBefore", "readingAfter"] as const) {
    const reading = numberIn(entered[field]);
    if (reading === null) continue;
    if (reading.isLessThan("0")) {
      unusual.push({ field, reason: "A register does not read below zero." });
    } else if (!reading.isLessThan(turnsOver)) {
      const reason = `A register of ${register.registerDials} dials turns over at ${turnsOver.toText()} kWh.`;
      unusual.push({ field, reason });
    }
  }
  const temperature = numberIn(entered.temperatureCelsius);
  if (temperature?.isLessThan(coldestCelsius) || temperature?.isGreaterThan(hottestCelsius)) {
    unusual.push({
      field: "temperatureCelsius",
      reason: `Tests are seldom made outside ${coldestCelsius} °C to ${hottestCelsius} °C.`,
    });
  }
  return unusual;
}

function numberIn(text: string | null): Fraction | null {
  if (text === null || text.trim() === "") return null;
  const parsed = parseDecimal(text);
  return parsed.kind === "not-a-decimal" ? null : Fraction.of(parsed.value);
}
