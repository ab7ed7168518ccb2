import { type PlanTable, planTableSchema } from "./plan-table.ts";

/**
 * France: sampling plans for the periodic statistical verification of meters of active electrical energy in service, as
 * the public example of a national plan by attributes.
 *
 * Read in the published text of the order (Article 23 and Annexe 7). Verify against the current text; local rules
 * govern.
 */
export const franceInServicePlans: PlanTable = planTableSchema.parse({
  version: 1,
  name: "France, meters of active energy in service",
  source: "Order of 1 August 2013 on meters of active electrical energy, Article 23 and Annexe 7",
  rows: [
    {
      lotMin: 1,
      lotMax: 9_999,
      normal: { n: 56, ac: 5, drawn: 85 },
      tightened: { n: 206, ac: 20, drawn: 310 },
    },
    {
      lotMin: 10_000,
      lotMax: 49_999,
      normal: { n: 106, ac: 10, drawn: 160 },
      tightened: { n: 306, ac: 30, drawn: 460 },
    },
    {
      lotMin: 50_000,
      lotMax: 99_999,
      normal: { n: 206, ac: 20, drawn: 310 },
      tightened: { n: 406, ac: 40, drawn: 610 },
    },
    {
      lotMin: 100_000,
      lotMax: null,
      normal: { n: 306, ac: 30, drawn: 460 },
      tightened: { n: 506, ac: 50, drawn: 760 },
    },
  ],
  largerLotPlanAllowed: true,
  secondTry: {
    withinMonths: 3,
    condition:
      "After a refusal under normal inspection the keeper may ask for tightened inspection within three months, and may improve the lot before it.",
  },
  remarks: [
    "The numbers to draw hold where meters are not verified on site; drawing may stop once the sample is complete.",
    "Nonconforming meters of an accepted lot's sample leave the lot or are made conforming.",
    "A lot refused under tightened inspection, or under normal where none is asked for, is withdrawn or made conforming without delay.",
  ],
});
