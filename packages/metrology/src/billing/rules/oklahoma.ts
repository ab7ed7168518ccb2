import type { BillRule } from "../bill-rule.ts";

/** Okla. Admin. Code 165:35-15-22. */
export const oklahomaBillRule: BillRule = {
  key: "us-ok",
  place: "Oklahoma",
  citation: {
    title: "Okla. Admin. Code 165:35-15-22, adjustment of bills",
    where:
      "https://casetext.com/regulation/oklahoma-administrative-code/title-165-corporation-commission/chapter-35-electric-utility-rules/subchapter-15-meter-requirements/part-3-meter-location-testing-and-operation/section-16535-15-22-adjustment-of-bills",
    dateRead: "2026-11-25",
    howRead: "(a), (b) and the beginning of (c), current through 17 June 2024; what follows was not seen",
  },
  fast: {
    thresholdPercent: "2",
    duty: "must",
    correctTo: "hundred-percent",
    knownStart: { causes: ["established", "tampering"], capMonths: null },
    assumedPeriod: {
      shortestOf: [{ fraction: "1", since: "last-test" }],
      capMonths: 6,
      addMonthsOverdue: false,
    },
  },
  slow: {
    thresholdPercent: "2",
    duty: "must",
    correctTo: "hundred-percent",
    knownStart: { causes: ["tampering"], capMonths: null },
    assumedPeriod: {
      shortestOf: [{ fraction: "0.5", since: "last-test" }],
      capMonths: 6,
      addMonthsOverdue: false,
    },
  },
  tamperingHasNoThreshold: false,
  amount: { basis: "energy-rate", rounding: "each-line" },
  smallestAmount: null,
  creep: null,
  stopped: {
    duty: "may",
    estimate: "mean-of-comparable-periods",
    capMonths: 6,
    tamperingLiftsCap: true,
  },
  notes: [
    "Verify against the current text; local rules govern.",
    "For a fast meter the text says that the overcharge is based upon the last test, at most six months; it is read here as the time since the last test, at most six months.",
    "The customer may pay a charge in instalments over as long as the billing was wrong, at most six months unless agreed otherwise.",
    "A stopped meter is estimated from corresponding periods of earlier years, else from similar periods of known accurate measurement.",
  ],
};
