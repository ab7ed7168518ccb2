import { createRequire } from "node:module";
import { averageRegistration } from "@sealbook/metrology/accuracy/average-registration";
import { correctForStandard } from "@sealbook/metrology/accuracy/correct-for-standard";
import { registrationFromCounts } from "@sealbook/metrology/accuracy/registration-from-counts";
import { adjustBill } from "@sealbook/metrology/billing/adjust-bill";
import { pennsylvaniaBillRule } from "@sealbook/metrology/billing/rules/pennsylvania";
import { correctBillingDemand } from "@sealbook/metrology/demand/correct-billing-demand";
import { intervalDemands } from "@sealbook/metrology/demand/interval-demands";
import { Fraction } from "@sealbook/metrology/fraction";
import { judgeValue } from "@sealbook/metrology/judgement/judge-value";
import { grubbsTest } from "@sealbook/metrology/statistics/grubbs-test";
import { normalCdf } from "@sealbook/metrology/statistics/normal-cdf";
import { normalQuantile } from "@sealbook/metrology/statistics/normal-quantile";
import { studentTCdf } from "@sealbook/metrology/statistics/student-t-cdf";
import { studentTQuantile } from "@sealbook/metrology/statistics/student-t-quantile";
import { summaryOfValues } from "@sealbook/metrology/statistics/summary-of-values";
import { expandUncertainty } from "@sealbook/metrology/uncertainty/expand-uncertainty";
import { globalRisk } from "@sealbook/metrology/uncertainty/global-risk";
import { specificFalseAccept } from "@sealbook/metrology/uncertainty/specific-false-accept";
import { counts, factor, percentRegistration, wattHours, wattHoursPerCount } from "@sealbook/metrology/units";
import { Decimal } from "decimal.js";

/**
 * Evaluations per second of the metrology functions, each beside the library or the plain arithmetic that it rests on.
 * Every measurement varies its arguments and adds up its results, so that nothing can be computed once or left out.
 */
const millisecondsEach = 350;

const fromMetrology = createRequire(new URL("../../packages/metrology/package.json", import.meta.url));
const erfc = fromMetrology("@stdlib/math-base-special-erfc") as (x: number) => number;
const erfcinv = fromMetrology("@stdlib/math-base-special-erfcinv") as (x: number) => number;
const betainc = fromMetrology("@stdlib/math-base-special-betainc") as (
  x: number,
  a: number,
  b: number,
) => number;
const tQuantile = fromMetrology("@stdlib/stats-base-dists-t-quantile") as (p: number, v: number) => number;

let checksum = 0;

function perSecond(evaluate: (round: number) => number): number {
  for (let round = 0; round < 50; round += 1) checksum += evaluate(round);
  const start = performance.now();
  let rounds = 0;
  let elapsed = 0;
  while (elapsed < millisecondsEach) {
    for (let i = 0; i < 20; i += 1) {
      checksum += evaluate(rounds);
      rounds += 1;
    }
    elapsed = performance.now() - start;
  }
  return (1000 * rounds) / elapsed;
}

function measure(
  name: string,
  ours: (round: number) => number,
  beside: Record<string, (round: number) => number> = {},
): void {
  const rate = (value: number) => Math.round(value).toLocaleString("en-US").padStart(12);
  console.log(`${name.padEnd(46)}${rate(perSecond(ours))}/s`);
  for (const [other, evaluate] of Object.entries(beside)) {
    console.log(`  beside ${other.padEnd(37)}${rate(perSecond(evaluate))}/s`);
  }
}

const readings = Array.from({ length: 10 }, (_, i) => `100.${String((i * 37) % 100).padStart(2, "0")}`);
const thousandReadings = Array.from({ length: 1000 }, (_, i) => `10000000.${1 + (i % 3)}`);
const twelveBills = Array.from({ length: 12 }, (_, i) => ({
  from: i < 11 ? `2025-${String(i + 2).padStart(2, "0")}-01` : "2026-01-01",
  to: i < 10 ? `2025-${String(i + 3).padStart(2, "0")}-01` : `2026-0${i - 9}-01`,
  registeredKilowattHours: String(900 + i),
  ratePerKilowattHour: "0.1234",
}));
const pulses = Array.from({ length: 96 }, (_, i) => String(100 + ((i * 7) % 50)));

