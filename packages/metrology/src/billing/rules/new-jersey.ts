import type { BillRule } from "../bill-rule.ts";

/** N.J.A.C. 14:3-4.6: the whole percentage from 100 % of the charges; slow meters are normally not billed. */
export const newJerseyBillRule: BillRule = {
  key: "us-nj",
  place: "New Jersey",
  citation: {
    title: "N.J.A.C. 14:3-4.6, adjustment of charges for meter error",
    where:
      "https://regulations.justia.com/states/new-jersey/title-14/chapter-3/subchapter-4/section-14-3-4-6/",
    dateRead: "2026-11-25",
    howRead:
      "(a), (b) and the beginning of (c), current through 18 March 2024; the period of (c) and all of (d) were not seen",
  },
  fast: {
    thresholdPercent: "2",
    duty: "must",
    correctTo: "hundred-percent",
    knownStart: { causes: ["established", "tampering"], capMonths: null },
    assumedPeriod: null,
  },
  slow: {
    thresholdPercent: "0",
    duty: "none",
    correctTo: "hundred-percent",
    knownStart: { causes: [], capMonths: null },
    assumedPeriod: null,
  },
  tamperingHasNoThreshold: false,
  amount: { basis: "share-of-charges", rounding: "total" },
  smallestAmount: null,
  creep: null,
  stopped: null,
  notes: [
    "Verify against the current text; local rules govern.",
    "Where the beginning of the error is not known, paragraph (c) gives the period; it was not read.",
    "Paragraph (d), which was not read, has the exceptions for meters that register too little.",
  ],
};
