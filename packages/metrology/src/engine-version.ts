/**
 * Version of the arithmetic that judges a test; every record keeps the one it was judged by. It counts up when a
 * change can alter a figure or a verdict of the same entry.
 *
 * - 1: points, average and creep. Creep that the plan asked for and nobody checked did not hold a pass open.
 * - 2: starting load and demand where the plan asks for them; an unanswered creep test holds the pass open.
 */
export const engineVersion = "2";
