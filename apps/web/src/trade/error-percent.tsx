import { formatDecimal, parseDecimal } from "@sealbook/metrology/decimal";
import { signedText } from "./signed-text.ts";

/** An error in percent with its sign, as the certificate prints it: "+0.173", "−1.506"; a zero carries none. */
export function ErrorPercent({ value, places }: { value: string | null; places: number }) {
  if (value === null) return <span className="quiet">–</span>;
  const read = parseDecimal(value);
  return <>{read.kind === "decimal" ? signedText(formatDecimal(read.value, places)) : value}</>;
}
