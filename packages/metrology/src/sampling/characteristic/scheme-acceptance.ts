/**
 * Long-run probability of acceptance of a scheme that switches between normal and tightened inspection.
 *
 * @param normal probability of acceptance of the normal plan at a quality, 0 <= normal <= 1
 * @param tightened probability of acceptance of the tightened plan at the same quality, 0 <= tightened <= 1
 * @returns the share of lots accepted by the scheme
 * @throws RangeError if a probability lies outside 0..1
 * @source Stephens and Larson (1967), two of five and five in a row, as used for MIL-STD-105
 * @example schemeAcceptance(1, 1) // 1
 */
export function schemeAcceptance(normal: number, tightened: number): number {
  if (!(normal >= 0 && normal <= 1 && tightened >= 0 && tightened <= 1)) {
    throw new RangeError("a probability must lie between 0 and 1");
  }
  // A plan that never fails keeps normal inspection; one that never passes keeps tightened.
  if (normal === 1) return 1;
  if (tightened === 0) return 0;
  const lotsOnNormal = (2 - normal ** 4) / ((1 - normal) * (1 - normal ** 4));
  const lotsOnTightened = tightened === 1 ? 5 : (1 - tightened ** 5) / ((1 - tightened) * tightened ** 5);
  return (lotsOnNormal * normal + lotsOnTightened * tightened) / (lotsOnNormal + lotsOnTightened);
}
