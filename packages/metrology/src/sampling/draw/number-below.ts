const all = 1n << 64n;

/**
 * A number below m from a stream of unsigned 64-bit numbers, each equally likely: numbers from the last, incomplete round
 * of remainders are discarded.
 *
 * @param next gives the next number of the stream, 0 <= number < 2^64
 * @param m whole, >= 1
 * @returns the numbers taken, in decimal, and the place, 0 <= place < m
 * @source draw-specification.md, rule 7
 */
export function numberBelow(next: () => bigint, m: number): { numbers: string[]; place: number } {
  const modulus = BigInt(m);
  const bound = all - (all % modulus);
  const numbers: string[] = [];
  let number: bigint;
  do {
    number = next();
    numbers.push(number.toString());
  } while (number >= bound);
  return { numbers, place: Number(number % modulus) };
}
