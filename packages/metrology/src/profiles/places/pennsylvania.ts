import { pennsylvaniaBillRule } from "../../billing/rules/pennsylvania.ts";
import type { RuleProfile } from "../profile-schema.ts";
import { caution, roundingNote, simpleAcceptance, takeUncorrected } from "../profile-words.ts";

const testing = "52 Pa. Code 57.20";
const averageError = "52 Pa. Code 57.24(a)";

/** Pennsylvania: 2.0 % at light load and at heavy load, the average by one fifth of light plus four heavy. */
export const pennsylvania: RuleProfile = {
  format: 1,
  key: "us-pa",
  version: "1",
  title: "Pennsylvania, watthour meters",
  place: "Pennsylvania, United States",
  caution,
  citations: [
    {
      title: "52 Pa. Code 57.20, watthour meter testing",
      where: "https://www.law.cornell.edu/regulations/pennsylvania/52-Pa-Code-SS-57-20",
      dateRead: "2026-11-25",
      howRead: "(a) to (d) and the beginning of (e)(1); the table of test periods was cut off",
    },
    {
      title: "52 Pa. Code 57.24, adjustment of bills for average meter error",
      where: "https://www.law.cornell.edu/regulations/pennsylvania/52-Pa-Code-SS-57-24",
      dateRead: "2026-11-25",
      howRead: "(a), (b) and the beginning of (c)",
    },
    {
      title: "52 Pa. Code 57.22, request tests and fees",
      where: "http://www.pacode.com/secure/data/052/chapter57/s57.22.html",
      dateRead: "2026-11-25",
      howRead: "(a) and (b); the table of fees was cut off",
    },
  ],
  effective: { from: null, to: null },
  judged: ["points", "average", "creep"],
  limits: [
    {
      of: "full-load",
      occasions: ["new", "in-service", "as-left", "request"],
      accuracyClass: null,
      limits: { minPercent: "98", maxPercent: "102", source: `${testing}(c)` },
    },
    {
      of: "light-load",
      occasions: ["new", "in-service", "as-left", "request"],
      accuracyClass: null,
      limits: { minPercent: "98", maxPercent: "102", source: `${testing}(c)` },
    },
    {
      of: "average",
      occasions: ["request"],
      accuracyClass: null,
      limits: { minPercent: "98", maxPercent: "102", source: "52 Pa. Code 57.24(b), (c)" },
    },
  ],
  averages: [
    {
      key: "light-and-heavy",
      phases: "any",
      rule: {
        label: "(LL + 4 HL) / 5",
        weights: [
          { role: "light-load", weight: "1" },
          { role: "full-load", weight: "4" },
        ],
        source: `${averageError}(2)`,
      },
    },
  ],
  constantLoad: { source: `${averageError}(1)` },
  loads: [
    {
      role: "light-load",
      minPercentOfTestAmperes: "10",
      maxPercentOfTestAmperes: "15",
      powerFactor: "1",
      source: `${testing}(b); power factor: common practice, no source`,
    },
    {
      role: "full-load",
      minPercentOfTestAmperes: "75",
      maxPercentOfTestAmperes: "100",
      powerFactor: "1",
      source: `${testing}(b); power factor: common practice, no source`,
    },
  ],
  decisionRule: simpleAcceptance,
  creep: {
    definition: { kind: "turn-within", seconds: 300 },
    source: `${testing}(a)`,
  },
  rounding: roundingNote,
  outsideCertifiedRange: takeUncorrected,
  intervals: [],
  sampling: null,
  billAdjustment: pennsylvaniaBillRule,
  reportBands: null,
  retention: [],
  gaps: [
    "The periods of the periodic test by class of meter were cut off.",
    "Testing by sample, if the rule allows it, was not read.",
    "How long records are kept was not read.",
  ],
  notes: [
    "Heavy load is the full-load point, at 75 to 100 % of test amperes.",
    "The rule averages errors; the average of registrations less 100 is the same number.",
    "The Commission may take another load as more representative (57.24(a)(3)).",
    "A record names maker, type, rating, year of purchase, place and year of installation, year and reason of the last test, registration as found and as left (57.20(d)).",
  ],
};
