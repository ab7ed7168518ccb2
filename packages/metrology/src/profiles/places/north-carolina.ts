import type { RuleProfile } from "../profile-schema.ts";
import { caution, roundingNote, simpleAcceptance, takeUncorrected } from "../profile-words.ts";

const averageMethods = "04 NCAC 11 R08-11";
const inService = "04 NCAC 11 R08-13(a)";
const older = "04 NCAC 11 R08-12, text of 1977";

/** North Carolina: averages by methods 1 to 4, in-service failures by the average, creep and first accuracy of 1977. */
export const northCarolina: RuleProfile = {
  format: 1,
  key: "us-nc",
  version: "2",
  title: "North Carolina, electric meters",
  place: "North Carolina, United States",
  caution,
  citations: [
    {
      title: "04 NCAC 11 R08-11, method of determining average error of meters",
      where:
        "https://casetext.com/regulation/north-carolina-administrative-code/title-04-commerce/chapter-11-utilities-commission/chapter-8/article-3-meters-meter-tests-and-records/section-11-r08-11-method-of-determining-average-error-of-meters",
      dateRead: "2026-11-25",
      howRead: "whole section, current through 16 September 2024",
    },
    {
      title: "04 NCAC 11 R08-13, in-service meter testing",
      where:
        "https://casetext.com/regulation/north-carolina-administrative-code/title-04-commerce/chapter-11-utilities-commission/chapter-8/article-3-meters-meter-tests-and-records/section-11-r08-13-in-service-meter-testing",
      dateRead: "2026-11-25",
      howRead: "(a) to the beginning of (d), current through 1 November 2024",
    },
    {
      title: "04 NCAC 11 R08-12, meter accuracy",
      where:
        "http://ncrules.state.nc.us/ncac/title%2004%20-%20commerce/chapter%2011%20-%20utilities%20commission/04%20ncac%2011%20r08-12.html",
      dateRead: "2026-11-25",
      howRead: "whole section in the text of 29 November 1977; whether it was amended since was not seen",
    },
    {
      title: "04 NCAC 11 R08-03, records, and R08-10, testing facilities",
      where:
        "http://ncrules.state.nc.us/ncac/title%2004%20-%20commerce/chapter%2011%20-%20utilities%20commission/04%20ncac%2011%20r08-03.html",
      dateRead: "2026-11-29",
      howRead:
        "R08-03 whole, in the text of 27 October 1977; of R08-10 (a) and (b); whether either was amended since was not seen",
    },
    {
      title:
        "04 NCAC 11 R08-44, method of adjustment for rates varying from schedule or for other billing errors",
      where: "https://www.law.cornell.edu/regulations/north-carolina/04-N-C-Admin-Code-11-R08-44",
      dateRead: "2026-11-29",
      howRead: "the opening, (1) and (2)a to c; what follows, with the whole of undercharges, was cut off",
    },
  ],
  effective: { from: "2019-11-27", to: null },
  judged: ["points", "average", "creep"],
  limits: [
    {
      of: "average",
      occasions: ["in-service"],
      accuracyClass: null,
      limits: { minPercent: "98", maxPercent: "102", source: inService },
    },
    {
      of: "average",
      occasions: ["new", "as-left"],
      accuracyClass: null,
      limits: { minPercent: "98", maxPercent: "102", source: `${older}, (b)` },
    },
    {
      of: "average",
      occasions: ["request"],
      accuracyClass: null,
      limits: { minPercent: "98", maxPercent: "102", source: `${older}, (d)` },
    },
    {
      of: "full-load",
      occasions: ["new", "as-left"],
      accuracyClass: null,
      limits: { minPercent: "98", maxPercent: "102", source: `${older}, (b)` },
    },
    {
      of: "light-load",
      occasions: ["new", "as-left"],
      accuracyClass: null,
      limits: { minPercent: "96", maxPercent: "104", source: `${older}, (b)` },
    },
  ],
  averages: [
    {
      key: "method-1",
      phases: "any",
      rule: {
        label: "Method 1: (4 FL + LL) / 5",
        weights: [
          { role: "full-load", weight: "4" },
          { role: "light-load", weight: "1" },
        ],
        source: `${averageMethods}(a)(1)`,
      },
    },
    {
      key: "method-2",
      phases: "any",
      rule: {
        label: "Method 2: (FL + LL) / 2",
        weights: [
          { role: "full-load", weight: "1" },
          { role: "light-load", weight: "1" },
        ],
        source: `${averageMethods}(a)(2)`,
      },
    },
    {
      key: "method-3",
      phases: "any",
      rule: {
        label: "Method 3: one representative load",
        weights: [{ role: "full-load", weight: "1" }],
        source: `${averageMethods}(a)(3)`,
      },
    },
    {
      key: "method-4",
      phases: "any",
      rule: {
        label: "Method 4: (4 FL + 2 LL + PF) / 7",
        weights: [
          { role: "full-load", weight: "4" },
          { role: "light-load", weight: "2" },
          { role: "power-factor", weight: "1" },
        ],
        source: `${averageMethods}(a)(4)`,
      },
    },
  ],
  constantLoad: null,
  loads: [
    {
      role: "power-factor",
      minPercentOfTestAmperes: "100",
      maxPercentOfTestAmperes: "100",
      powerFactor: "0.5",
      source: averageMethods,
    },
  ],
  decisionRule: simpleAcceptance,
  creep: {
    definition: { kind: "registers-at-no-load", belowPercentOfVoltage: 110 },
    source: `${older}, (a)`,
  },
  rounding: roundingNote,
  outsideCertifiedRange: takeUncorrected,
  intervals: [
    {
      appliesTo: "meters in a periodic interval plan",
      months: 192,
      source: "04 NCAC 11 R08-13(c)",
    },
  ],
  sampling: {
    kind: "utility-plan",
    standards: [
      "ANSI Z1.4",
      "ANSI Z1.9",
      "another valid program evaluated by qualified independent mathematical statisticians",
    ],
    source: "04 NCAC 11 R08-13(b)",
  },
  billAdjustment: null,
  reportBands: null,
  retention: [
    {
      what: "all records that the rules require, complete records of tests among them",
      howLong: "at least one year after they are made",
      source: "04 NCAC 11 R08-03(c), text of 1977",
    },
  ],
  gaps: [
    "How bills are adjusted was read for overcharges only (R08-44(2)), so no adjustment is computed here: what the rule says of undercharges was cut off.",
    "Whether the accuracy rule of 1977 still stands beside the rules of 2019 was not seen.",
    "The accuracy rule of 1977 speaks of meters maintained in service, too; here its limits at single loads hold for new meters and as left only.",
  ],
  notes: [
    "The rule leaves the averaging method to the utility; method 1 is taken unless another is chosen.",
    "An overcharge by a meter error is refunded or credited over the whole interval where it is known, within the statute of limitations, else over the 12 months before the error was discovered (R08-44(2)a, b); an average error within 2 % entails no adjustment (R08-12(d), text of 1977).",
    "Full load, light load and the power-factor point stand at test amperes as ANSI C12.1 sets them, which was not read.",
    "Portable test instruments are checked against suitable reference standards periodically, often enough to be accurate whenever they are used (R08-10(b)); the rule names no interval.",
    "Whether a meter is in a periodic interval plan or in a sampling plan is the utility's choice (R08-13(a)), which a type does not tell: no due dates are kept until a version with a selector is approved.",
    "Corrective action for a group: accelerated testing, splitting the group, or removal in a stated time (R08-13(d)).",
  ],
};
