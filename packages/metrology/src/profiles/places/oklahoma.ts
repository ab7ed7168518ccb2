import { oklahomaBillRule } from "../../billing/rules/oklahoma.ts";
import type { RuleProfile } from "../profile-schema.ts";
import { caution, roundingNote, simpleAcceptance, takeUncorrected } from "../profile-words.ts";

const rule = "OAC 165:35-15-12";

/** Oklahoma: the average within 98 to 102 %; a meter beyond 1 % (2 % at power factor 0.5) is adjusted. */
export const oklahoma: RuleProfile = {
  format: 1,
  key: "us-ok",
  version: "1",
  title: "Oklahoma, watthour meters",
  place: "Oklahoma, United States",
  caution,
  citations: [
    {
      title: "OAC 165:35-15-12, meter accuracy requirements",
      where: "http://okrules.elaws.us/oac/165:35-15-12",
      dateRead: "2026-11-25",
      howRead: "as collected in notes on the rule; the same wording stands whole in the next citation",
    },
    {
      title: "Section 502, meter accuracy requirements, of a utility under that rule",
      where: "https://www.peopleselectric.coop/faqs/section-502-meter-accuracy-requirements/",
      dateRead: "2026-11-25",
      howRead: "provisions 1 to 3 and the beginning of 4",
    },
  ],
  effective: { from: null, to: null },
  judged: ["points", "average", "creep"],
  limits: [
    {
      of: "average",
      occasions: ["new", "in-service", "as-left", "request"],
      accuracyClass: null,
      limits: { minPercent: "98", maxPercent: "102", source: rule },
    },
    {
      of: "full-load",
      occasions: ["as-left"],
      accuracyClass: null,
      limits: { minPercent: "99", maxPercent: "101", source: `${rule}: adjusted to within 1 %` },
    },
    {
      of: "light-load",
      occasions: ["as-left"],
      accuracyClass: null,
      limits: { minPercent: "99", maxPercent: "101", source: `${rule}: adjusted to within 1 %` },
    },
    {
      of: "power-factor",
      occasions: ["as-left"],
      accuracyClass: null,
      limits: { minPercent: "98", maxPercent: "102", source: `${rule}: adjusted to within 2 %` },
    },
  ],
  averages: [
    {
      key: "weighted",
      phases: "any",
      rule: {
        label: "(LL + 4 HL) / 5",
        weights: [
          { role: "light-load", weight: "1" },
          { role: "full-load", weight: "4" },
        ],
        source: rule,
      },
    },
    {
      key: "plain",
      phases: "any",
      rule: {
        label: "(LL + HL) / 2",
        weights: [
          { role: "light-load", weight: "1" },
          { role: "full-load", weight: "1" },
        ],
        source: rule,
      },
    },
  ],
  constantLoad: null,
  loads: [
    {
      role: "full-load",
      minPercentOfTestAmperes: "100",
      maxPercentOfTestAmperes: "100",
      powerFactor: "1",
      source: rule,
    },
    {
      role: "light-load",
      minPercentOfTestAmperes: "10",
      maxPercentOfTestAmperes: "10",
      powerFactor: "1",
      source: rule,
    },
    {
      role: "power-factor",
      minPercentOfTestAmperes: "100",
      maxPercentOfTestAmperes: "100",
      powerFactor: "0.5",
      source: rule,
    },
  ],
  decisionRule: simpleAcceptance,
  creep: {
    definition: { kind: "not-defined" },
    source: rule,
  },
  rounding: roundingNote,
  outsideCertifiedRange: takeUncorrected,
  intervals: [],
  sampling: null,
  billAdjustment: oklahomaBillRule,
  reportBands: null,
  retention: [],
  gaps: [
    "The text of the rule itself was not seen whole; compare it with the second citation.",
    "Test intervals were not read.",
  ],
  notes: [
    "The rule leaves the averaging method to the utility; the weighted average is taken unless the other is chosen.",
    "Where instrument transformers are used, the limits hold for meter and transformers as a whole.",
    "A meter is not left off zero on purpose, even inside the tolerance.",
  ],
};
