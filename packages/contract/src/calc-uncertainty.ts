import { grubbsTest } from "@sealbook/metrology/statistics/grubbs-test";
import { summaryOfValues } from "@sealbook/metrology/statistics/summary-of-values";
import { expandUncertainty } from "@sealbook/metrology/uncertainty/expand-uncertainty";
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

function optionalNumber(value: NumberInput | undefined): number | undefined {
  return value === undefined ? undefined : Number(value);
}

export const uncertaintyCalculations: readonly Calculation[] = [summary, uncertainty];
