import { michiganBillRule } from "../../billing/rules/michigan.ts";
import type { RuleProfile } from "../profile-schema.ts";
import { caution, roundingNote, simpleAcceptance, takeUncorrected } from "../profile-words.ts";

/** Michigan: yearly samples by variables of lots of 301 to 35,000; bills by the average beyond 2 %. */
export const michigan: RuleProfile = {
  format: 1,
  key: "us-mi",
  version: "2",
  title: "Michigan, solid-state electric meters",
  place: "Michigan, United States",
  caution,
  citations: [
    {
      title: "Mich. Admin. Code R 460.3613, solid state meter and metering equipment testing requirements",
      where:
        "https://casetext.com/regulation/michigan-administrative-code/department-licensing-and-regulatory-affairs/public-service-commission/technical-standards-for-electric-service/part-6-metering-equipment-inspections-and-tests/section-r-4603613-solid-state-meter-and-metering-equipment-testing-requirements",
      dateRead: "2026-11-25",
      howRead:
        "(1) to (3)(c), current through 15 June 2024; the criterion of (3)(d) and what follows was cut off",
    },
    {
      title: "Mich. Admin. Code R 460.115a, meter accuracy and errors for electric customers",
      where: "https://www.law.cornell.edu/regulations/michigan/Mich-Admin-Code-R-460-115a",
      dateRead: "2026-11-25",
      howRead: "(1) to (5) and the beginning of (6)",
    },
    {
      title: "Mich. Admin. Code R 460.3615, metering equipment records",
      where:
        "https://casetext.com/regulation/michigan-administrative-code/department-licensing-and-regulatory-affairs/public-service-commission/technical-standards-for-electric-service/part-6-metering-equipment-inspections-and-tests/section-r-4603615-metering-equipment-records",
      dateRead: "2026-11-25",
      howRead: "whole section, current through 1 December 2024",
    },
    {
      title: "Mich. Admin. Code R 460.3617, reports to be filed with the commission",
      where:
        "https://casetext.com/regulation/michigan-administrative-code/department-licensing-and-regulatory-affairs/public-service-commission/technical-standards-for-electric-service/part-6-metering-equipment-inspections-and-tests/section-r-4603617-reports-to-be-filed-with-the-commission",
      dateRead: "2026-11-25",
      howRead: "whole section, current through 1 December 2024",
    },
  ],
  effective: { from: "2023-04-10", to: null },
  judged: [],
  limits: [
    {
      of: "average",
      occasions: ["request"],
      accuracyClass: null,
      limits: { minPercent: "98", maxPercent: "102", source: "R 460.115a(1)(b)" },
    },
  ],
  averages: [],
  constantLoad: null,
  loads: [],
  decisionRule: simpleAcceptance,
  creep: null,
  rounding: roundingNote,
  outsideCertifiedRange: takeUncorrected,
  intervals: [],
  sampling: {
    kind: "variables",
    standard: "ANSI/ASQ Z1.9-2003 (R2018)",
    tables: "Table A-2; calculations as in Example B-3 (R 460.3615(3))",
    level: "II",
    aqlPercent: null,
    judgedOn: [],
    limits: null,
    lotMin: 301,
    lotMax: 35_000,
    everyMonths: 12,
    switching: true,
    source: "R 460.3613(3)(a) to (c)",
  },
  billAdjustment: michiganBillRule,
  reportBands: {
    places: 1,
    bands: [
      { label: "up to 94.0", minPercent: null, maxPercent: "94.0" },
      { label: "94.1-96.0", minPercent: "94.1", maxPercent: "96.0" },
      { label: "96.1-97.0", minPercent: "96.1", maxPercent: "97.0" },
      { label: "97.1-98.0", minPercent: "97.1", maxPercent: "98.0" },
      { label: "98.1-99.0", minPercent: "98.1", maxPercent: "99.0" },
      { label: "99.1-100.0", minPercent: "99.1", maxPercent: "100.0" },
      { label: "100.1-101.0", minPercent: "100.1", maxPercent: "101.0" },
      { label: "101.1-102.0", minPercent: "101.1", maxPercent: "102.0" },
      { label: "102.1-103.0", minPercent: "102.1", maxPercent: "103.0" },
      { label: "103.1-104.0", minPercent: "103.1", maxPercent: "104.0" },
      { label: "104.1-106.0", minPercent: "104.1", maxPercent: "106.0" },
      { label: "over 106.0", minPercent: "106.1", maxPercent: null },
    ],
    asFoundOnly: true,
    source: "R 460.3617 in its text before 10 April 2023; the current text asks for rejected lots instead",
  },
  reports: [
    {
      what: "statement that the metering equipment complies with the rules on standardizing equipment; each rejected lot of the sampling plan with maker, type, average months in service since the last test, and lots in tightened inspection; each rejected lot outside the plan with maker, type, purchase year, and as-found accuracy or its range",
      dueBy: "04-01",
      covers: "calendar-year",
      source: "R 460.3617",
    },
  ],
  retention: [
    {
      what: "record of the most recent test of each meter",
      howLong: "until the next test",
      source: "R 460.3615(1)",
    },
  ],
  gaps: [
    "How the average is made stands in R 460.3616, which was not read: give it before an average is judged.",
    "The accuracy that a meter must have before installation stands in R 460.3602, which was not read.",
    "The criterion of acceptance of a lot, its limits and the switching rules stand in R 460.3613(3)(d) and after, which was cut off.",
    "Whether a creeping meter fails by itself was not read: bills are adjusted for creep (R 460.115a), and no meter fails for it here.",
  ],
  notes: [
    "Groups by maker's type; meters of the newest design may be combined, but a type with 8,001 meters or more stays apart.",
    "Bills are adjusted when the average inaccuracy exceeds 2 % or a mechanical meter creeps.",
    "By 1 April: certificate on the standardizing equipment; each rejected lot of the sampling plan, and each rejected lot outside it (R 460.3617).",
    "Records of each sample: lot size, meter numbers, test data before adjustment, months since the last test (R 460.3615(3)).",
  ],
};
