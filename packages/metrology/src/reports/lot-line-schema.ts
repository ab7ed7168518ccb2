import { z } from "zod";
import { samplingCharacteristics } from "../sampling/decision/sampling-scheme.ts";
import { inspectionSeverities } from "../sampling/sampling-terms.ts";

const figure = z
  .string()
  .nullable()
  .describe("decimal, to eight significant digits; null where there is none");

/** What a report says of one characteristic of a decided lot. */
export const lotCharacteristicSchema = z.strictObject({
  characteristic: z.enum(samplingCharacteristics),
  severity: z.enum(inspectionSeverities).describe("inspection state that the lot was planned under"),
  plan: z.string().describe("the plan in words"),
  n: z.int().describe("meters to test"),
  counted: z.int().describe("results that count"),
  nonconforming: z.int(),
  untestable: z.int(),
  leftOut: z.int(),
  mean: figure.describe("percent registration"),
  s: figure.describe("sample standard deviation, percent"),
  percentNonconforming: figure.describe(
    "estimated from mean and s where the plan is by variables, else observed",
  ),
  change: z
    .strictObject({
      since: z.string().describe("number of the lot before"),
      mean: figure,
      s: figure,
      percentNonconforming: figure,
    })
    .nullable()
    .describe("against the lot before of the same series; null for a first one"),
  outcome: z.string(),
});
export type LotCharacteristic = z.output<typeof lotCharacteristicSchema>;

/** What a report says of a lot that was decided in its period. */
export const lotLineSchema = z.strictObject({
  id: z.string(),
  number: z.string(),
  kind: z.enum(["shipment", "in-service"]),
  title: z.string(),
  maker: z.string(),
  model: z.string(),
  size: z.int(),
  scheme: z.string().describe("code and revision"),
  series: z.string(),
  decidedOn: z.iso.date(),
  approvedOn: z.iso.date().nullable(),
  outcome: z.enum(["accepted", "accepted-return-to-normal", "not-accepted"]),
  disposition: z.string().nullable(),
  characteristics: z.array(lotCharacteristicSchema),
});
export type LotLine = z.output<typeof lotLineSchema>;

/** What a rejected lot is reported with. @source R 460.3617(b) and (c) of the Michigan Administrative Code */
export const rejectedLotSchema = z.strictObject({
  id: z.string(),
  number: z.string(),
  maker: z.string(),
  model: z.string(),
  sampled: z.boolean().describe("false where every meter of the lot was tested"),
  averageMonthsSinceLastTest: figure.describe(
    "over the sampled meters with a test before; null where none has one",
  ),
  tightened: z.boolean().describe("whether the lot was under tightened inspection"),
  purchaseYears: z.array(z.int()).describe("of the meters tested, ascending"),
  leastAsFound: figure.describe("smallest average as found, percent registration"),
  greatestAsFound: figure.describe("greatest average as found, percent registration"),
});
export type RejectedLot = z.output<typeof rejectedLotSchema>;
