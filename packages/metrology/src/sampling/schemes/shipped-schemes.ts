import { franceInServicePlans } from "../attributes/france-in-service-plans.ts";
import { type SchemePreset, schemePresetSchema } from "../decision/sampling-scheme.ts";

const methodOne = {
  label: "Method 1: (4 FL + LL) / 5",
  weights: [
    { role: "full-load", weight: "4" },
    { role: "light-load", weight: "1" },
  ],
  source: "04 NCAC 11 R08-11(a)(1); common practice elsewhere",
} as const;

/** Meters that cannot be had in the field; none of these reasons says anything of how a meter registers. */
const outOfReach = ["no-access", "customer-refused", "unsafe", "moved", "retired"] as const;

/**
 * Sampling schemes that come with the product. What the text that was read leaves open is null and asked for; a scheme is
 * used only once a person has given it. Verify against the current text; local rules govern.
 */
export const shippedSchemes: readonly SchemePreset[] = [
  {
    key: "house-shipment",
    title: "New shipments, house scheme by attributes",
    asks: ["Agree level, AQL and limits with the maker; those given here are common practice, no source."],
    body: {
      format: 1,
      purpose: "shipment",
      jurisdiction: null,
      source:
        "House scheme; MIL-STD-105E = ANSI/ASQ Z1.4 tables; level II and AQL 1.0 are common practice, no source",
      plan: { kind: "attributes", edition: "ANSI/ASQ Z1.4-2003", level: "II", aqlPercent: "1" },
      characteristics: [
        {
          characteristic: "average",
          limits: { minPercent: "98", maxPercent: "102", source: "common practice, no source" },
          aqlPercent: null,
        },
      ],
      average: { ...methodOne, weights: [...methodOne.weights] },
      untestable: {
        counts: "nonconforming",
        reason: "A new meter on which no test is possible is not fit for use",
      },
      replacement: { allowed: false, sparesPercent: 0, reasons: [] },
      lotSize: { min: 1, max: null, standAloneFrom: null },
      grouping: null,
      everyMonths: null,
      switching: true,
      limitNumbersDropped: false,
      notes: ["Switching from the text of Z1.4-2003, 8.3 to 8.5."],
    },
  },
  {
    key: "indiana-in-service",
    title: "Indiana, self-contained electric meters in service",
    asks: ["The upper and lower accuracy limits of 170 IAC 4-1-10(c)(5), which were not read."],
    body: {
      format: 1,
      purpose: "in-service",
      jurisdiction: "us-in",
      source: "170 IAC 4-1-10(c)(1) to (5)",
      plan: { kind: "variables", edition: "ANSI/ASQ Z1.9", form: 2, level: "II", aqlPercent: "2.5" },
      characteristics: [{ characteristic: "full-load", limits: null, aqlPercent: null }],
      average: null,
      untestable: {
        counts: "nonconforming",
        reason: "Sealbook's default; the text read is silent: counted apart, a person decides",
      },
      replacement: { allowed: true, sparesPercent: 10, reasons: [...outOfReach] },
      lotSize: { min: 301, max: null, standAloneFrom: null },
      grouping: { years: null, firmware: false, area: false, merge: "never" },
      everyMonths: 12,
      switching: false,
      limitNumbersDropped: false,
      notes: [
        "Method B needs written notice to the commission.",
        "Groups are homogeneous and may be divided into lots; no lot under 301 meters.",
        "Whether and for which reasons a meter may be replaced was not read: the reasons here are Sealbook's default.",
      ],
    },
  },
  {
    key: "michigan-in-service",
    title: "Michigan, solid-state electric meters in service",
    asks: [
      "The AQL, the characteristic judged and its limits of R 460.3613(3)(d) and after, which were cut off.",
      "The switching procedures of ANSI/ASQ Z1.9, which were not read: until then a person directs the severity.",
    ],
    body: {
      format: 1,
      purpose: "in-service",
      jurisdiction: "us-mi",
      source: "Mich. Admin. Code R 460.3613(3)(a) to (c)",
      plan: { kind: "variables", edition: "ANSI/ASQ Z1.9", form: 2, level: "II", aqlPercent: null },
      characteristics: [
        { characteristic: "full-load", limits: null, aqlPercent: null },
        { characteristic: "light-load", limits: null, aqlPercent: null },
      ],
      average: null,
      untestable: {
        counts: "nonconforming",
        reason: "Sealbook's default; the text read is silent: counted apart, a person decides",
      },
      replacement: { allowed: true, sparesPercent: 10, reasons: [...outOfReach] },
      lotSize: { min: 301, max: 35_000, standAloneFrom: 8_001 },
      grouping: { years: null, firmware: false, area: false, merge: "same-technology" },
      everyMonths: 12,
      switching: true,
      limitNumbersDropped: false,
      notes: [
        "Groups by maker's type; meters of the newest design may be combined, but a type with 8,001 meters or more stays apart.",
        "The loads judged here are a proposal: the text with them was cut off.",
      ],
    },
  },
  {
    key: "france-in-service",
    title: "France, meters of active electrical energy in service",
    asks: [],
    body: {
      format: 1,
      purpose: "in-service",
      jurisdiction: "fr",
      source: "Order of 1 August 2013 on meters of active electrical energy, Articles 18 and 23, Annexe 7",
      plan: { kind: "plan-table", table: franceInServicePlans },
      characteristics: [{ characteristic: "verdict", limits: null, aqlPercent: null }],
      average: null,
      untestable: { counts: "nonconforming", reason: "Sealbook's default; the text read is silent" },
      replacement: { allowed: true, sparesPercent: 0, reasons: [...outOfReach] },
      lotSize: { min: 1, max: null, standAloneFrom: null },
      grouping: { years: 1, firmware: false, area: false, merge: "never" },
      everyMonths: 120,
      switching: false,
      limitNumbersDropped: false,
      notes: [
        "The table says how many to draw, so that meters that cannot be had are made up for.",
        "After a refusal under normal inspection, a second try under tightened inspection may be asked for within three months.",
        "How lots are formed stands in the order; year sets of one are Sealbook's default.",
      ],
    },
  },
  {
    key: "wisconsin-in-service",
    title: "Wisconsin, MIL-STD-414 (1957), full and light load apart",
    asks: ["The AQL and the limits of full and light load, which stand in text that was cut off."],
    body: {
      format: 1,
      purpose: "in-service",
      jurisdiction: null,
      source: "Wis. Admin. Code PSC 113.0924(4): MIL-STD-414 (11 June 1957), Table A-2 level IV, Table B-3",
      plan: { kind: "variables", edition: "MIL-STD-414", form: 2, level: "IV", aqlPercent: null },
      characteristics: [
        { characteristic: "full-load", limits: null, aqlPercent: null },
        { characteristic: "light-load", limits: null, aqlPercent: null },
      ],
      average: null,
      untestable: {
        counts: "left-out",
        reason: "Non-registering meters are taken out of the data set (PSC 113.0924(4))",
      },
      replacement: { allowed: true, sparesPercent: 10, reasons: [...outOfReach] },
      lotSize: { min: 26, max: 110_000, standAloneFrom: null },
      grouping: { years: 5, firmware: false, area: false, merge: "never" },
      everyMonths: 12,
      switching: true,
      limitNumbersDropped: false,
      notes: [
        "Groups by design and age; the rule needs the commission's authorization. Year sets of five are Sealbook's default.",
        "MIL-STD-414 is another standard than Z1.9: its own levels, lot ranges, letters and AQLs.",
        "Tables B-6 and B-7 were not read: a person directs the severity.",
      ],
    },
  },
].map((preset) => schemePresetSchema.parse(preset));
