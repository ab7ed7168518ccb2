import type { InspectionSeverity } from "@sealbook/metrology/sampling/sampling-terms";

/** How hard the inspection is, for people. */
export const severityNames: Record<InspectionSeverity | "discontinued", string> = {
  normal: "Normal",
  tightened: "Tightened",
  reduced: "Reduced",
  discontinued: "Discontinued",
};
