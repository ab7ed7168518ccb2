import { Decimal } from "./decimal.ts";

/** What canonical JSON holds: numbers are whole. */
type InDecimals =
  | null
  | boolean
  | number
  | string
  | readonly InDecimals[]
  | { readonly [key: string]: InDecimals };

/**
 * Plain data as the ledger holds it: whole numbers stay, every other number is written out as the shortest decimal that
 * reads back as the same double.
 *
 * @throws RangeError if the value holds something that the ledger cannot hold
 */
export function inDecimals(value: unknown): InDecimals {
  if (typeof value === "number") {
    return Number.isSafeInteger(value) ? value : new Decimal(value).toFixed();
  }
  if (Array.isArray(value)) return value.map(inDecimals);
  if (typeof value === "object" && value !== null) {
    return Object.fromEntries(Object.entries(value).map(([key, member]) => [key, inDecimals(member)]));
  }
  if (value === null || typeof value === "string" || typeof value === "boolean") return value;
  throw new RangeError(`the ledger cannot hold a ${typeof value}`);
}
