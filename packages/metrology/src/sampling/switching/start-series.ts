import type { InspectionSeverity } from "../sampling-terms.ts";
import type { SwitchingEditionName } from "./switching-editions.ts";
import type { SwitchingState } from "./switching-state.ts";

/**
 * A new series of lots.
 *
 * @param edition whose rules switch it
 * @param severity normal, unless the responsible authority directs otherwise
 * @returns the state before the first lot
 * @source MIL-STD-105E, 4.6.1: normal inspection at the start unless otherwise directed
 */
export function startSeries(
  edition: SwitchingEditionName,
  severity: InspectionSeverity = "normal",
): SwitchingState {
  return { edition, severity, lots: [] };
}
