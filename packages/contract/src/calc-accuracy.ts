import { averageRegistration } from "@sealbook/metrology/accuracy/average-registration";
import { correctForStandard } from "@sealbook/metrology/accuracy/correct-for-standard";
import { percentErrorOf } from "@sealbook/metrology/accuracy/percent-error-of";
import { registrationFromCounts } from "@sealbook/metrology/accuracy/registration-from-counts";
import { judgeValue } from "@sealbook/metrology/judgement/judge-value";
import {
  counts,
  factor,
  type PercentRegistration,
  percentRegistration,
  wattHours,
  wattHoursPerCount,
} from "@sealbook/metrology/units";
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

const registration = defineCalculation({
  name: "registration",
  summary: "Percent registration of a meter from its counts and the standard's energy: R = 100 n K / (m W).",
  source: "definition of percent registration; the factor m is common practice, no source",
  input: z.strictObject({
    counts: positiveInput.describe("n: disk revolutions or pulses of the meter over the gate"),
    whPerCount: positiveInput.describe("K: Kh or Kt, Wh per count"),
    seriesFactor: positiveInput
      .default(1)
      .describe(
        "m: how often the meter sees the standard's energy, by form and circuits driven; 1 unless given",
      ),
    standardWh: positiveInput.describe("W: energy that the standard indicated over the same gate, Wh"),
    standardRegistrationPercent: positiveInput
      .optional()
      .describe("certified registration of the standard at this load, percent; 100 when it registers truly"),
  }),
  output: z.object({
    registrationPercent: z.number().describe("percent registration R"),
    errorPercent: z.number().describe("percent error R - 100"),
  }),
  run(input) {
    const indicated = registrationFromCounts({
      counts: counts(exact(input.counts)),
      whPerCount: wattHoursPerCount(exact(input.whPerCount)),
      circuitFactor: factor(exact(input.seriesFactor)),
      standardEnergy: wattHours(exact(input.standardWh)),
    });
    const corrected =
      input.standardRegistrationPercent === undefined
        ? indicated
        : correctForStandard(indicated, percentRegistration(exact(input.standardRegistrationPercent)));
    return {
      registrationPercent: asNumber(corrected),
      errorPercent: asNumber(percentErrorOf(corrected)),
    };
  },
});

type Weights = { fullLoad?: string; lightLoad?: string; powerFactor?: string };

const weightsByMethod: Record<string, Weights> = {
  "1": { fullLoad: "4", lightLoad: "1" },
  "2": { fullLoad: "1", lightLoad: "1" },
  "4": { fullLoad: "4", lightLoad: "2", powerFactor: "1" },
  "nd-polyphase": { fullLoad: "4", lightLoad: "1", powerFactor: "2" },
};

const roles = { fullLoad: "full-load", lightLoad: "light-load", powerFactor: "power-factor" } as const;
type PointName = keyof typeof roles;
const pointNames = Object.keys(roles) as PointName[];

const average = defineCalculation({
  name: "average",
  summary:
    "Average registration: method 1 (4 FL + LL)/5, 2 (FL + LL)/2, 3 one representative load, 4 (4 FL + 2 LL + PF)/7, nd-polyphase (4 FL + LL + 2 PF)/7, or any weights.",
  source: "04 NCAC 11 R08-11 (methods 1 to 4, as in ANSI C12.1); N.D. Admin. Code 69-09-02-27 (nd-polyphase)",
  input: z.strictObject({
    method: z
      .union([z.literal([1, 2, 3, 4]), z.enum(["1", "2", "3", "4", "nd-polyphase"])])
      .optional()
      .describe("averaging method; give either a method or weights"),
    weights: z
      .strictObject({
        fullLoad: nonNegativeInput.optional(),
        lightLoad: nonNegativeInput.optional(),
        powerFactor: nonNegativeInput.optional(),
      })
      .optional()
      .describe("weight of each point; their sum divides"),
    values: z
      .enum(["registrations", "errors"])
      .default("registrations")
      .describe("what the points are: percent registrations, or signed percent errors"),
    fullLoad: numberInput.optional().describe("full load (heavy load), power factor 1, percent"),
    lightLoad: numberInput.optional().describe("light load, power factor 1, percent"),
    powerFactor: numberInput.optional().describe("full load at power factor 0.5 lagging, percent"),
    representativeLoad: numberInput
      .optional()
      .describe("the one load of method 3, percent; method 3 takes any one of the loads"),
  }),
  output: z.object({
    registrationPercent: z.number().describe("average registration, percent"),
    errorPercent: z.number().describe("average registration less 100, percent"),
  }),
  run(input) {
    if ((input.method === undefined) === (input.weights === undefined)) {
      return { error: "Give either a method or weights, not both and not neither." };
    }
    const registrationOf = (value: z.output<typeof numberInput>): PercentRegistration => {
      const typed = exact(value);
      const registered = input.values === "errors" ? typed.plus("100") : typed;
      if (!registered.isPositive()) throw new RangeError("a percent registration must be greater than 0");
      return percentRegistration(registered);
    };
    const reply = (averaged: PercentRegistration) => ({
      registrationPercent: asNumber(averaged),
      errorPercent: asNumber(percentErrorOf(averaged)),
    });
    const method = input.method === undefined ? null : String(input.method);
    if (method === "3") {
      const loads = [input.representativeLoad, ...pointNames.map((name) => input[name])];
      const [load, second] = loads.filter((value) => value !== undefined);
      if (load === undefined || second !== undefined) {
        return { error: "Method 3 needs one load, the one that stands for the meter's use." };
      }
      return reply(registrationOf(load));
    }
    const given = method === null ? input.weights : weightsByMethod[method];
    const weights = pointNames.flatMap((name) => {
      const weight = given?.[name];
      return weight === undefined || Number(weight) === 0
        ? []
        : [{ role: roles[name], weight: exact(weight).toDecimal().toFixed() }];
    });
    const registrations: Partial<Record<(typeof roles)[PointName], PercentRegistration>> = {};
    for (const name of pointNames) {
      const value = input[name];
      if (value !== undefined) registrations[roles[name]] = registrationOf(value);
    }
    const averaged = averageRegistration({ weights }, registrations);
    if (averaged.kind === "missing-points") {
      const missing = pointNames.filter((name) => averaged.missing.includes(roles[name]));
      return { error: `The average also needs: ${missing.join(", ")}.` };
    }
    return reply(averaged.registration);
  },
});

