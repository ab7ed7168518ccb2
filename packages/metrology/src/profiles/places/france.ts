import type { RuleProfile } from "../profile-schema.ts";
import { caution, roundingNote, simpleAcceptance } from "../profile-words.ts";

const order = "Order of 1 August 2013 on meters of active electrical energy";
const where =
  "github.com/etalab/lois-non-codifiees-et-reglements-francais, arrete/2014/arrete-du-1er-aout-2013-proi1235435a";

const everyPoint = ["full-load", "light-load", "power-factor"] as const;
const maximumPermissibleErrors = [
  { accuracyClass: "A", minPercent: "92.0", maxPercent: "108.0" },
  { accuracyClass: "B", minPercent: "95.5", maxPercent: "104.5" },
  { accuracyClass: "C", minPercent: "97.5", maxPercent: "102.5" },
  { accuracyClass: "D", minPercent: "99.0", maxPercent: "101.0" },
] as const;

/** Starting currents of Annexe 4, item 2, in percent of the reference current. */
const startingCurrents = [
  { connection: "direct", accuracyClass: "A", percentOfReferenceCurrent: "0.5" },
  { connection: "direct", accuracyClass: "B", percentOfReferenceCurrent: "0.4" },
  { connection: "direct", accuracyClass: "C", percentOfReferenceCurrent: "0.4" },
  { connection: "transformer", accuracyClass: "A", percentOfReferenceCurrent: "0.3" },
  { connection: "transformer", accuracyClass: "B", percentOfReferenceCurrent: "0.2" },
  { connection: "transformer", accuracyClass: "C", percentOfReferenceCurrent: "0.1" },
  { connection: "transformer", accuracyClass: "D", percentOfReferenceCurrent: "0.1" },
] satisfies NonNullable<RuleProfile["startingLoad"]>["currents"];

/** France: maximum permissible errors in service by class, a ten-year period, statistical verification of lots. */
export const france: RuleProfile = {
  format: 1,
  key: "fr",
  version: "3",
  title: "France, meters of active electrical energy in service",
  place: "France",
  caution,
  citations: [
    {
      title: `${order}, Articles 13, 18, 21, 23 to 25 and 27, Annexes 4, 5 and 7`,
      where,
      dateRead: "2026-11-29",
      howRead:
        "these articles and annexes whole, as kept in the repository; later amendments were not searched",
    },
  ],
  effective: { from: null, to: null },
  judged: ["points", "starting-load"],
  limits: maximumPermissibleErrors.flatMap(({ accuracyClass, minPercent, maxPercent }) =>
    everyPoint.map((of) => ({
      of,
      occasions: ["in-service"] as ["in-service"],
      accuracyClass,
      limits: { minPercent, maxPercent, source: `${order}, Article 18` },
    })),
  ),
  averages: [],
  constantLoad: null,
  loads: [],
  decisionRule: simpleAcceptance,
  creep: null,
  startingLoad: {
    occasions: ["new"],
    powerFactor: "1",
    currents: startingCurrents,
    source: `${order}, Annexe 4, item 2`,
  },
  rounding: roundingNote,
  outsideCertifiedRange: {
    policy: "refuse",
    source:
      "Sealbook's default; the text read is silent, but Article 18 bounds the uncertainty of every error by a third of its limit",
  },
  intervals: [
    { appliesTo: "periodic verification", selector: {}, months: 120, source: `${order}, Article 21` },
  ],
  sampling: {
    kind: "plan-table",
    table: "france-in-service",
    everyMonths: 120,
    source: `${order}, Article 23 and Annexe 7`,
  },
  billAdjustment: null,
  reportBands: null,
  reports: [
    {
      what: "summary of the year's periodic verifications, by meter or by lot as they were verified; kept at the authority's disposal: each lot's identification, mean and standard deviation of the errors at Iref (0.5 Iref by transformer), and how many were accepted and refused, the refusals apart by metrology, by defects that made measuring impossible, and by other defects",
      dueBy: "03-31",
      covers: "calendar-year",
      source: `${order}, Article 27`,
    },
  ],
  deadlines: [
    {
      what: "the tightened second try, after a refusal under normal inspection",
      within: { count: 3, unit: "months" },
      source: `${order}, Article 23`,
    },
    {
      what: "a refused lot is withdrawn or made to conform",
      within: null,
      source: `${order}, Article 23`,
    },
  ],
  retention: [
    {
      what: "meters verified one by one",
      howLong: "at least one day after their verification",
      source: `${order}, Article 24`,
    },
    {
      what: "the last sample of a statistical verification",
      howLong: "two months, unless the authority has paid its visit before",
      source: `${order}, Article 24`,
    },
  ],
  gaps: [
    "Limits at first verification (Articles 12, 13 and 32) are not in this profile: repaired meters of class A, B or C go by Table 2 of Annex MI-003 from 5 to 30 degrees Celsius, class D by Annexe 3.",
    "How bills are adjusted is not a matter of this order.",
  ],
  notes: [
    "At first verification no whole turn, and no more than one pulse, at 1.15 of the reference voltage with the current circuits open (Annexe 4, item 1); the periodic verification has no test of creep (Annexe 5).",
    "The limits hold from 0.1 Iref to Imax, power factor 0.5 inductive to 0.8 capacitive; electromechanical meters from 0.1 to 0.5 Iref at power factor 1 only (Article 18).",
    "Starting load, at first verification: at power factor 1 the rotor starts and makes at least one whole turn, a static meter starts and goes on registering; a meter that counts both ways is tried each way (Annexe 4, item 2). Meters of a national or EEC approval start at 0.005 Iref (Annexe 4, item 5).",
    "The uncertainty of each error is at most a third of its limit (Article 18).",
    "Rules for forming and keeping lots go to the authority for validation at least three months before the controls begin (Article 23).",
    "An accepted lot passes whole, but for the nonconforming meters of its sample, which are withdrawn or made to conform; a lot may be improved between the two tries (Article 23).",
    "Points, direct connection: 0.1, 1 and 2 Iref at power factor 1, Iref at 0.5 inductive; by transformer: 0.1, 0.5 and 1 Iref at power factor 1, 0.5 Iref at 0.5 inductive (Annexe 5).",
    "Article 18 says errors respect the limits, Annexe 5 that they are less than the limits: a value exactly on a limit is taken here as within. Ask the authority.",
  ],
};
