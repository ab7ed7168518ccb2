import { evaluateDemandReading } from "@sealbook/metrology/accuracy/evaluate-demand-reading";
import { correctBillingDemand } from "@sealbook/metrology/demand/correct-billing-demand";
import { demandErrorOfFullScale } from "@sealbook/metrology/demand/demand-error-of-full-scale";
import { demandErrorOfReading } from "@sealbook/metrology/demand/demand-error-of-reading";
import { intervalDemands } from "@sealbook/metrology/demand/interval-demands";
import { z } from "zod";
import {
  asNumber,
  asText,
  type Calculation,
  defineCalculation,
  exact,
  nonNegativeInput,
  numberInput,
  positiveInput,
} from "./calculation.ts";

/** A year of five-minute subintervals. */
const longestProfile = 105_408;

const demand = defineCalculation({
  name: "demand",
  summary:
    "Demands of a load profile from its pulses, by block or rolling intervals, and the largest of them.",
  source: "common practice, no source: demand is the energy of an interval over its length",
  input: z.strictObject({
    pulses: z
      .array(nonNegativeInput)
      .min(1)
      .max(longestProfile)
      .describe("pulses of each subinterval, in the order of time"),
    subintervalMinutes: positiveInput.describe("length of one subinterval, minutes"),
    subintervalsPerInterval: z
      .int()
      .min(1)
      .max(1440)
      .default(1)
      .describe("subintervals in one demand interval; 1 unless given"),
    method: z
      .enum(["block", "rolling"])
      .default("block")
      .describe("intervals end to end, or each a subinterval after the one before; block unless given"),
    whPerPulse: positiveInput.describe("Kt, Wh per pulse at the meter"),
    transformerFactor: positiveInput.default(1).describe("current ratio times voltage ratio; 1 unless given"),
  }),
  output: z.object({
    maximumKilowatts: z.number().nullable().describe("null when the list is shorter than one interval"),
    maximumFirstSubinterval: z.number().nullable().describe("place of its first subinterval, from 0"),
    kilowatts: z.array(z.number()).describe("demand of every whole interval"),
    unusedSubintervals: z.number().describe("subintervals at the end that fill no whole block"),
  }),
  run(input) {
    const found = intervalDemands(input.pulses.map(exact), {
      method: input.method,
      subintervalMinutes: exact(input.subintervalMinutes),
      subintervalsPerInterval: input.subintervalsPerInterval,
      whPerPulse: exact(input.whPerPulse),
      transformerFactor: exact(input.transformerFactor),
    });
    return {
      maximumKilowatts: found.maximum === null ? null : asNumber(found.maximum.kilowatts),
      maximumFirstSubinterval: found.maximum?.firstSubinterval ?? null,
      kilowatts: found.intervals.map(({ kilowatts }) => asNumber(kilowatts)),
      unusedSubintervals: found.unusedSubintervals,
    };
  },
});

const demandError = defineCalculation({
  name: "demand-error",
  summary: "Error of a demand meter against a reference, in percent of reading and of full scale.",
  source: "F.A.C. 25-6.052(3)",
  input: z.strictObject({
    meterKilowatts: nonNegativeInput.describe("what the meter under test indicates, kW"),
    referenceKilowatts: positiveInput.describe("what the standard or reference meter indicates, kW"),
    fullScaleKilowatts: positiveInput.optional().describe("full scale of the meter under test, kW"),
  }),
  output: z.object({
    percentOfReading: z.number().describe("positive when the meter reads high"),
    percentOfFullScale: z.number().nullable().describe("null without a full scale"),
  }),
  run(input) {
    const meter = exact(input.meterKilowatts);
    const reference = exact(input.referenceKilowatts);
    return {
      percentOfReading: asNumber(demandErrorOfReading(meter, reference)),
      percentOfFullScale:
        input.fullScaleKilowatts === undefined
          ? null
          : asNumber(demandErrorOfFullScale(meter, reference, exact(input.fullScaleKilowatts))),
    };
  },
});

