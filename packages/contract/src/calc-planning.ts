import { checkNameplate } from "@sealbook/metrology/accuracy/check-nameplate";
import { circuitPower } from "@sealbook/metrology/accuracy/circuit-power";
import { countResolution } from "@sealbook/metrology/accuracy/count-resolution";
import { countsForResolution } from "@sealbook/metrology/accuracy/counts-for-resolution";
import { countsForTime } from "@sealbook/metrology/accuracy/counts-for-time";
import { expectedTime } from "@sealbook/metrology/accuracy/expected-time";
import {
  amperes,
  counts,
  energyPerCount,
  factor,
  percentError,
  seconds,
  volts,
} from "@sealbook/metrology/units";
import { z } from "zod";
import {
  asNumber,
  asText,
  type Calculation,
  defineCalculation,
  exact,
  positiveInput,
} from "./calculation.ts";

const expectedTimeOfPoint = defineCalculation({
  name: "expected-time",
  summary:
    "Time that a meter which registers truly takes for a number of counts, t = 3600 n K / P with P = m V I pf; or the counts for a time.",
  source: "definition of the watthour constant; the factor m is common practice, no source",
  input: z.strictObject({
    whPerCount: positiveInput.describe("K: Kh or Kt, Wh (VARh, VAh) per count"),
    volts: positiveInput.describe("V"),
    amperes: positiveInput.describe("I"),
    powerFactor: positiveInput.default(1).describe("power factor, at most 1; 1 unless given"),
    seriesFactor: positiveInput
      .default(1)
      .describe(
        "m: how often the meter sees the standard's energy, by form and circuits driven; 1 unless given",
      ),
    quantity: z
      .enum(["Wh", "VARh", "VAh"])
      .default("Wh")
      .describe("what the counts stand for; Wh unless given"),
    counts: positiveInput.optional().describe("n; give this, seconds, or resolutionPercent"),
    seconds: positiveInput.optional().describe("time that the run shall last at least"),
    resolutionPercent: positiveInput.optional().describe("what one count may be worth at most, percent"),
  }),
  output: z.object({
    watts: z.number().describe("power that the meter sees: W, var or VA"),
    counts: z.number().describe("as given, or the least whole number that will do"),
    seconds: z.number().describe("time of these counts"),
    resolutionPercent: z.number().describe("what one count is worth, percent"),
  }),
  run(input) {
    const wanted = [input.counts, input.seconds, input.resolutionPercent].filter(
      (value) => value !== undefined,
    );
    if (wanted.length !== 1) return { error: "Give one of counts, seconds and resolutionPercent." };
    const load = {
      volts: volts(exact(input.volts)),
      amperes: amperes(exact(input.amperes)),
      powerFactor: factor(exact(input.powerFactor)),
      circuitFactor: factor(exact(input.seriesFactor)),
      quantity: input.quantity,
    };
    const perCount = energyPerCount(exact(input.whPerCount), input.quantity);
    const taken =
      input.counts !== undefined
        ? counts(exact(input.counts))
        : input.seconds !== undefined
          ? countsForTime(seconds(exact(input.seconds)), perCount, load)
          : countsForResolution(percentError(exact(input.resolutionPercent ?? 0)));
    return {
      watts: asNumber(circuitPower(load)),
      counts: asNumber(taken),
      seconds: asNumber(expectedTime(taken, perCount, load)),
      resolutionPercent: asNumber(countResolution(taken)),
    };
  },
});

const nameplate = defineCalculation({
  name: "nameplate",
  summary:
    "Does a nameplate agree with itself: form, elements, class, test amperes, design voltage, Kh and Kt?",
  source:
    "freezingblue.com card set 310317 (Kh = c V TA / 1000 or / 500); the rest is common practice, no source",
  input: z.strictObject({
    form: z.string().min(1).max(10).describe("ANSI form, such as 9S"),
    elements: positiveInput.optional().describe("1, 2, 2.5 or 3"),
    designVolts: positiveInput.describe("nominal design voltage, to which Kh belongs, V"),
    testAmperes: positiveInput.describe("TA, A"),
    classAmperes: positiveInput.optional().describe("class: maximum amperes"),
    kh: positiveInput.describe("watthour constant, Wh per revolution"),
    kt: positiveInput.optional().describe("Wh per pulse of the test output"),
  }),
  output: z.object({
    agrees: z.boolean().describe("whether nothing is odd"),
    findings: z.array(
      z.object({
        kind: z.string(),
        oddOne: z.string().nullable().describe("the one line that explains the finding, if only one does"),
        suspects: z.array(z.object({ field: z.string(), shouldBe: z.string() })),
        reason: z.string(),
      }),
    ),
  }),
  run(input) {
    const findings = checkNameplate({
      form: input.form,
      elements: input.elements === undefined ? null : asText(input.elements),
      designVolts: asText(input.designVolts),
      testAmperes: asText(input.testAmperes),
      classAmperes: input.classAmperes === undefined ? null : asText(input.classAmperes),
      kh: asText(input.kh),
      kt: input.kt === undefined ? null : asText(input.kt),
    });
    return { agrees: findings.length === 0, findings };
  },
});

export const planningCalculations: readonly Calculation[] = [expectedTimeOfPoint, nameplate];
