import { attributesPlan } from "@sealbook/metrology/sampling/attributes/attributes-plan";
import { averageOutgoingQualityLimit } from "@sealbook/metrology/sampling/characteristic/average-outgoing-quality-limit";
import { fractionAtAcceptance } from "@sealbook/metrology/sampling/characteristic/fraction-at-acceptance";
import { rectifyingInspection } from "@sealbook/metrology/sampling/characteristic/rectifying-inspection";
import { singleAcceptance } from "@sealbook/metrology/sampling/characteristic/single-acceptance";
import { variablesAcceptance } from "@sealbook/metrology/sampling/characteristic/variables-acceptance";
import { variablesAcceptanceTwoLimits } from "@sealbook/metrology/sampling/characteristic/variables-acceptance-two-limits";
import { drawAlgorithm, drawSample } from "@sealbook/metrology/sampling/draw/draw-sample";
import { listHash } from "@sealbook/metrology/sampling/draw/list-hash";
import { orderCandidates } from "@sealbook/metrology/sampling/draw/order-candidates";
import { clopperPearson } from "@sealbook/metrology/sampling/evaluation/clopper-pearson";
import { estimatePercentNonconforming } from "@sealbook/metrology/sampling/evaluation/estimate-percent-nonconforming";
import { finiteLotLimits } from "@sealbook/metrology/sampling/evaluation/finite-lot-limits";
import { inspectionSeverities, type PlanRefusal } from "@sealbook/metrology/sampling/sampling-terms";
import { nextSeverity } from "@sealbook/metrology/sampling/switching/next-severity";
import { startSeries } from "@sealbook/metrology/sampling/switching/start-series";
import { switchingEditionNames } from "@sealbook/metrology/sampling/switching/switching-editions";
import { milstd414Plan } from "@sealbook/metrology/sampling/variables/milstd414-plan";
import type { VariablesPlan } from "@sealbook/metrology/sampling/variables/variables-plan";
import { z19Plan } from "@sealbook/metrology/sampling/variables/z19-plan";
import { z } from "zod";
import {
  type Calculation,
  defineCalculation,
  type NumberInput,
  nonNegativeInput,
  numberInput,
} from "./calculation.ts";

const lotSizeInput = z.int().min(0).describe("units in the lot");
const severityInput = z.enum(inspectionSeverities).default("normal").describe("severity of inspection");
const notesOutput = z.array(z.string()).describe("what must be known beside the numbers");

const attributes = defineCalculation({
  name: "attributes-plan",
  summary: "Single sampling plan by attributes of MIL-STD-105E, which ANSI/ASQ Z1.4 prints as well.",
  source: "MIL-STD-105E (10 May 1989), Tables I, II-A, II-B, II-C",
  input: z.strictObject({
    lotSize: lotSizeInput,
    level: z.string().describe("inspection level: S-1, S-2, S-3, S-4, I, II or III"),
    aql: numberInput.describe("AQL in percent nonconforming, or nonconformities per 100 units above 10"),
    inspection: severityInput,
  }),
  output: z.object({
    letter: z.string().describe("code letter of Table I"),
    planLetter: z.string().describe("letter of the row that arrows lead to"),
    n: z.number().describe("units to inspect, at most the lot"),
    ac: z.number().describe("acceptance number"),
    re: z.number().describe("rejection number"),
    allInspected: z.boolean().describe("whether the plan asks for the whole lot or more"),
    notes: notesOutput,
  }),
  run({ lotSize, level, aql, inspection }) {
    const plan = attributesPlan({ lotSize, level, aql: Number(aql), inspection });
    if (plan.kind === "refused") return { error: plan.sentence };
    const { letter, planLetter, n, ac, re, allInspected, notes } = plan;
    return { letter, planLetter, n, ac, re, allInspected, notes };
  },
});