const judgeDemand = defineCalculation({
  name: "judge-demand",
  summary: "Verdict on one demand reading against a largest error, in the part of the range where it holds.",
  source: "F.A.C. 25-6.052(3)",
  input: z.strictObject({
    meterKilowatts: nonNegativeInput.describe("what the meter under test indicates, kW"),
    referenceKilowatts: positiveInput.describe("what the standard or reference meter indicates, kW"),
    basis: z
      .enum(["full-scale", "reading"])
      .describe("what the error is a percentage of: full scale (mechanical, lagged) or reading (electronic)"),
    fullScaleKilowatts: positiveInput
      .optional()
      .describe("full scale of the meter under test, kW; the basis full-scale needs it"),
    loadPercent: positiveInput
      .optional()
      .describe("load in percent of test amperes; the basis reading needs it"),
    maxErrorPercent: nonNegativeInput.describe("largest error either way, inclusive, percent of the basis"),
    fromPercent: nonNegativeInput
      .default(0)
      .describe("where the limit begins to hold, percent of full scale or of test amperes; 0 unless given"),
    toPercent: positiveInput.default(100).describe("where it ends, inclusive; 100 unless given"),
  }),
  output: z.object({
    errorPercent: z.number().describe("percent of the basis, positive when the meter reads high"),
    verdict: z.enum(["pass", "fail", "not-judged"]).describe("not judged outside the part of the range"),
    marginPercent: z.number().nullable().describe("distance to the limit; negative beyond it"),
    reason: z.string(),
  }),
  run(input) {
    const source = "as given";
    const { evaluation } = evaluateDemandReading(
      {
        indicatedKw: asText(input.meterKilowatts),
        referenceKw: asText(input.referenceKilowatts),
        fullScaleKw: input.fullScaleKilowatts === undefined ? null : asText(input.fullScaleKilowatts),
        loadPercent: input.loadPercent === undefined ? null : asText(input.loadPercent),
      },
      {
        basis: input.basis,
        limits: {
          basis: input.basis,
          maxErrorPercent: asText(input.maxErrorPercent),
          fromPercent: asText(input.fromPercent),
          toPercent: asText(input.toPercent),
          source,
        },
      },
      { kind: "simple", source },
    );
    const { errorPercent, verdict, marginPercent, reason } = evaluation;
    if (errorPercent === null || verdict === "undecided") return { error: reason };
    return {
      errorPercent: Number(errorPercent),
      verdict,
      marginPercent: marginPercent === null ? null : Number(marginPercent),
      reason,
    };
  },
});

const demandAdjustment = defineCalculation({
  name: "demand-adjustment",
  summary:
    "Corrected billing demands of a mechanical or lagged demand meter, from its errors at 40 % and 80 % of full scale.",
  source: "F.A.C. 25-6.103(1)",
  input: z.strictObject({
    meterAt40: numberInput.describe(
      "kW on the meter under test with the reference at 40 % of its full scale",
    ),
    errorAt40: numberInput.describe("error of the meter there, kW: meter less reference"),
    meterAt80: numberInput.describe(
      "kW on the meter under test with the reference at 80 % of its full scale",
    ),
    errorAt80: numberInput.describe("error of the meter there, kW: meter less reference"),
    averageBillingDemand: positiveInput.describe("the customer's average billing demand over the period, kW"),
    billedDemands: z
      .array(nonNegativeInput)
      .max(1200)
      .default([])
      .describe("original billing demand of each month, kW; none unless given"),
  }),
  output: z.object({
    errorAtAverage: z.number().describe("error at the average billing demand, kW"),
    referenceAtAverage: z.number().describe("what a reference would have read there, kW"),
    errorRatio: z.number().describe("P: the error over that reference reading; 0.02 is 2 %"),
    correctionFactor: z.number().describe("C.F. = 1 / (1 + P)"),
    correctedAverageDemand: z.number().describe("C.F. times the average billing demand, kW"),
    correctedDemands: z.array(z.number()).describe("corrected billing demand of each month, kW"),
  }),
  run(input) {
    const corrected = correctBillingDemand(
      {
        meterAt40: exact(input.meterAt40),
        errorAt40: exact(input.errorAt40),
        meterAt80: exact(input.meterAt80),
        errorAt80: exact(input.errorAt80),
        averageBillingDemand: exact(input.averageBillingDemand),
      },
      input.billedDemands.map(exact),
    );
    if (corrected.kind === "not-defined") return { error: corrected.reason };
    return {
      errorAtAverage: asNumber(corrected.errorAtAverage),
      referenceAtAverage: asNumber(corrected.referenceAtAverage),
      errorRatio: asNumber(corrected.errorRatio),
      correctionFactor: asNumber(corrected.correctionFactor),
      correctedAverageDemand: asNumber(corrected.correctionFactor.times(exact(input.averageBillingDemand))),
      correctedDemands: corrected.correctedDemands.map(asNumber),
    };
  },
});

export const demandCalculations: readonly Calculation[] = [
  demand,
  demandError,
  judgeDemand,
  demandAdjustment,
];
