/** Abscissae on (0, 1) and weights of the 20-point rule; the other ten points mirror them. */
const rule = legendreRule(20);

/**
 * Integral of a smooth function by 20-point Gauss-Legendre on each stretch between neighbouring break points.
 *
 * @param f the integrand, smooth between the break points
 * @param breaks ascending abscissae, at least two to give anything but 0
 * @returns the integral from the first break to the last
 * @source Abramowitz and Stegun, 25.4.29 and 25.4.30
 * @example integrate((x) => x * x, [0, 3]) // 9
 */
export function integrate(f: (x: number) => number, breaks: readonly number[]): number {
  let total = 0;
  for (let i = 1; i < breaks.length; i += 1) {
    const from = breaks[i - 1] as number;
    const to = breaks[i] as number;
    const middle = (from + to) / 2;
    const half = (to - from) / 2;
    let sum = 0;
    for (const { abscissa, weight } of rule) {
      sum += weight * (f(middle - half * abscissa) + f(middle + half * abscissa));
    }
    total += half * sum;
  }
  return total;
}

/** Roots of the Legendre polynomial of an even order by Newton's method, with the weights that belong to them. */
function legendreRule(order: number): { abscissa: number; weight: number }[] {
  const points: { abscissa: number; weight: number }[] = [];
  for (let k = 1; k <= order / 2; k += 1) {
    let x = Math.cos((Math.PI * (k - 0.25)) / (order + 0.5));
    let slope = 0;
    for (let step = 0; step < 10; step += 1) {
      let previous = 1;
      let current = x;
      for (let n = 2; n <= order; n += 1) {
        [previous, current] = [current, ((2 * n - 1) * x * current - (n - 1) * previous) / n];
      }
      slope = (order * (x * current - previous)) / (x * x - 1);
      x -= current / slope;
    }
    points.push({ abscissa: x, weight: 2 / ((1 - x * x) * slope * slope) });
  }
  return points;
}
