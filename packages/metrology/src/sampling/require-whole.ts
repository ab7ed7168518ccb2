/**
 * Throws unless a number is whole and not below the least that makes sense.
 *
 * @param value the number to check
 * @param least the smallest value allowed, whole
 * @param name what the number is, for the message
 * @throws RangeError if the value is not a safe whole number or lies below the least
 */
export function requireWhole(value: number, least: number, name: string): void {
  if (!Number.isSafeInteger(value) || value < least) {
    throw new RangeError(`${name} must be a whole number of at least ${least}, not ${value}`);
  }
}
