import { grubbsTest } from "@sealbook/metrology/statistics/grubbs-test";
import { summaryOfValues } from "@sealbook/metrology/statistics/summary-of-values";
import type { IntervalLimits } from "@sealbook/metrology/uncertainty/checked-limits";
import { expandUncertainty } from "@sealbook/metrology/uncertainty/expand-uncertainty";
import { globalRisk } from "@sealbook/metrology/uncertainty/global-risk";
import { specificFalseAccept } from "@sealbook/metrology/uncertainty/specific-false-accept";
import { spreadOfReliability } from "@sealbook/metrology/uncertainty/spread-of-reliability";
import { z } from "zod";
import {
  asNumber,
  type Calculation,
  defineCalculation,
  type NumberInput,
  nonNegativeInput,
  numberInput,
  positiveInput,
} from "./calculation.ts";

/** A list long enough for a lot's readings, short enough for exact arithmetic at once. */
const longestList = 100_000;

const summary = defineCalculation({
  name: "summary",
  summary:
    "Mean, sample standard deviation, range, standard error and Grubbs' outlier test of repeated readings.",
  source: "JCGM 100:2008, 4.2; NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1 (Grubbs)",
  input: z.strictObject({
    values: z.array(numberInput).min(1).max(longestList).describe("readings in one unit, any order"),
    significance: z
      .number()
      .gt(0)
      .lt(1)
      .default(0.05)
      .describe("significance of Grubbs' test, which looks at both ends; 0.05 unless given"),
  }),
  output: z.object({
    n: z.number().describe("how many readings"),
    mean: z.number(),
    standardDeviation: z
      .number()
      .nullable()
      .describe("sample standard deviation, divisor n - 1; null for one value"),
    standardError: z.number().nullable().describe("standard deviation of the mean; null for one value"),
    minimum: z.number(),
    maximum: z.number(),
    range: z.number(),
    grubbs: z
      .object({
        statistic: z.number(),
        criticalValue: z.number(),
        suspectIndex: z.number().describe("place in the list, from 0"),
        suspectValue: z.number(),
        exceeds: z
          .boolean()
          .describe("whether the suspect is an outlier; it stays in the summary all the same"),
      })
      .nullable()
      .describe("null for fewer than three readings, or when all are equal"),
  }),
  run({ values, significance }) {
    const found = summaryOfValues(values);
    const test = grubbsTest(values, { significance });
    return {
      n: found.count,
      mean: asNumber(found.mean),
      standardDeviation: found.standardDeviation === null ? null : asNumber(found.standardDeviation),
      standardError: found.standardError === null ? null : asNumber(found.standardError),
      minimum: asNumber(found.minimum),
      maximum: asNumber(found.maximum),
      range: asNumber(found.range),
      grubbs:
        test.kind === "not-testable"
          ? null
          : {
              statistic: test.statistic,
              criticalValue: test.criticalValue,
              suspectIndex: test.suspectIndex,
              suspectValue: test.suspectValue,
              exceeds: test.exceeds,
            },
    };
  },
});

const componentInput = z.strictObject({
  label: z.string().min(1).max(200).optional().describe("what it is; component 1, 2, ... unless given"),
  value: nonNegativeInput.describe(
    "standard: the standard uncertainty; normal: the expanded uncertainty; rectangular, triangular, u-shaped: the half-width",
  ),
  distribution: z
    .enum(["standard", "normal", "rectangular", "triangular", "u-shaped"])
    .default("standard")
    .describe("how the value is spread; standard unless given"),
  divisor: positiveInput
    .optional()
    .describe(
      "what the value is divided by; 1 for standard and normal, the root of 3, 6 or 2 for the others unless given",
    ),
  sensitivity: numberInput.optional().describe("change of the result per unit of the value; 1 unless given"),
  degreesOfFreedom: positiveInput
    .nullable()
    .optional()
    .describe("degrees of freedom; null or left out when without limit"),
});

const uncertainty = defineCalculation({
  name: "uncertainty",
  summary:
    "Combined and expanded uncertainty of a budget, with effective degrees of freedom (Welch-Satterthwaite).",
  source: "JCGM 100:2008, clauses 5 and 6, annex G",
  input: z.strictObject({
    components: z.array(componentInput).min(1).max(1000).describe("the contributions to the uncertainty"),
    levelOfConfidence: z
      .number()
      .gt(0)
      .lt(1)
      .optional()
      .describe(
        "probability that the interval holds the true value; 0.95 unless this or a coverage factor is given",
      ),
    coverageFactor: positiveInput.optional().describe("k, given instead of a level of confidence"),
    correlations: z
      .array(
        z.strictObject({
          between: z.tuple([z.string(), z.string()]).describe("labels of two components"),
          coefficient: numberInput.describe("-1 to 1"),
        }),
      )
      .max(1000)
      .optional()
      .describe("pairs of components that move together; needs a coverage factor"),
  }),
  output: z.object({
    combined: z.number().describe("combined standard uncertainty, in the unit of the result"),
    effectiveDegreesOfFreedom: z.number().nullable().describe("unrounded; null when without limit"),
    truncatedDegreesOfFreedom: z.number().nullable().describe("cut to the whole number that t is taken for"),
    levelOfConfidence: z.number().nullable().describe("null when a coverage factor was given"),
    coverageFactor: z.number(),
    expanded: z.number().describe("U = k u, in the unit of the result"),
    contributions: z.array(
      z.object({
        label: z.string(),
        standardUncertainty: z.number(),
        sensitivity: z.number(),
        contribution: z.number().describe("sensitivity times standard uncertainty"),
        sharePercent: z.number().describe("share of the sum of squares"),
      }),
    ),
  }),
  run(input) {
    if (input.levelOfConfidence !== undefined && input.coverageFactor !== undefined) {
      return { error: "Give either a level of confidence or a coverage factor, not both." };
    }
    const components = input.components.map((component, index) => ({
      label: component.label ?? `component ${index + 1}`,
      value: Number(component.value),
      distribution: component.distribution,
      divisor: optionalNumber(component.divisor),
      sensitivity: optionalNumber(component.sensitivity),
      degreesOfFreedom: optionalNumber(component.degreesOfFreedom ?? undefined),
    }));
    const coverage =
      input.coverageFactor === undefined
        ? { levelOfConfidence: input.levelOfConfidence ?? 0.95 }
        : { coverageFactor: Number(input.coverageFactor) };
    const correlations = (input.correlations ?? []).map(({ between, coefficient }) => ({
      between,
      coefficient: Number(coefficient),
    }));
    const found = expandUncertainty(components, coverage, correlations);
    if (found.kind === "coverage-factor-needed") return { error: found.reason };
    return {
      combined: found.combined,
      effectiveDegreesOfFreedom: found.effectiveDegreesOfFreedom,
      truncatedDegreesOfFreedom: found.truncatedDegreesOfFreedom,
      levelOfConfidence: found.levelOfConfidence,
      coverageFactor: found.coverageFactor,
      expanded: found.expanded,
      contributions: found.contributions.map(
        ({ label, standardUncertainty, sensitivity, contribution, sharePercent }) => ({
          label,
          standardUncertainty,
          sensitivity,
          contribution,
          sharePercent,
        }),
      ),
    };
  },
});

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

function optionalNumber(value: NumberInput | undefined): number | undefined {
  return value === undefined ? undefined : Number(value);
}

export const uncertaintyCalculations: readonly Calculation[] = [summary, uncertainty, falseAccept];
