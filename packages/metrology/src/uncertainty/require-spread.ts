/**
 * States a precondition of a risk: a standard deviation or standard uncertainty is greater than zero and finite.
 *
 * @param name what it is, for the message
 * @throws RangeError if it is not
 */
export function requireSpread(name: string, value: number): void {
  if (!(value > 0) || !Number.isFinite(value)) throw new RangeError(`${name} must be positive, got ${value}`);
}
