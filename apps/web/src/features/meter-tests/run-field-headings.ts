import type { RunField } from "./test-form.ts";

/** Headings of the entry columns. @param quantity  what the standard counts: Wh, VARh, VAh */
export function runFieldHeadings(quantity: string): Record<RunField, string> {
  return {
    counts: "Counts",
    standardEnergy: `Standard ${quantity}`,
    standardRevolutions: "Standard rev",
    standardConstant: `Ks, ${quantity}/rev`,
    registrationPercent: "Entered %",
  };
}
