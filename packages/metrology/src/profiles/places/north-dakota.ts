import type { RuleProfile } from "../profile-schema.ts";
import { caution, roundingNote, simpleAcceptance, takeUncorrected } from "../profile-words.ts";

const rule = "N.D. Admin. Code 69-09-02-27";

/** North Dakota: the average has other weights for polyphase than for single-phase installations. */
export const northDakota: RuleProfile = {
  format: 1,
  key: "us-nd",
  version: "2",
  title: "North Dakota, determination of average meter error",
  place: "North Dakota, United States",
  caution,
  citations: [
    {
      title: "N.D. Admin. Code 69-09-02-27, determination of average meter error",
      where:
        "casetext.com, North Dakota Administrative Code, title 69, article 69-09, chapter 69-09-02, section 69-09-02-27",
      dateRead: "2026-11-25",
      howRead: "whole section, current through October 2024",
    },
    {
      title: "N.D. Admin. Code 69-09-02-28, meter records",
      where:
        "North Dakota Administrative Code, title 69, article 69-09, chapter 69-09-02, section 69-09-02-28, in a public copy of the code",
      dateRead: "2026-11-29",
      howRead: "whole section, current through October 2024",
    },
  ],
  effective: { from: null, to: null },
  judged: [],
  limits: [],
  averages: [
    {
      key: "single-phase",
      phases: "single-phase",
      rule: {
        label: "(LL + 4 HL) / 5",
        weights: [
          { role: "light-load", weight: "1" },
          { role: "full-load", weight: "4" },
        ],
        source: `${rule}, 2`,
      },
    },
    {
      key: "polyphase",
      phases: "polyphase",
      rule: {
        label: "(LL + 4 HL + 2 PF) / 7",
        weights: [
          { role: "light-load", weight: "1" },
          { role: "full-load", weight: "4" },
          { role: "power-factor", weight: "2" },
        ],
        source: `${rule}, 3`,
      },
    },
  ],
  constantLoad: { source: `${rule}, 1` },
  loads: [],
  decisionRule: simpleAcceptance,
  creep: null,
  rounding: roundingNote,
  outsideCertifiedRange: takeUncorrected,
  intervals: [],
  sampling: null,
  billAdjustment: null,
  reportBands: null,
  reports: [
    {
      what: "summary of all meter tests made during the year, on the commission's forms",
      dueBy: null,
      covers: "calendar-year",
      source: "N.D. Admin. Code 69-09-02-28, 3",
    },
  ],
  retention: [
    {
      what: "the two most recent test records of each unit, or the most recent one where a complete history record is kept",
      howLong: "while the unit is on record",
      source: "N.D. Admin. Code 69-09-02-28, 1",
    },
  ],
  gaps: [
    "Which average error is acceptable, and how bills are adjusted, stands in other sections, which were not read.",
    "Creep, test intervals and sampling were not read.",
  ],
  notes: [
    "An average is determined when the error at any test load exceeds 2 %.",
    "The weights for polyphase installations are not those of method 4: light load counts once, the power-factor point twice.",
  ],
};
