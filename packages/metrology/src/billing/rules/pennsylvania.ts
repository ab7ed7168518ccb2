import type { BillRule } from "../bill-rule.ts";

/** 52 Pa. Code 57.24. A charge for a slow meter is allowed, not ordered. */
export const pennsylvaniaBillRule: BillRule = {
  key: "us-pa",
  place: "Pennsylvania",
  citation: {
    title: "52 Pa. Code 57.24, adjustment of bills for average meter error",
    where: "https://www.law.cornell.edu/regulations/pennsylvania/52-Pa-Code-SS-57-24",
    dateRead: "2026-11-25",
    howRead: "(a), (b) and the beginning of (c); what follows was not seen",
  },
  fast: {
    thresholdPercent: "2",
    duty: "must",
    correctTo: "hundred-percent",
    knownStart: { causes: ["established", "tampering"], capMonths: null },
    assumedPeriod: {
      shortestOf: [{ fraction: "0.5", since: "last-test" }],
      capMonths: 12,
      addMonthsOverdue: true,
    },
  },
  slow: {
    thresholdPercent: "2",
    duty: "may",
    correctTo: "hundred-percent",
    knownStart: { causes: ["established", "tampering"], capMonths: null },
    assumedPeriod: {
      shortestOf: [{ fraction: "0.5", since: "last-test" }],
      capMonths: 3,
      addMonthsOverdue: false,
    },
  },
  tamperingHasNoThreshold: false,
  amount: { basis: "energy-rate", rounding: "each-line" },
  smallestAmount: null,
  creep: null,
  stopped: null,
  notes: [
    "Verify against the current text; local rules govern.",
    "The time overdue for the periodic test is added to the 12 months, as the rule says: it lengthens the cap.",
    "A load that is substantially constant is judged by its error at that load.",
  ],
};