const variables = defineCalculation({
  name: "variables-plan",
  summary: "Sampling plan by variables, standard deviation method, variability unknown.",
  source: "ANSI/ASQ Z1.9-1993 and 2003, Tables A-2, B-3, B-4; MIL-STD-414 (1957), Tables A-2, B-1, B-3",
  input: z.strictObject({
    lotSize: lotSizeInput,
    level: z.string().describe("inspection level: Z1.9 has S-3, S-4, I, II, III; MIL-STD-414 has I to V"),
    aql: numberInput.describe("AQL in percent nonconforming"),
    inspection: severityInput,
    sigma: z.literal("unknown").default("unknown").describe("variability: only unknown is offered"),
    standard: z
      .enum(["Z1.9", "MIL-STD-414"])
      .default("Z1.9")
      .describe("two different standards; MIL-STD-414 has no reduced inspection here"),
  }),
  output: z.object({
    letter: z.string().describe("code letter of Table A-2"),
    n: z.number().describe("units to measure, at most the lot"),
    M: z.number().describe("largest estimated percent nonconforming that accepts (Form 2)"),
    k: z.number().nullable().describe("least quality index that accepts (Form 1); null for Z1.9"),
    allInspected: z.boolean().describe("whether the plan asks for the whole lot or more"),
    notes: notesOutput,
  }),
  run({ lotSize, level, aql, inspection, standard }) {
    const request = { lotSize, level, aql: Number(aql), inspection };
    const plan: VariablesPlan | PlanRefusal = standard === "Z1.9" ? z19Plan(request) : milstd414Plan(request);
    if (plan.kind === "refused") return { error: plan.sentence };
    const { letter, n, maximumPercent, k, allInspected, notes } = plan;
    return { letter, n, M: maximumPercent, k, allInspected, notes };
  },
});

/** Readings of one sample; the mean and s are worked out in exact decimals. */
const longestSample = 100_000;

const estimate = defineCalculation({
  name: "estimate",
  summary: "Estimated percent nonconforming from a sample by variables, standard deviation method.",
  source: "MIL-STD-414 (1957), Section B, Table B-5; ANSI/ASQ Z1.9; Lieberman and Resnikoff (1955)",
  input: z
    .strictObject({
      values: z
        .array(numberInput)
        .max(longestSample)
        .optional()
        .describe("readings, three or more; or mean, s and n"),
      mean: numberInput.optional().describe("sample mean, in the unit of the limits"),
      s: nonNegativeInput.optional().describe("sample standard deviation, divisor n - 1"),
      n: z.int().min(0).optional().describe("sample size"),
      lower: numberInput.optional().describe("lower limit, itself conforming"),
      upper: numberInput.optional().describe("upper limit, itself conforming"),
    })
    .refine(({ lower, upper }) => lower !== undefined || upper !== undefined, "give lower, upper or both")
    .refine(
      ({ values, mean, s, n }) =>
        values === undefined
          ? mean !== undefined && s !== undefined && n !== undefined
          : mean === undefined && s === undefined && n === undefined,
      "give either values, or mean, s and n",
    ),
  output: z.object({
    n: z.number(),
    mean: z.number(),
    s: z.number(),
    qLower: z.number().nullable().describe("(mean - lower) / s; null without the limit or without spread"),
    qUpper: z.number().nullable().describe("(upper - mean) / s; null without the limit or without spread"),
    pLower: z.number().describe("percent below the lower limit"),
    pUpper: z.number().describe("percent above the upper limit"),
    p: z.number().describe("percent nonconforming"),
    notes: notesOutput,
  }),
  run({ values, mean, s, n, lower, upper }) {
    const figures =
      values === undefined
        ? { mean: Number(mean), s: Number(s), n: n ?? 0 }
        : { values: values as NumberInput[] };
    const found = estimatePercentNonconforming(figures, {
      lower: lower === undefined ? undefined : Number(lower),
      upper: upper === undefined ? undefined : Number(upper),
    });
    if (found.kind === "no-estimate") return { error: found.sentence };
    const { qLower, qUpper, pLower, pUpper, p, notes } = found;
    return { n: found.n, mean: found.mean, s: found.s, qLower, qUpper, pLower, pUpper, p, notes };
  },
});

const fractionInput = numberInput
  .refine((value) => Number(value) >= 0 && Number(value) <= 1, "must lie between 0 and 1")
  .describe("fraction nonconforming, 0 to 1");

