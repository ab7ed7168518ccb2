import { Decimal } from "@sealbook/metrology/decimal";
import { Fraction } from "@sealbook/metrology/fraction";
import { z } from "zod";

/**
 * One calculation that anybody may repeat: the command line and the service offer the same table, and both describe
 * its fields from the same schemas.
 *
 * Numbers come in as JSON numbers or as decimal strings. A JSON number counts as the shortest decimal that prints it,
 * so 100.2 is 100.2 and not the double beside it. Numbers go out as JSON numbers: exact results rounded to 15
 * significant digits, statistics at full double precision. Money goes out as JSON numbers in whole cents.
 */
export interface Calculation {
  /** Kebab-case, unique in the table. */
  name: string;
  summary: string;
  /** Where the formula comes from. */
  source: string;
  input: z.ZodType;
  output: z.ZodType;
  /** Takes what `input` has parsed; an expected refusal is a value. */
  run(input: unknown): CalculationOutcome;
}

export interface CalculationRefusal {
  /** A sentence that says what to change. */
  error: string;
}

export type CalculationOutcome = CalculationRefusal | Record<string, unknown>;

/**
 * Binds a calculation's schemas to its function, so that the table need not know each input's type.
 *
 * A broken precondition of a formula (a RangeError) comes back as a refusal: here the arguments are somebody's input.
 */
export function defineCalculation<Input extends z.ZodType, Output extends z.ZodType>(definition: {
  name: string;
  summary: string;
  source: string;
  input: Input;
  output: Output;
  run(input: z.output<Input>): z.output<Output> | CalculationRefusal;
}): Calculation {
  return {
    ...definition,
    run(input) {
      try {
        return definition.run(input as z.output<Input>) as CalculationOutcome;
      } catch (problem) {
        if (problem instanceof RangeError) return { error: problem.message };
        throw problem;
      }
    },
  };
}

const numberExpected = "must be a number such as 100.04, or the same as text";

/** A number as JSON number or decimal string: an optional sign, digits, an optional fraction, at most 40 characters. */
export const numberInput = z.union(
  [z.number(), z.string().regex(/^(?=.{1,40}$)[+-]?\d+(\.\d+)?$/, { error: numberExpected, abort: true })],
  { error: numberExpected },
);
export type NumberInput = z.output<typeof numberInput>;

/** A number above zero, in either spelling. */
export const positiveInput = numberInput.refine((value) => Number(value) > 0, "must be greater than 0");
/** A number that is not negative, in either spelling. */
export const nonNegativeInput = numberInput.refine((value) => Number(value) >= 0, "must not be negative");

/** The exact value of what was typed. */
export function exact(value: NumberInput): Fraction {
  return typeof value === "string" ? Fraction.of(value) : Fraction.of(new Decimal(value));
}

/** An exact value as a JSON number, rounded to 15 significant digits, which a double always carries. */
export function asNumber(value: Fraction | Decimal): number {
  const decimal = value instanceof Fraction ? value.toDecimal() : value;
  return decimal.toSignificantDigits(15).toNumber();
}

/** The same value written out as a decimal, for functions that take what was typed. */
export function asText(value: NumberInput): string {
  return exact(value).toDecimal().toFixed();
}
