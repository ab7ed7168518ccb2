import type { AssumedPeriod, BillRule } from "../bill-rule.ts";

const shortestOfHalves: AssumedPeriod = {
  shortestOf: [
    { fraction: "0.5", since: "installation" },
    { fraction: "0.5", since: "last-test" },
  ],
  capMonths: 72,
  addMonthsOverdue: false,
};

/** Mich. Admin. Code R 460.115a. An over-registration must be adjusted, an under-registration may be. */
export const michiganBillRule: BillRule = {
  key: "us-mi",
  place: "Michigan",
  citation: {
    title: "Mich. Admin. Code R 460.115a, meter accuracy and errors for electric customers only",
    where: "https://www.law.cornell.edu/regulations/michigan/Mich-Admin-Code-R-460-115a",
    dateRead: "2026-11-25",
    howRead:
      "subrules (1) to (5) and the beginning of (6); R 460.115, to which they are subject, was not seen",
  },
  fast: {
    thresholdPercent: "2",
    duty: "must",
    correctTo: "hundred-percent",
    knownStart: { causes: ["established", "tampering"], capMonths: null },
    assumedPeriod: shortestOfHalves,
  },
  slow: {
    thresholdPercent: "2",
    duty: "may",
    correctTo: "hundred-percent",
    knownStart: { causes: ["established", "tampering"], capMonths: null },
    assumedPeriod: shortestOfHalves,
  },
  tamperingHasNoThreshold: true,
  amount: { basis: "energy-rate", rounding: "each-line" },
  smallestAmount: null,
  creep: {
    duty: "must",
    knownStart: { causes: ["established", "tampering"], capMonths: null },
    assumedPeriod: {
      shortestOf: [
        { fraction: "0.25", since: "installation" },
        { fraction: "0.25", since: "last-test" },
      ],
      capMonths: 72,
      addMonthsOverdue: false,
    },
  },
  stopped: null,
  notes: [
    "Verify against the current text; local rules govern.",
    "Every period is subject to R 460.115 (limits on charging for what was not billed), which was not read: check it before charging for a slow meter.",
    "The standard of the test counts as 100 % true.",
    "Creep is a finding of mechanical meters; its rate is timed.",
  ],
};
