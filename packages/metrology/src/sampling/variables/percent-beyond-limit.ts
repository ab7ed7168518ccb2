import { requireWhole } from "../require-whole.ts";
import { symmetricBetaTail } from "./symmetric-beta-tail.ts";

/**
 * Estimated percent nonconforming beyond one limit, variability unknown, standard deviation method.
 *
 * It is the minimum-variance unbiased estimate for a normal characteristic: 100 I_x(n/2 - 1, n/2 - 1) with
 * x = 1/2 - Q sqrt(n) / (2 (n - 1)), and 0 or 100 where x leaves 0 to 1. For n = 3 it is an arc sine, for n = 4 a
 * straight line. It is not the share of a normal curve beyond Q.
 *
 * @param q quality index, (upper limit - mean) / s or (mean - lower limit) / s; its sign counts: a mean beyond the limit
 *   gives a negative Q and more than 50 percent. An infinity stands for no spread.
 * @param n sample size, a whole number >= 3
 * @returns percent, 0 to 100
 * @throws RangeError if Q is NaN or n is below 3 or not whole
 * @source MIL-STD-414 (1957), Table B-5 and Appendix; Lieberman and Resnikoff (1955)
 * @example percentBeyondLimit(1.59, 5) // 2.19 to the table's two decimals (MIL-STD-414, example B-2)
 */
export function percentBeyondLimit(q: number, n: number): number {
  requireWhole(n, 3, "the sample size");
  if (Number.isNaN(q)) throw new RangeError("Q must be a number");
  const z = (q * Math.sqrt(n)) / (n - 1);
  if (n === 3) return 100 * symmetricBetaTail(z, 0.5, oneMinusThreeQuarterSquares(q));
  return 100 * symmetricBetaTail(z, n / 2 - 1);
}

/**
 * 1 - 3 q^2 / 4 with the square taken exactly. For n = 3 the estimate grows like a square root at its end, so that the
 * rounding of z alone would cost half of its digits there.
 */
function oneMinusThreeQuarterSquares(q: number): number {
  if (Math.abs(q) > 2) return -1;
  const square = q * q;
  const squareRest = restOfProduct(q, q, square);
  const three = 3 * square;
  const threeRest = restOfProduct(3, square, three);
  return (4 - three - threeRest - 3 * squareRest) / 4;
}

/** What rounding dropped from a * b, exactly (Veltkamp's split, Dekker's product). */
function restOfProduct(a: number, b: number, product: number): number {
  const splitA = 134_217_729 * a;
  const highA = splitA - (splitA - a);
  const lowA = a - highA;
  const splitB = 134_217_729 * b;
  const highB = splitB - (splitB - b);
  const lowB = b - highB;
  return lowA * lowB - (product - highA * highB - lowA * highB - highA * lowB);
}
