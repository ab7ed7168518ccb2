import type { RuleProfile } from "../profile-schema.ts";
import { caution, roundingNote, simpleAcceptance, takeUncorrected } from "../profile-words.ts";

const rule = "170 IAC 4-1-10";

/** Indiana, electric: a 16-year schedule, or yearly samples of self-contained meters by variables at full load. */
export const indiana: RuleProfile = {
  format: 1,
  key: "us-in",
  version: "2",
  title: "Indiana, self-contained watthour meters in service",
  place: "Indiana, United States",
  caution,
  citations: [
    {
      title: "170 IAC 4-1-10, in-service tests; watthour meters, self-contained",
      where: "https://regulations.justia.com/states/indiana/title-170/article-4/rule-1/section-10/",
      dateRead: "2026-11-25",
      howRead:
        "(a) to the beginning of (c)(5), current through 20 March 2024; the limits U and L were cut off",
    },
  ],
  effective: { from: null, to: null },
  judged: [],
  limits: [],
  averages: [],
  constantLoad: null,
  loads: [],
  decisionRule: simpleAcceptance,
  creep: null,
  rounding: roundingNote,
  outsideCertifiedRange: takeUncorrected,
  intervals: [
    {
      appliesTo: "self-contained meters under Method A, periodic testing",
      selector: { connection: "direct" },
      months: 192,
      source: `${rule}(b)`,
    },
  ],
  sampling: {
    kind: "variables",
    standard: "ANSI/ASQC Z1.9-1993",
    tables:
      "Tables A-2 and B-3, double specification limit, variability unknown, standard deviation method, normal",
    level: "II",
    aqlPercent: "2.50",
    judgedOn: ["full-load"],
    limits: null,
    lotMin: 301,
    lotMax: null,
    everyMonths: 12,
    switching: false,
    source: `${rule}(c)(1) to (5)`,
  },
  billAdjustment: null,
  reportBands: null,
  retention: [],
  gaps: [
    "The upper and lower accuracy limits of (c)(5) were cut off: give them before a lot is judged.",
    "The accuracy of a single meter and how the average is made stand in sections 8 and 9, which were not read.",
    "How bills are adjusted was not read.",
  ],
  notes: [
    "Method B needs written notice to the commission.",
    "Groups are homogeneous and may be divided into lots; no lot under 301 meters.",
  ],
};