const operatingCharacteristic = defineCalculation({
  name: "oc",
  summary:
    "Probability of acceptance of a single plan: exact for a lot (type A) or a process (type B), with AOQ and ATI.",
  source: "MIL-STD-105E, 4.11; NIST/SEMATECH e-Handbook of Statistical Methods, 6.2.3.2",
  input: z.strictObject({
    n: z.int().min(1).describe("sample size"),
    ac: z.int().min(0).describe("acceptance number"),
    p: fractionInput,
    lotSize: z
      .int()
      .min(1)
      .optional()
      .describe("units in the lot; without it the sample comes from a process"),
  }),
  output: z.object({
    pa: z.number().describe("probability of acceptance"),
    nonconforming: z
      .number()
      .optional()
      .describe("nonconforming units in the lot that stand for p: the nearest whole number, halves upwards"),
    aoq: z
      .number()
      .optional()
      .describe("average outgoing quality of a process with such lots, a fraction; needs lotSize"),
    ati: z.number().optional().describe("average total inspection, units a lot; needs lotSize"),
    aoql: z
      .number()
      .optional()
      .describe("worst average outgoing quality, a fraction; absent when all is accepted"),
    p95: z.number().optional().describe("fraction accepted with 95 %, type B; absent when all is accepted"),
    p10: z.number().optional().describe("fraction accepted with 10 %, type B; absent when all is accepted"),
  }),
  run({ n, ac, p, lotSize }) {
    const plan = { n, ac };
    const acceptance = singleAcceptance(plan, Number(p), lotSize);
    const rectified = lotSize === undefined ? null : rectifyingInspection(plan, Number(p), lotSize);
    return {
      pa: acceptance.probability,
      ...(acceptance.nonconforming === null ? {} : { nonconforming: acceptance.nonconforming }),
      ...(rectified === null
        ? {}
        : { aoq: rectified.averageOutgoingQuality, ati: rectified.averageTotalInspection }),
      ...(ac >= n
        ? {}
        : {
            aoql: averageOutgoingQualityLimit(plan, lotSize).fraction,
            p95: fractionAtAcceptance(plan, 0.95),
            p10: fractionAtAcceptance(plan, 0.1),
          }),
    };
  },
});

const variablesCharacteristic = defineCalculation({
  name: "variables-oc",
  summary:
    "Probability of acceptance of a plan by variables, variability unknown: one limit by non-central t, two by integration.",
  source:
    "Resnikoff and Lieberman, Tables of the Non-Central t-Distribution (1957); MIL-STD-414 (1957), Section B",
  input: z
    .strictObject({
      n: z.int().min(3).describe("sample size"),
      M: numberInput.optional().describe("Form 2: M in percent; or k"),
      k: numberInput.optional().describe("Form 1: k, for one limit"),
      p: fractionInput.optional().describe("one limit: fraction beyond it"),
      pLower: fractionInput.optional().describe("two limits: fraction below the lower"),
      pUpper: fractionInput.optional().describe("two limits: fraction above the upper"),
    })
    .refine(({ M, k }) => (M === undefined) !== (k === undefined), "give either M or k")
    .refine(
      ({ p, pLower, pUpper, k }) =>
        p === undefined
          ? pLower !== undefined && pUpper !== undefined && k === undefined
          : pLower === undefined && pUpper === undefined,
      "give either p for one limit, or pLower and pUpper with M",
    ),
  output: z.object({ pa: z.number().describe("probability of acceptance") }),
  run({ n, M, k, p, pLower, pUpper }) {
    if (p !== undefined) {
      const plan = k === undefined ? { n, maximumPercent: Number(M) } : { n, k: Number(k) };
      return { pa: variablesAcceptance(plan, Number(p)) };
    }
    const fractions = { lower: Number(pLower), upper: Number(pUpper) };
    return { pa: variablesAcceptanceTwoLimits({ n, maximumPercent: Number(M) }, fractions) };
  },
});

const confidenceLimits = defineCalculation({
  name: "clopper-pearson",
  summary:
    "Exact confidence limits of the fraction nonconforming from a count; with the lot size also of the lot's number.",
  source: "Clopper and Pearson (1934); for a lot Buonaccorsi (1987)",
  input: z.strictObject({
    nonconforming: z.int().min(0).describe("nonconforming units in the sample"),
    n: z.int().min(1).describe("sample size"),
    confidence: z.number().gt(0).lt(1).default(0.95).describe("confidence of the limits; 0.95 unless given"),
    sides: z
      .enum(["both", "lower", "upper"])
      .default("both")
      .describe("both limits share the risk, or one bears it"),
    lotSize: z
      .int()
      .min(1)
      .optional()
      .describe("units in the lot: adds exact limits of the lot's number, both sides"),
  }),
  output: z.object({
    fraction: z.number().describe("fraction observed"),
    lower: z.number().describe("lower limit, a fraction"),
    upper: z.number().describe("upper limit, a fraction"),
    lot: z
      .object({ lower: z.number(), upper: z.number() })
      .optional()
      .describe("least and greatest number of nonconforming units in the lot"),
  }),
  run({ nonconforming, n, confidence, sides, lotSize }) {
    return {
      ...clopperPearson(nonconforming, n, confidence, sides),
      ...(lotSize === undefined ? {} : { lot: finiteLotLimits(nonconforming, n, lotSize, confidence) }),
    };
  },
});

