import type { LotRow } from "@sealbook/contract/sampling";
import { samplingCharacteristicNames } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { severityNames } from "./severity-names.ts";

/** Inspection state of a lot in few words: once where all characteristics share it, else one by one. */
export function severityWords(severities: LotRow["severities"]): string {
  const [first, ...others] = severities;
  if (first === undefined) return "–";
  if (others.every((other) => other.severity === first.severity)) return severityNames[first.severity];
  return severities
    .map(
      (one) =>
        `${samplingCharacteristicNames[one.characteristic]}: ${severityNames[one.severity].toLowerCase()}`,
    )
    .join("; ");
}
