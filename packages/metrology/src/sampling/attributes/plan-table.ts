import { z } from "zod";

const tablePlanSchema = z.strictObject({
  n: z.int().min(1).describe("least number of units to test"),
  ac: z.int().min(0).describe("largest number of nonconforming units that accepts the lot"),
  drawn: z
    .int()
    .min(1)
    .optional()
    .describe("least number of units to draw, so that units that cannot be reached are made up for"),
});

/**
 * A national or house sampling plan by attributes as data of a rule profile: a table of lot sizes, each with a plan by
 * severity. It carries its citation; it makes no claim to be one of the standards.
 */
export const planTableSchema = z
  .strictObject({
    version: z.literal(1),
    name: z.string().min(1).describe("what people call the table"),
    source: z.string().min(1).describe("citation to the clause"),
    rows: z
      .array(
        z.strictObject({
          lotMin: z.int().min(1).describe("smallest lot of the row"),
          lotMax: z.int().min(1).nullable().describe("largest lot of the row; null: no upper end"),
          normal: tablePlanSchema,
          tightened: tablePlanSchema.optional(),
        }),
      )
      .min(1),
    largerLotPlanAllowed: z.boolean().describe("whether the plan of a larger lot may be chosen instead"),
    secondTry: z
      .strictObject({
        withinMonths: z.int().min(1).describe("months after the first try within which the second comes"),
        condition: z.string().min(1).describe("when it may be asked for, in words"),
      })
      .optional()
      .describe("a tightened second try after a refusal"),
    remarks: z.array(z.string().min(1)).default([]),
  })
  .refine(
    ({ rows }) =>
      rows.every(
        (row, place) =>
          (row.lotMax === null ? place === rows.length - 1 : row.lotMin <= row.lotMax) &&
          (place === 0 || row.lotMin === (rows[place - 1]?.lotMax ?? Number.NaN) + 1),
      ),
    {
      message: "rows must follow one another without gap or overlap, and only the last may have no upper end",
    },
  )
  .refine(({ rows, secondTry }) => secondTry === undefined || rows.every(({ tightened }) => tightened), {
    message: "a table that grants a tightened second try has a tightened plan in every row",
  });

/** A table of plans by lot size, parsed. */
export type PlanTable = z.output<typeof planTableSchema>;
