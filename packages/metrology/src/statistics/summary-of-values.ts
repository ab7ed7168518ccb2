import { Decimal } from "../decimal.ts";

/** What a list of readings says, in exact decimals of 40 digits. */
export interface SummaryOfValues {
  count: number;
  mean: Decimal;
  /** Sample standard deviation (divisor n - 1); null for a single value, of which it does not exist. */
  standardDeviation: Decimal | null;
  minimum: Decimal;
  maximum: Decimal;
  /** Largest less smallest. */
  range: Decimal;
  /** Standard deviation of the mean, s / sqrt(n); null for a single value. */
  standardError: Decimal | null;
}

/**
 * Mean, sample standard deviation, range and standard error of repeated readings.
 *
 * The readings are taken as the decimals that were typed, and the deviations from the mean are squared in
 * decimals of 40 digits: a sum of squares in doubles loses every digit when a small scatter rides on a large
 * value (NIST StRD NumAcc4).
 *
 * @param values n >= 1 readings in one unit, any order; a number counts as the shortest decimal that prints it
 * @returns the summary in the readings' unit, unrounded
 * @throws RangeError if there are no values or one is not a finite decimal
 * @source JCGM 100:2008, 4.2.1 to 4.2.3
 * @example summaryOfValues(["10000001", "10000003", "10000002"]) // mean 10000002, s 1 (NIST StRD NumAcc1)
 */
export function summaryOfValues(values: readonly (number | string)[]): SummaryOfValues {
  const readings = values.map(toReading);
  const [first] = readings;
  if (first === undefined) throw new RangeError("a summary needs at least one value");
  const count = readings.length;
  const mean = readings.reduce((sum, reading) => sum.add(reading), new Decimal(0)).div(count);
  const minimum = readings.reduce((least, reading) => (reading.lt(least) ? reading : least), first);
  const maximum = readings.reduce((most, reading) => (reading.gt(most) ? reading : most), first);
  const squares = readings.reduce((sum, reading) => {
    const deviation = reading.sub(mean);
    return sum.add(deviation.mul(deviation));
  }, new Decimal(0));
  const standardDeviation = count > 1 ? squares.div(count - 1).sqrt() : null;
  return {
    count,
    mean,
    standardDeviation,
    minimum,
    maximum,
    range: maximum.sub(minimum),
    standardError: standardDeviation === null ? null : standardDeviation.div(new Decimal(count).sqrt()),
  };
}

function toReading(value: number | string) {
  let reading: Decimal;
  try {
    reading = new Decimal(value);
  } catch {
    throw new RangeError(`not a decimal: ${JSON.stringify(value)}`);
  }
  if (!reading.isFinite()) throw new RangeError(`not a finite value: ${value}`);
  return reading;
}