const judge = defineCalculation({
  name: "judge",
  summary: "Verdict on one percent registration against inclusive limits, by a decision rule.",
  source: "JCGM 106:2012, clause 8; ILAC-G8:09/2019, section 4",
  input: z.strictObject({
    registrationPercent: numberInput.describe("the value to judge, percent registration"),
    minPercent: numberInput.describe("lower limit, inclusive, percent registration"),
    maxPercent: numberInput.describe("upper limit, inclusive, percent registration"),
    rule: z
      .enum(["simple", "guard-band", "false-accept"])
      .default("simple")
      .describe(
        "simple acceptance, acceptance limits drawn in by r U, or a largest probability of false accept",
      ),
    uncertaintyMultiple: nonNegativeInput.default(1).describe("r of the guard band r U; 1 unless given"),
    maxProbability: positiveInput.optional().describe("largest probability of false accept, at most 0.5"),
    expandedUncertaintyPercent: nonNegativeInput
      .optional()
      .describe("expanded uncertainty of the value, percent; the last two rules need it"),
    coverageFactor: positiveInput.default(2).describe("k of the expanded uncertainty; 2 unless given"),
  }),
  output: z.object({
    verdict: z.enum(["pass", "fail", "undecided", "not-judged"]),
    marginPercent: z.number().nullable().describe("distance to the nearest limit; negative outside it"),
    acceptanceMinPercent: z.number().nullable().describe("lower limit drawn in by the guard band"),
    acceptanceMaxPercent: z.number().nullable().describe("upper limit drawn in by the guard band"),
    falseAcceptProbability: z.number().nullable(),
    reason: z.string(),
  }),
  run(input) {
    if (input.rule === "false-accept" && input.maxProbability === undefined) {
      return { error: "The rule false-accept needs maxProbability." };
    }
    const source = "as given";
    const judged = judgeValue({
      value: exact(input.registrationPercent),
      limits: { minPercent: asText(input.minPercent), maxPercent: asText(input.maxPercent), source },
      rule:
        input.rule === "simple"
          ? { kind: "simple", source }
          : input.rule === "guard-band"
            ? { kind: "guard-band", uncertaintyMultiple: asText(input.uncertaintyMultiple), source }
            : { kind: "false-accept", maxProbability: asText(input.maxProbability ?? 0), source },
      expandedUncertainty:
        input.expandedUncertaintyPercent === undefined
          ? null
          : exact(input.expandedUncertaintyPercent).times("2").dividedBy(exact(input.coverageFactor)),
    });
    return {
      verdict: judged.verdict,
      marginPercent: numberOrNull(judged.marginPercent),
      acceptanceMinPercent: numberOrNull(judged.acceptanceLimits?.minPercent ?? null),
      acceptanceMaxPercent: numberOrNull(judged.acceptanceLimits?.maxPercent ?? null),
      falseAcceptProbability: numberOrNull(judged.falseAcceptProbability),
      reason: judged.reason,
    };
  },
});

function numberOrNull(text: string | null): number | null {
  return text === null ? null : Number(text);
}

export const accuracyCalculations: readonly Calculation[] = [registration, average, judge];
