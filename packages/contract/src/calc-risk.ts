import type { IntervalLimits } from "@sealbook/metrology/uncertainty/checked-limits";
import { globalRisk } from "@sealbook/metrology/uncertainty/global-risk";
import { type GuardBandRule, guardBand } from "@sealbook/metrology/uncertainty/guard-band";
import { guardBandForFalseAccept } from "@sealbook/metrology/uncertainty/guard-band-for-false-accept";
import { specificFalseAccept } from "@sealbook/metrology/uncertainty/specific-false-accept";
import { spreadOfObservedReliability } from "@sealbook/metrology/uncertainty/spread-of-observed-reliability";
import { spreadOfReliability } from "@sealbook/metrology/uncertainty/spread-of-reliability";
import { z } from "zod";
import {
  type Calculation,
  defineCalculation,
  type NumberInput,
  nonNegativeInput,
  numberInput,
  positiveInput,
} from "./calculation.ts";

const falseAccept = defineCalculation({
  name: "false-accept",
  summary:
    "Probabilities of false accept and false reject: of one measured value (specific), of a normal population (global), or both.",
  source: "JCGM 106:2012, clauses 7 and 9",
  input: z.strictObject({
    lower: numberInput.optional().describe("lower tolerance limit; at least one limit is needed"),
    upper: numberInput.optional().describe("upper tolerance limit, in the same unit"),
    standardUncertainty: positiveInput.optional().describe("u of one measurement, in the unit of the limits"),
    expandedUncertainty: positiveInput.optional().describe("U, given instead of the standard uncertainty"),
    coverageFactor: positiveInput.default(2).describe("k of the expanded uncertainty; 2 unless given"),
    guardBand: nonNegativeInput
      .default(0)
      .describe("how far the acceptance limits lie within the tolerance limits; 0 unless given"),
    measured: numberInput.optional().describe("a measured value, for its specific risk"),
    populationMean: numberInput
      .optional()
      .describe("mean of the true values; the middle of the limits unless given"),
    populationStandardDeviation: positiveInput
      .optional()
      .describe("standard deviation of the true values, for the global risk"),
    inTolerance: z
      .number()
      .gt(0)
      .lt(1)
      .optional()
      .describe(
        "share of true values within the limits, instead of the standard deviation; needs both limits and no mean",
      ),
  }),
  output: z.object({
    specific: z
      .object({
        conformanceProbability: z.number().describe("probability that the true value lies within the limits"),
        falseAcceptProbability: z.number().describe("probability that accepting this item would be false"),
      })
      .nullable()
      .describe("null without a measured value"),
    global: z
      .object({
        nonconformingProbability: z.number().describe("share of the population outside the limits"),
        acceptedProbability: z.number().describe("share that is accepted"),
        falseAcceptProbability: z.number().describe("PFA: does not conform and is accepted"),
        falseRejectProbability: z.number().describe("PFR: conforms and is rejected"),
        conditionalFalseAcceptProbability: z
          .number()
          .nullable()
          .describe("share of the accepted that does not conform"),
      })
      .nullable()
      .describe("null without a population"),
  }),
  run(input) {
    if ((input.standardUncertainty === undefined) === (input.expandedUncertainty === undefined)) {
      return { error: "Give either a standardUncertainty or an expandedUncertainty." };
    }
    const standardUncertainty =
      input.standardUncertainty === undefined
        ? Number(input.expandedUncertainty) / Number(input.coverageFactor)
        : Number(input.standardUncertainty);
    const limits: IntervalLimits = {
      lower: input.lower === undefined ? null : Number(input.lower),
      upper: input.upper === undefined ? null : Number(input.upper),
    };
    const population = populationOf(input, limits);
    if (population !== null && "error" in population) return population;
    if (population === null && input.measured === undefined) {
      return { error: "Give a measured value, a population, or both." };
    }
    const band = Number(input.guardBand);
    const acceptance: IntervalLimits = {
      lower: limits.lower === null ? null : limits.lower + band,
      upper: limits.upper === null ? null : limits.upper - band,
    };
    return {
      specific:
        input.measured === undefined
          ? null
          : specificFalseAccept(Number(input.measured), standardUncertainty, limits),
      global: population === null ? null : globalRisk(population, standardUncertainty, limits, acceptance),
    };
  },
});

