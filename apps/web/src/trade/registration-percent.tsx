import { formatDecimal, parseDecimal } from "@sealbook/metrology/decimal";

/** A percent registration or error for a column: rounded half away from zero, all with the same places. */
export function RegistrationPercent({ value, places = 2 }: { value: string | null; places?: number }) {
  if (value === null) return <span className="quiet">–</span>;
  const read = parseDecimal(value);
  return <>{read.kind === "decimal" ? formatDecimal(read.value, places) : value}</>;
}
