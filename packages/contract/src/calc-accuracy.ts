import { averageRegistration } from "@sealbook/metrology/accuracy/average-registration";
import { correctForStandard } from "@sealbook/metrology/accuracy/correct-for-standard";
import { percentErrorOf } from "@sealbook/metrology/accuracy/percent-error-of";
import { registrationFromCounts } from "@sealbook/metrology/accuracy/registration-from-counts";
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
  type Calculation,
  defineCalculation,
  exact,
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
        fullLoad: positiveInput.optional(),
        lightLoad: positiveInput.optional(),
        powerFactor: positiveInput.optional(),
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
    representativeLoad: numberInput.optional().describe("the one load of method 3, percent"),
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
      if (input.representativeLoad === undefined) {
        return { error: "Method 3 needs representativeLoad: the one load that stands for the meter's use." };
      }
      return reply(registrationOf(input.representativeLoad));
    }
    const given = method === null ? input.weights : weightsByMethod[method];
    const weights = pointNames.flatMap((name) => {
      const weight = given?.[name];
      return weight === undefined ? [] : [{ role: roles[name], weight: exact(weight).toDecimal().toFixed() }];
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

export const accuracyCalculations: readonly Calculation[] = [registration, average];