const switching = defineCalculation({
  name: "switching",
  summary: "Severity of inspection after each of a series of lots, with reasons.",
  source: "MIL-STD-105E (10 May 1989), 4.7 and 4.8; ANSI/ASQ Z1.4-2003, 8.3 to 8.5",
  input: z.strictObject({
    edition: z.enum(switchingEditionNames).default("MIL-STD-105E").describe("whose rules switch the series"),
    aql: numberInput
      .refine((value) => Number(value) > 0, "must be greater than 0")
      .describe("AQL of the series, for the limit numbers of reduced inspection"),
    start: severityInput,
    limitNumbersDropped: z
      .boolean()
      .default(false)
      .describe("limit numbers dropped by agreement (Z1.4-2003 only)"),
    lots: z
      .array(
        z.strictObject({
          outcome: z.enum(["accepted", "accepted-return-to-normal", "not-accepted"]),
          nonconforming: z.int().min(0).default(0).describe("nonconforming units in the sample"),
          sampleUnits: z.int().min(0).default(0).describe("units inspected, of double sampling both samples"),
          inspection: z
            .enum(["original", "resubmitted", "resample"])
            .default("original")
            .describe("only original inspection counts"),
          steady: z.boolean().default(true).describe("production at a steady rate"),
          reducedApproved: z
            .boolean()
            .default(false)
            .describe("reduced inspection approved by the authority"),
        }),
      )
      .max(10_000),
  }),
  output: z.object({
    severity: z.string().describe("severity of the next lot"),
    steps: z.array(
      z.object({
        severityUsed: z.string().describe("severity in force for this lot"),
        severityNext: z.string(),
        reasons: z.array(z.string()),
      }),
    ),
  }),
  run({ edition, aql, start, limitNumbersDropped, lots }) {
    let state = startSeries(edition, start);
    const steps = lots.map((lot) => {
      const next = nextSeverity(state, { kind: "lot", ...lot }, { aql: Number(aql), limitNumbersDropped });
      state = next.state;
      return { severityUsed: next.severityBefore, severityNext: state.severity, reasons: next.reasons };
    });
    return { severity: state.severity, steps };
  },
});

const candidatesInput = z
  .array(z.string())
  .min(1)
  .max(2_000_000)
  .describe("identifiers of all units of the lot, each once, in any order");

const draw = defineCalculation({
  name: "draw",
  summary: "Draws a sample, and spares after it, from a list and a seed, so that anybody can repeat it.",
  source: `The one-page specification ${drawAlgorithm} (draw-specification.md); FIPS 180-4 (SHA-256)`,
  input: z.strictObject({
    candidates: candidatesInput,
    seed: z.string().describe("published text, used exactly as written"),
    n: z.int().min(1).describe("sample size"),
    spares: z.int().min(0).default(0).describe("how many spares to draw after the sample"),
  }),
  output: z.object({
    sample: z.array(z.string()).describe("in the order drawn"),
    spares: z.array(z.string()).describe("in the order in which they are called up"),
    listHash: z.string().describe("SHA-256 of the ordered list"),
    algorithm: z.string().describe("name of the specification"),
  }),
  run(input) {
    const found = drawSample(input);
    if (found.kind === "refused") return { error: found.sentence };
    const { sample, spares, algorithm } = found;
    return { sample, spares, listHash: found.listHash, algorithm };
  },
});

const hashOfList = defineCalculation({
  name: "list-hash",
  summary: "Hash of a list of candidates, to be published before the seed of a draw exists.",
  source: `The one-page specification ${drawAlgorithm} (draw-specification.md), rules 1 to 3`,
  input: z.strictObject({ candidates: candidatesInput }),
  output: z.object({ listHash: z.string(), candidates: z.number().describe("how many there are") }),
  run({ candidates }) {
    const ordered = orderCandidates(candidates);
    if (ordered.kind === "refused") return { error: ordered.sentence };
    return { listHash: listHash(ordered.candidates), candidates: ordered.candidates.length };
  },
});

/** The calculations of acceptance sampling. */
export const samplingCalculations: readonly Calculation[] = [
  attributes,
  variables,
  estimate,
  operatingCharacteristic,
  variablesCharacteristic,
  confidenceLimits,
  switching,
  draw,
  hashOfList,
];
