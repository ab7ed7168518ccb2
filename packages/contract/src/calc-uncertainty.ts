import { grubbsTest } from "@sealbook/metrology/statistics/grubbs-test";
import { summaryOfValues } from "@sealbook/metrology/statistics/summary-of-values";
import { expandUncertainty } from "@sealbook/metrology/uncertainty/expand-uncertainty";
import { pointBudget } from "@sealbook/metrology/uncertainty/point-budget";
import { testAccuracyRatio } from "@sealbook/metrology/uncertainty/test-accuracy-ratio";
import { testUncertaintyRatio } from "@sealbook/metrology/uncertainty/test-uncertainty-ratio";
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

const pointUncertainty = defineCalculation({
  name: "point-uncertainty",
  summary:
    "Uncertainty of one test point from the standard's certificate, its drift, the counts, the scatter of the runs and the set point; with the test uncertainty ratio.",
  source:
    "JCGM 100:2008, clause 4, F.2.2.1 and annex G; ANSI/NCSL Z540.3 as commonly quoted (the ratio, at k = 2)",
  input: z.strictObject({
    certificate: z
      .strictObject({
        expandedUncertaintyPercent: nonNegativeInput.describe(
          "expanded uncertainty at this point, percent of reading",
        ),
        coverageFactor: positiveInput.default(2).describe("its k; 2 unless given"),
        degreesOfFreedom: positiveInput.nullable().optional().describe("if the certificate states them"),
      })
      .describe("the standard's certificate"),
    drift: z
      .strictObject({
        percentPerYear: nonNegativeInput.describe("largest drift, percent a year"),
        yearsSinceCalibration: nonNegativeInput.describe("years"),
      })
      .optional()
      .describe("drift of the standard since its calibration, taken as rectangular"),
    countResolution: z
      .strictObject({
        counts: positiveInput.describe("counts over the gate of the counter that sees no part of a count"),
        resolutionCounts: positiveInput.default(1).describe("plus or minus this many counts; 1 unless given"),
      })
      .optional()
      .describe("resolution of the count, taken as rectangular"),
    repeatability: z
      .strictObject({
        standardDeviationPercent: nonNegativeInput.describe("sample standard deviation of the runs, percent"),
        runs: z.int().min(2).describe("runs that the mean goes over"),
      })
      .optional()
      .describe("scatter of the runs"),
    setPoint: z
      .array(
        z.strictObject({
          label: z
            .string()
            .min(1)
            .max(200)
            .describe("what is set: volts, amperes, power factor, temperature"),
          halfWidth: nonNegativeInput.describe("how far it may be off, in its own unit"),
          sensitivityPercentPerUnit: numberInput.describe("change of the registration per unit, percent"),
        }),
      )
      .max(100)
      .default([])
      .describe("influence of the set point, taken as rectangular"),
    coverageFactor: positiveInput.default(2).describe("k of the result; 2 unless given"),
    tolerancePercent: positiveInput
      .optional()
      .describe("half-width of the meter's limits, percent, for the ratios"),
    standardAccuracyPercent: positiveInput
      .optional()
      .describe("accuracy limit of the standard, percent, for a ratio of accuracies"),
  }),
  output: z.object({
    combined: z.number().describe("combined standard uncertainty, percent"),
    effectiveDegreesOfFreedom: z.number().nullable().describe("unrounded; null when without limit"),
    coverageFactor: z.number(),
    expanded: z.number().describe("expanded uncertainty, percent"),
    testUncertaintyRatio: z
      .number()
      .nullable()
      .describe("tolerance over expanded uncertainty; null without a tolerance, or at another k than 2"),
    testAccuracyRatio: z
      .number()
      .nullable()
      .describe("tolerance over the standard's accuracy limit: no uncertainty ratio; null without both"),
    contributions: z.array(
      z.object({
        label: z.string(),
        standardUncertainty: z.number(),
        contribution: z.number().describe("percent"),
        sharePercent: z.number().describe("share of the sum of squares"),
      }),
    ),
  }),
  run({ certificate, drift, countResolution, repeatability, setPoint, ...input }) {
    const components = pointBudget({
      certificate: {
        expandedUncertaintyPercent: Number(certificate.expandedUncertaintyPercent),
        coverageFactor: Number(certificate.coverageFactor),
        degreesOfFreedom: optionalNumber(certificate.degreesOfFreedom ?? undefined),
      },
      drift: drift && {
        percentPerYear: Number(drift.percentPerYear),
        yearsSinceCalibration: Number(drift.yearsSinceCalibration),
      },
      countResolution: countResolution && {
        counts: Number(countResolution.counts),
        resolutionCounts: Number(countResolution.resolutionCounts),
      },
      repeatability: repeatability && {
        standardDeviationPercent: Number(repeatability.standardDeviationPercent),
        runs: repeatability.runs,
      },
      setPoint: setPoint.map(({ label, halfWidth, sensitivityPercentPerUnit }) => ({
        label,
        halfWidth: Number(halfWidth),
        sensitivityPercentPerUnit: Number(sensitivityPercentPerUnit),
      })),
    });
    const found = expandUncertainty(components, { coverageFactor: Number(input.coverageFactor) });
    if (found.kind === "coverage-factor-needed") return { error: found.reason };
    const tolerance = optionalNumber(input.tolerancePercent);
    const accuracy = optionalNumber(input.standardAccuracyPercent);
    const ratio =
      tolerance === undefined || found.expanded === 0
        ? null
        : testUncertaintyRatio(tolerance, found.expanded, found.coverageFactor);
    return {
      combined: found.combined,
      effectiveDegreesOfFreedom: found.effectiveDegreesOfFreedom,
      coverageFactor: found.coverageFactor,
      expanded: found.expanded,
      testUncertaintyRatio: ratio?.kind === "ratio" ? ratio.ratio : null,
      testAccuracyRatio:
        tolerance === undefined || accuracy === undefined
          ? null
          : testAccuracyRatio(tolerance, accuracy).ratio,
      contributions: found.contributions.map(
        ({ label, standardUncertainty, contribution, sharePercent }) => ({
          label,
          standardUncertainty,
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

export const uncertaintyCalculations: readonly Calculation[] = [summary, uncertainty, pointUncertainty];