function populationOf(
  input: {
    populationMean?: NumberInput | undefined;
    populationStandardDeviation?: NumberInput | undefined;
    inTolerance?: number | undefined;
  },
  { lower, upper }: IntervalLimits,
): { mean: number; standardDeviation: number } | { error: string } | null {
  const { populationMean, populationStandardDeviation, inTolerance } = input;
  if (populationStandardDeviation === undefined && inTolerance === undefined) {
    return populationMean === undefined
      ? null
      : { error: "A population needs its populationStandardDeviation or the share inTolerance." };
  }
  if (populationStandardDeviation !== undefined && inTolerance !== undefined) {
    return { error: "Give either populationStandardDeviation or inTolerance." };
  }
  const isTwoSided = lower !== null && upper !== null;
  if (inTolerance !== undefined) {
    if (!isTwoSided || populationMean !== undefined) {
      return { error: "inTolerance needs both limits, and a population centred between them." };
    }
    return {
      mean: (lower + upper) / 2,
      standardDeviation: spreadOfReliability((upper - lower) / 2, inTolerance),
    };
  }
  if (populationMean === undefined && !isTwoSided) {
    return { error: "With one limit, give the populationMean." };
  }
  return {
    mean: populationMean === undefined && isTwoSided ? (lower + upper) / 2 : Number(populationMean),
    standardDeviation: Number(populationStandardDeviation),
  };
}

const shareInput = z.number().gt(0).lt(1);

const guardBandOfTolerance = defineCalculation({
  name: "guard-band",
  summary:
    "Acceptance limit within a symmetric tolerance: T - r U, root sum square, method 6, or for a specific or global probability of false accept.",
  source:
    "JCGM 106:2012, 8.3 and 9.5; ILAC-G8:09/2019, section 4; ANSI/NCSL Z540.3 handbook, methods 5 and 6 as commonly quoted",
  input: z.strictObject({
    tolerance: positiveInput.describe("half-width T of the tolerance"),
    expandedUncertainty: positiveInput.describe("U at k = 2, in the unit of the tolerance"),
    rule: z
      .enum(["multiple", "root-sum-square", "method-6", "specific-risk", "global-risk"])
      .default("multiple")
      .describe("how the band is made; multiple unless given"),
    uncertaintyMultiple: nonNegativeInput.default(1).describe("r of the rule multiple; 1 unless given"),
    maxProbability: shareInput
      .optional()
      .describe("largest probability of false accept, for the last two rules"),
    inTolerance: shareInput
      .optional()
      .describe("share of true values within the tolerance, for the rule global-risk"),
    observedInTolerance: shareInput
      .optional()
      .describe("share of readings within the tolerance, given instead of inTolerance"),
  }),
  output: z.object({
    width: z.number().describe("width of the guard band; 0 when none is needed"),
    acceptanceLimit: z
      .number()
      .nullable()
      .describe("half-width of the acceptance interval; null when nothing could be accepted"),
  }),
  run(input) {
    const tolerance = Number(input.tolerance);
    const expanded = Number(input.expandedUncertainty);
    if (input.rule === "global-risk") return guardBandByGlobalRisk(tolerance, expanded / 2, input);
    const rule = simpleGuardBandRule(input.rule, Number(input.uncertaintyMultiple), input.maxProbability);
    if (rule === null) return { error: `The rule ${input.rule} needs maxProbability.` };
    const band = guardBand(tolerance, expanded, rule);
    return { width: band.width, acceptanceLimit: band.kind === "guard-band" ? band.acceptanceLimit : null };
  },
});

function simpleGuardBandRule(
  rule: GuardBandRule["kind"],
  uncertaintyMultiple: number,
  maxProbability: number | undefined,
): GuardBandRule | null {
  if (rule === "multiple") return { kind: rule, uncertaintyMultiple };
  if (rule !== "specific-risk") return { kind: rule };
  return maxProbability === undefined ? null : { kind: rule, maxProbability };
}

function guardBandByGlobalRisk(
  tolerance: number,
  standardUncertainty: number,
  {
    maxProbability,
    inTolerance,
    observedInTolerance,
  }: {
    maxProbability?: number | undefined;
    inTolerance?: number | undefined;
    observedInTolerance?: number | undefined;
  },
) {
  if (maxProbability === undefined) return { error: "The rule global-risk needs maxProbability." };
  if ((inTolerance === undefined) === (observedInTolerance === undefined)) {
    return { error: "The rule global-risk needs either inTolerance or observedInTolerance." };
  }
  const spread =
    inTolerance === undefined
      ? spreadOfObservedReliability(tolerance, Number(observedInTolerance), standardUncertainty)
      : { kind: "spread" as const, standardDeviation: spreadOfReliability(tolerance, inTolerance) };
  if (spread.kind !== "spread") return { error: spread.reason };
  const width = guardBandForFalseAccept(
    { mean: 0, standardDeviation: spread.standardDeviation },
    standardUncertainty,
    { lower: -tolerance, upper: tolerance },
    maxProbability,
  );
  return { width, acceptanceLimit: tolerance - width };
}

export const riskCalculations: readonly Calculation[] = [falseAccept, guardBandOfTolerance];