measure(
  "registration from counts, exact fractions",
  (round) =>
    registrationFromCounts({
      counts: counts("10"),
      whPerCount: wattHoursPerCount("1.8"),
      circuitFactor: factor("3"),
      standardEnergy: wattHours(`6.${1000 + (round % 9000)}`),
    }).toNumber(),
  {
    "decimal.js": (round) =>
      new Decimal("10")
        .mul("1.8")
        .mul(100)
        .div(new Decimal("3").mul(`6.${1000 + (round % 9000)}`))
        .toNumber(),
    "plain doubles": (round) => (10 * 1.8 * 100) / (3 * (6 + (1000 + (round % 9000)) / 10000)),
  },
);
measure("correction for the standard", (round) =>
  correctForStandard(
    percentRegistration(`100.${1000 + (round % 9000)}`),
    percentRegistration("100.013"),
  ).toNumber(),
);
measure("average registration, method 4", (round) => {
  const average = averageRegistration(
    {
      weights: [
        { role: "full-load", weight: "4" },
        { role: "light-load", weight: "2" },
        { role: "power-factor", weight: "1" },
      ],
    },
    {
      "full-load": percentRegistration(`100.${1000 + (round % 9000)}`),
      "light-load": percentRegistration("99.4"),
      "power-factor": percentRegistration("100.8"),
    },
  );
  return average.kind === "average" ? average.registration.toNumber() : 0;
});
measure("verdict, guard band", (round) => {
  const judged = judgeValue({
    value: Fraction.of(`101.${1000 + (round % 9000)}`),
    limits: { minPercent: "98", maxPercent: "102", source: "bench" },
    rule: { kind: "guard-band", uncertaintyMultiple: "1", source: "bench" },
    expandedUncertainty: Fraction.of("0.1"),
  });
  return judged.verdict.length;
});
measure(
  "summary of 10 readings, 40 digits",
  (round) => summaryOfValues([...readings, `100.${round % 97}`]).mean.toNumber(),
  {
    "plain doubles, two passes": (round) =>
      deviationInDoubles([...readings, `100.${round % 97}`].map(Number)),
  },
);
measure(
  "summary of 1,000 readings, 40 digits",
  (round) => summaryOfValues([...thousandReadings, `${round % 97}`]).mean.toNumber(),
  {
    "plain doubles, two passes": (round) =>
      deviationInDoubles([...thousandReadings, `${round % 97}`].map(Number)),
  },
);
measure("Grubbs' test of 10 readings", (round) => {
  const found = grubbsTest([...readings, `100.${round % 97}`]);
  return found.kind === "tested" ? found.statistic : 0;
});
measure("normal distribution function", (round) => normalCdf((round % 800) / 100 - 4), {
  "@stdlib erfc": (round) => 0.5 * erfc(((round % 800) / 100 - 4) / -Math.SQRT2),
});
measure("normal quantile", (round) => normalQuantile((1 + (round % 998)) / 1000), {
  "@stdlib erfcinv": (round) => -Math.SQRT2 * erfcinv((1 + (round % 998)) / 500),
});
measure(
  "Student's t distribution function",
  (round) => studentTCdf((round % 800) / 100 - 4, 1 + (round % 60)),
  {
    "@stdlib betainc": (round) => {
      const t = (round % 800) / 100 - 4;
      const nu = 1 + (round % 60);
      return 0.5 * betainc(nu / (nu + t * t), nu / 2, 0.5);
    },
  },
);
measure("Student's t quantile", (round) => studentTQuantile((501 + (round % 498)) / 1000, 1 + (round % 60)), {
  "@stdlib t quantile": (round) => tQuantile((501 + (round % 498)) / 1000, 1 + (round % 60)),
});
measure("expanded uncertainty of five components", (round) => {
  const found = expandUncertainty(
    [
      { label: "certificate", value: 0.02, distribution: "normal", divisor: 2, degreesOfFreedom: 50 },
      { label: "drift", value: 0.01, distribution: "rectangular" },
      { label: "resolution", value: 0.001 * (1 + (round % 50)), distribution: "rectangular" },
      { label: "repeatability", value: 0.01, distribution: "standard", degreesOfFreedom: 4 },
      { label: "set point", value: 0.002, distribution: "rectangular", sensitivity: 5 },
    ],
    { levelOfConfidence: 0.95 },
  );
  return found.kind === "expanded" ? found.expanded : 0;
});
measure(
  "specific false accept",
  (round) =>
    specificFalseAccept(101 + (round % 1000) / 1000, 0.05, { lower: 98, upper: 102 }).falseAcceptProbability,
);
measure(
  "global false accept and false reject",
  (round) =>
    globalRisk({ mean: 100, standardDeviation: 0.5 + (round % 100) / 100 }, 0.2, { lower: 98, upper: 102 })
      .falseAcceptProbability,
  { "midpoint sum of 20,000 steps": (round) => falseAcceptBySum(0.5 + (round % 100) / 100, 0.2) },
);
measure("demand of 96 subintervals, rolling", (round) => {
  const found = intervalDemands([String(round % 97), ...pulses], {
    method: "rolling",
    subintervalMinutes: "5",
    subintervalsPerInterval: 3,
    whPerPulse: "1.8",
  });
  return found.maximum?.kilowatts.toNumber() ?? 0;
});
measure("correction of twelve billing demands", (round) => {
  const found = correctBillingDemand(
    {
      meterAt40: "41",
      errorAt40: "1",
      meterAt80: "82.4",
      errorAt80: "2.4",
      averageBillingDemand: `6${round % 9}`,
    },
    pulses.slice(0, 12),
  );
  return found.kind === "correction" ? found.correctionFactor.toNumber() : 0;
});
measure("bill adjustment over twelve bills", (round) => {
  const result = adjustBill(pennsylvaniaBillRule, {
    finding: { kind: "registration", averageRegistrationPercent: `102.${10 + (round % 89)}` },
    testDate: "2026-02-01",
    lastTestDate: "2020-01-15",
    billingPeriods: twelveBills,
  });
  if (result.kind !== "adjustment") throw new Error(result.reason);
  return result.total.toNumber();
});
console.log(`checksum ${checksum.toPrecision(6)} on Node ${process.versions.node}`);

function deviationInDoubles(values: number[]): number {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1));
}

function falseAcceptBySum(spread: number, uncertainty: number): number {
  const width = (18 * spread) / 20_000;
  let sum = 0;
  for (let i = 0; i < 20_000; i += 1) {
    const x = 100 - 9 * spread + (i + 0.5) * width;
    if (x >= 98 && x <= 102) continue;
    const density = Math.exp(-0.5 * ((x - 100) / spread) ** 2) / (spread * Math.sqrt(2 * Math.PI));
    sum += density * width * (normalCdf((102 - x) / uncertainty) - normalCdf((98 - x) / uncertainty));
  }
  return sum;
}
