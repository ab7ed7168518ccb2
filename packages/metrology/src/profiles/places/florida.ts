import type { RuleProfile } from "../profile-schema.ts";
import { caution, roundingNote, simpleAcceptance, takeUncorrected } from "../profile-words.ts";

const accuracy = "F.A.C. 25-6.052";

/** Florida: no creep and an average within 2 % in service; demand by full scale or by reading, as the meter is made. */
export const florida: RuleProfile = {
  format: 1,
  key: "us-fl",
  version: "1",
  title: "Florida, watthour and demand meters of electric utilities",
  place: "Florida, United States",
  caution,
  citations: [
    {
      title: "F.A.C. 25-6.052, test procedures and accuracies of consumption metering devices",
      where: "https://www.lawserver.com/law/state/florida/regulations/florida_regulations_25-6-052",
      dateRead: "2026-11-25",
      howRead: "(1) to (3)(b); what follows was cut off",
    },
    {
      title: "F.A.C. 25-6.022, record of metering devices and metering device tests",
      where:
        "https://casetext.com/regulation/florida-administrative-code/department-25-public-service-commission/division-25-departmental/chapter-25-6-electric-service-by-electric-public-utilities/part-ii-records-and-reports/section-25-6022-record-of-metering-devices-and-metering-device-tests",
      dateRead: "2026-11-25",
      howRead: "(1) to the beginning of (3), current through 5 November 2024",
    },
    {
      title: "F.A.C. 25-6.103, adjustment of bills for meter error",
      where: "http://www.lawserver.com/law/state/florida/regulations/florida_regulations_25-6-103",
      dateRead: "2026-11-25",
      howRead: "(1) to the beginning of (2)",
    },
  ],
  effective: { from: null, to: null },
  judged: ["creep", "demand"],
  limits: [
    {
      of: "average",
      occasions: ["in-service", "request"],
      accuracyClass: null,
      limits: { minPercent: "98", maxPercent: "102", source: `${accuracy}(2)` },
    },
    {
      of: "average",
      occasions: ["as-left"],
      accuracyClass: null,
      limits: { minPercent: "98", maxPercent: "102", source: `F.A.C. 25-6.022(1), by ${accuracy}(2)` },
    },
  ],
  averages: [],
  constantLoad: null,
  loads: [],
  decisionRule: simpleAcceptance,
  creep: { definition: { kind: "not-defined" }, source: `${accuracy}(2)` },
  demand: [
    {
      basis: "full-scale",
      appliesTo: "mechanical and lagged demand meters and registers",
      occasions: ["new", "in-service", "as-left", "request"],
      maxErrorPercent: "4",
      fromPercent: "25",
      toPercent: "100",
      source: `${accuracy}(3)(a)`,
    },
    {
      basis: "reading",
      appliesTo: "electronic demand meters and registers",
      occasions: ["new", "in-service", "as-left", "request"],
      maxErrorPercent: "2",
      fromPercent: "10",
      toPercent: "100",
      source: `${accuracy}(3)(b)`,
    },
  ],
  rounding: roundingNote,
  outsideCertifiedRange: takeUncorrected,
  intervals: [],
  sampling: null,
  billAdjustment: null,
  reportBands: null,
  retention: [
    {
      what: "test records",
      howLong:
        "until the equipment is tested again; where a customer disputes it, until the dispute is resolved",
      source: "F.A.C. 25-6.022(1)",
    },
  ],
  gaps: [
    "How the average registration error is made stands in 25-6.058(1), which was not read: no average is judged until it is given.",
    "How the error of demand is determined stands in 25-6.058(2), which was not read.",
    "25-6.052(3)(c) and what follows it were cut off.",
    "Whether new watthour meters have limits of their own was not read.",
    "The periods of refunds and back-billing were not read.",
  ],
  notes: [
    "A meter that is tested on request or by a referee is in service, so 25-6.052(2) holds for it.",
    "25-6.052(3) does not say on which occasions the limits of demand hold; they are taken on every one.",
    "The place of a demand reading in the range is read on the reference, as 25-6.103(1) does at 40 % and 80 % of full scale.",
    "The error of mechanical or lagged demand for a bill is interpolated between 40 % and 80 % of full scale (25-6.103(1)).",
  ],
};
