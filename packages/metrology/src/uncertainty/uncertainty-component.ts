/**
 * How the values that a component could take are spread.
 *
 * - standard: the value is a standard uncertainty already (a type A evaluation, for one).
 * - normal: the value is an expanded uncertainty and its divisor the coverage factor k that came with it.
 * - rectangular: the value is the half-width of an interval within which all is equally likely.
 * - triangular: the value is the half-width of an interval whose middle is the likeliest.
 * - u-shaped: the value is the amplitude of something that swings like a sine (arcsine distribution).
 */
export type ComponentDistribution = "standard" | "normal" | "rectangular" | "triangular" | "u-shaped";

/** One contribution to an uncertainty budget. */
export interface UncertaintyComponent {
  /** What it is, in words; unique in its budget. */
  label: string;
  /** In the unit of the input quantity; >= 0. What it means is told by the distribution. */
  value: number;
  distribution: ComponentDistribution;
  /**
   * What the value is divided by to give a standard uncertainty; > 0. Left out: 1 for standard and normal, the root
   * of 3, 6 or 2 for rectangular, triangular and u-shaped.
   */
  divisor?: number | undefined;
  /** Change of the result per unit of the input quantity (c = df/dx); 1 when left out. */
  sensitivity?: number | undefined;
  /** Degrees of freedom of the standard uncertainty; > 0; left out or null when it counts as exactly known. */
  degreesOfFreedom?: number | null | undefined;
}
