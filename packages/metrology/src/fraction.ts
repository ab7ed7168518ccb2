import { Decimal, isDecimalString } from "./decimal.ts";

/** What a fraction can be made of without loss. Binary doubles are left out on purpose: 100.2 is not a double. */
export type ExactNumber = string | bigint | Decimal | Fraction;

/**
 * An exact rational number. A registration is a quotient of typed decimals, and a quotient seldom ends: carried to
 * any fixed count of digits, an average of such quotients can land beside a limit that it meets exactly. Judgement
 * therefore works on numerator and denominator, and digits are made only to be shown.
 *
 * Invariant: the denominator is positive and shares no factor with the numerator.
 */
export class Fraction {
  readonly numerator: bigint;
  readonly denominator: bigint;

  private constructor(numerator: bigint, denominator: bigint) {
    const divisor = greatestCommonDivisor(numerator < 0n ? -numerator : numerator, denominator);
    this.numerator = numerator / divisor;
    this.denominator = denominator / divisor;
  }

  /**
   * @param value  a decimal written out ("100.04"), a whole number as a bigint, a finite Decimal, or a fraction
   * @throws RangeError if the text is no decimal or the Decimal is not finite
   * @example Fraction.of("0.5") // 1/2
   */
  static of(value: ExactNumber): Fraction {
    if (value instanceof Fraction) {
      return value;
    }
    if (typeof value === "bigint") {
      return new Fraction(value, 1n);
    }
    if (typeof value === "string") {
      if (!isDecimalString(value)) {
        throw new RangeError(`not a decimal written out: ${JSON.stringify(value)}`);
      }
      return Fraction.fromDigits(value);
    }
    if (!value.isFinite()) {
      throw new RangeError(`not finite: ${value.toString()}`);
    }
    return Fraction.fromDigits(value.toFixed());
  }

  private static fromDigits(text: string): Fraction {
    const [whole = "0", decimals = ""] = text.replace("+", "").split(".");
    return new Fraction(BigInt(whole + decimals), 10n ** BigInt(decimals.length));
  }

  plus(other: ExactNumber): Fraction {
    const b = Fraction.of(other);
    return new Fraction(
      this.numerator * b.denominator + b.numerator * this.denominator,
      this.denominator * b.denominator,
    );
  }

  minus(other: ExactNumber): Fraction {
    return this.plus(Fraction.of(other).negated());
  }

  times(other: ExactNumber): Fraction {
    const b = Fraction.of(other);
    return new Fraction(this.numerator * b.numerator, this.denominator * b.denominator);
  }

  /** @throws RangeError if the divisor is zero */
  dividedBy(other: ExactNumber): Fraction {
    const b = Fraction.of(other);
    if (b.numerator === 0n) {
      throw new RangeError("division by zero");
    }
    const sign = b.numerator < 0n ? -1n : 1n;
    return new Fraction(this.numerator * b.denominator * sign, this.denominator * b.numerator * sign);
  }

  negated(): Fraction {
    return new Fraction(-this.numerator, this.denominator);
  }

  absolute(): Fraction {
    return this.numerator < 0n ? this.negated() : this;
  }

  /** @returns -1, 0 or 1 as this number is less than, equal to or greater than the other */
  comparedTo(other: ExactNumber): -1 | 0 | 1 {
    const b = Fraction.of(other);
    const difference = this.numerator * b.denominator - b.numerator * this.denominator;
    return difference < 0n ? -1 : difference > 0n ? 1 : 0;
  }

  isLessThan(other: ExactNumber): boolean {
    return this.comparedTo(other) < 0;
  }

  isGreaterThan(other: ExactNumber): boolean {
    return this.comparedTo(other) > 0;
  }

  equals(other: ExactNumber): boolean {
    return this.comparedTo(other) === 0;
  }

  isPositive(): boolean {
    return this.numerator > 0n;
  }

  /** To 40 significant digits. */
  toDecimal(): Decimal {
    return new Decimal(this.numerator.toString()).dividedBy(this.denominator.toString());
  }

  /** The nearest binary double, for statistics that are not exact anyway. */
  toNumber(): number {
    return this.toDecimal().toNumber();
  }

  /**
   * With a fixed count of decimals; ties round away from zero; a zero carries no sign.
   *
   * @param places  whole number of decimals, >= 0
   */
  toFixed(places: number): string {
    const scaled = this.absolute().numerator * 10n ** BigInt(places);
    const rounded = (2n * scaled + this.denominator) / (2n * this.denominator);
    const digits = rounded.toString().padStart(places + 1, "0");
    const sign = this.numerator < 0n && rounded !== 0n ? "-" : "";
    const whole = digits.slice(0, digits.length - places);
    return places === 0 ? sign + whole : `${sign}${whole}.${digits.slice(digits.length - places)}`;
  }

  /**
   * As a decimal written out, rounded to some significant digits, without trailing zeros.
   *
   * @param significantDigits  whole number from 1 to 40
   * @example Fraction.of("714").dividedBy("7").toText() // "102"
   */
  toText(significantDigits = 12): string {
    return this.toDecimal().toSignificantDigits(significantDigits).toFixed();
  }
}

function greatestCommonDivisor(a: bigint, b: bigint): bigint {
  let [larger, smaller] = [a, b];
  while (smaller !== 0n) {
    [larger, smaller] = [smaller, larger % smaller];
  }
  return larger;
}
