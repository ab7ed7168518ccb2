import { Decimal } from "../../decimal.ts";
import { Fraction } from "../../fraction.ts";
import { readablePercent } from "../../judgement/readable-percent.ts";
import { grubbsTest } from "../../statistics/grubbs-test.ts";
import { summaryOfValues } from "../../statistics/summary-of-values.ts";
import { judgeAttributes } from "../attributes/judge-attributes.ts";
import { andersonDarling } from "../evaluation/anderson-darling.ts";
import { clopperPearson } from "../evaluation/clopper-pearson.ts";
import { estimatePercentNonconforming } from "../evaluation/estimate-percent-nonconforming.ts";
import { finiteLotLimits } from "../evaluation/finite-lot-limits.ts";
import type { CharacteristicEvaluation, CharacteristicReading } from "./lot-evaluation-schema.ts";
import type { CharacteristicPlan } from "./lot-plan-schema.ts";
import { readingOf } from "./reading-of.ts";
import type { SampledPlace } from "./sampled-place.ts";
import type { JudgedCharacteristic, SamplingScheme } from "./sampling-scheme.ts";

/** Below this p-value a variables plan's assumption is doubtful enough to be said. Common practice, no source. */
const doubtfulPValue = 0.05;

type Verdict = Pick<CharacteristicEvaluation, "outcome" | "sentence" | "criteria">;

/**
 * What a sample says of one characteristic: counts, mean and spread, estimate, normality, outlier, and the outcome with
 * every comparison it rests on.
 *
 * Where meters are left out, the plan's sample has fallen short. A plan by attributes still decides if the outcome is the
 * same whether all or none of the missing meters are nonconforming; if the lot is accepted either way and they could lie
 * between Ac and Re of reduced inspection, normal inspection returns. Else, and always under a plan by variables, a person
 * decides. Under variables an untestable meter that counts as nonconforming enters no mean: it is counted apart, and a
 * sample that would be accepted without it is left to a person.
 *
 * @param scheme how averages are made and how untestable meters count
 * @param judged the characteristic with its limits
 * @param plan its plan; the characteristic looks at the first n places
 * @param lotSize meters in the lot
 * @param places all places of the sample in order
 * @returns the evaluation
 */
export function evaluateCharacteristic(
  scheme: SamplingScheme,
  judged: JudgedCharacteristic,
  { plan }: CharacteristicPlan,
  lotSize: number,
  places: readonly SampledPlace[],
): CharacteristicEvaluation {
  const readings = places.slice(0, plan.n).map((place) => readingOf(scheme, judged, place));
  const tally = tallyOf(readings);
  const figures = figuresOf(judged, readings);
  const { outcome, sentence, criteria }: Verdict =
    plan.kind === "variables" ? byVariables(plan, tally, figures) : byCount(plan, tally);
  return {
    characteristic: judged.characteristic,
    limits: judged.limits,
    places: readings.length,
    readings,
    ...tally,
    fraction: tally.counted === 0 ? null : clopperPearson(tally.nonconforming, tally.counted, 0.95),
    lot: tally.counted === 0 ? null : finiteLotLimits(tally.nonconforming, tally.counted, lotSize, 0.95),
    mean: figures.mean,
    s: figures.s,
    least: figures.least,
    greatest: figures.greatest,
    estimate: figures.estimate,
    normality: figures.normality,
    outlier: figures.outlier,
    criteria,
    outcome,
    sentence,
    cautions: cautionsOf(plan.kind, tally, readings, figures),
  };
}

type Tally = Pick<
  CharacteristicEvaluation,
  "waiting" | "leftOut" | "untestable" | "counted" | "nonconforming"
>;

function tallyOf(readings: readonly CharacteristicReading[]): Tally {
  const count = (...results: CharacteristicReading["result"][]) =>
    readings.filter(({ result }) => results.includes(result)).length;
  return {
    waiting: count("waiting"),
    leftOut: count("left-out", "not-measured"),
    untestable: count("untestable"),
    counted: count("reading", "verdict", "untestable"),
    nonconforming: readings.filter(({ conforming }) => conforming === false).length,
  };
}

type Figures = Pick<
  CharacteristicEvaluation,
  "mean" | "s" | "least" | "greatest" | "estimate" | "normality" | "outlier"
> & { noEstimate: string | null; values: number };

function figuresOf(judged: JudgedCharacteristic, readings: readonly CharacteristicReading[]): Figures {
  const measured = readings.flatMap(({ place, value }) => (value === null ? [] : [{ place, value }]));
  const values = measured.map(({ value }) => value);
  if (values.length === 0 || judged.limits === null) {
    return {
      mean: null,
      s: null,
      least: null,
      greatest: null,
      estimate: null,
      noEstimate: "There are no readings to estimate from.",
      normality: null,
      outlier: null,
      values: 0,
    };
  }
  const summary = summaryOfValues(values);
  const estimate = estimatePercentNonconforming(
    { values },
    { lower: Number(judged.limits.minPercent), upper: Number(judged.limits.maxPercent) },
  );
  const normality = andersonDarling(values);
  const outlier = grubbsTest(values);
  return {
    mean: summary.mean.toNumber(),
    s: summary.standardDeviation?.toNumber() ?? null,
    least: summary.minimum.toFixed(),
    greatest: summary.maximum.toFixed(),
    estimate:
      estimate.kind === "estimate"
        ? {
            qLower: estimate.qLower,
            qUpper: estimate.qUpper,
            pLower: estimate.pLower,
            pUpper: estimate.pUpper,
            p: estimate.p,
          }
        : null,
    noEstimate: estimate.kind === "no-estimate" ? estimate.sentence : null,
    normality:
      normality.kind === "tested" ? { statistic: normality.statistic, pValue: normality.pValue } : null,
    outlier:
      outlier.kind === "tested"
        ? {
            place: measured[outlier.suspectIndex]?.place ?? 0,
            value: outlier.suspectValue,
            statistic: outlier.statistic,
            criticalValue: outlier.criticalValue,
            exceeds: outlier.exceeds,
          }
        : null,
    values: values.length,
  };
}

/** A plan by attributes, a plan table or a lot tested whole: the count against Ac and Re. */
function byCount(
  plan: { ac: number; re: number },
  { waiting, leftOut, counted, nonconforming }: Tally,
): Verdict {
  const criteria: Verdict["criteria"] = [
    {
      text: "nonconforming meters",
      value: nonconforming,
      comparison: "at-most",
      bound: plan.ac,
      holds: nonconforming <= plan.ac,
    },
  ];
  if (waiting > 0) {
    const already =
      nonconforming >= plan.re ? " The rejection number is reached, whatever the rest says." : "";
    return {
      outcome: "open",
      criteria,
      sentence: `${nonconforming} nonconforming of ${counted} so far; ${waiting} results are missing.${already}`,
    };
  }
  const best = judgeAttributes(nonconforming, plan);
  if (leftOut === 0) return { outcome: best.outcome, criteria, sentence: best.sentence };
  const worst = judgeAttributes(nonconforming + leftOut, plan);
  if (best.outcome === worst.outcome) {
    return {
      outcome: best.outcome,
      criteria,
      sentence: `${best.sentence} The ${leftOut} left out could not change that.`,
    };
  }
  if (worst.outcome !== "not-accepted") {
    return {
      outcome: "accepted-return-to-normal",
      criteria,
      sentence: `${nonconforming} nonconforming, and with the ${leftOut} left out still below ${plan.re}: accepted. They could lie above ${plan.ac}, so the next lot is under normal inspection.`,
    };
  }
  return {
    outcome: "person-decides",
    criteria,
    sentence: `${nonconforming} nonconforming, and ${leftOut} left out that could change the outcome: a person decides.`,
  };
}

function byVariables(
  plan: Extract<CharacteristicPlan["plan"], { kind: "variables" }>,
  tally: Tally,
  { estimate, noEstimate, s, values }: Figures,
): Verdict {
  const { maximumPercent: bound } = plan;
  const { waiting, leftOut, untestable, counted, nonconforming } = tally;
  const counts = plan.allInspected;
  const percent = counts
    ? counted === 0
      ? null
      : (100 * nonconforming) / (counted + leftOut + waiting)
    : (estimate?.p ?? null);
  const criteria: Verdict["criteria"] =
    percent === null
      ? []
      : [
          {
            text: counts
              ? "percent nonconforming of the whole lot, counted"
              : "estimated percent nonconforming",
            value: percent,
            comparison: "at-most",
            bound,
            holds: percent <= bound,
          },
        ];
  const person = (sentence: string): Verdict => ({ outcome: "person-decides", criteria, sentence });
  if (waiting > 0) {
    return {
      outcome: "open",
      criteria,
      sentence: `${values} readings so far; ${waiting} results are missing.`,
    };
  }
  if (counts) {
    const worst = (100 * (nonconforming + leftOut)) / (counted + leftOut);
    if (percent === null || (leftOut > 0 && percent <= bound !== worst <= bound)) {
      return person(`${leftOut} of the lot are left out and could change the outcome: a person decides.`);
    }
  } else {
    if (percent === null) return person(noEstimate ?? "There is no estimate.");
    if (leftOut > 0) {
      return person(
        `The sample has fallen short by ${leftOut}: the plan's M belongs to ${plan.n} meters, so a person decides.`,
      );
    }
    if (percent <= bound && untestable > 0) {
      return person(
        `The readings would accept the lot, but ${untestable} untestable meters count as nonconforming and enter no mean: a person decides.`,
      );
    }
    if (percent <= bound && s === 0) {
      return person(
        "All readings are the same, so the sample says nothing of the lot's spread: a person looks at the records and decides.",
      );
    }
  }
  const accepted = percent <= bound;
  return {
    outcome: accepted ? "accepted" : "not-accepted",
    criteria,
    sentence: `${counts ? "Counted" : "Estimated"} percent nonconforming ${readable(percent, bound)} ${accepted ? "is at most" : "is above"} M ${bound}: ${accepted ? "accepted" : "not accepted"}.`,
  };
}

/** As many digits as it takes to tell a percent from its bound; the decision rests on the unrounded value. */
function readable(percent: number, bound: number): string {
  return readablePercent(Fraction.of(new Decimal(percent)), [new Decimal(bound)]);
}

function cautionsOf(
  planKind: CharacteristicPlan["plan"]["kind"],
  { waiting, leftOut, untestable }: Tally,
  readings: readonly CharacteristicReading[],
  { normality, outlier, values }: Figures,
): string[] {
  const cautions: string[] = [];
  const notMeasured = readings.filter(({ result }) => result === "not-measured").map(({ meter }) => meter);
  if (notMeasured.length > 0) {
    cautions.push(
      `The tests of ${listed(notMeasured)} have no such reading: they count as left out here. Test them again with a plan that measures it, and amend.`,
    );
  }
  if (leftOut > notMeasured.length) {
    cautions.push(`${leftOut - notMeasured.length} of the sample are left out, each with its reason.`);
  }
  if (untestable > 0) {
    cautions.push(`${untestable} of the sample could not be tested and count as nonconforming.`);
  }
  if (planKind === "variables" && waiting === 0) {
    if (normality !== null && normality.pValue < doubtfulPValue) {
      cautions.push(
        "The readings do not look normal: a variables plan rests on normality. Look at the normal plot for two mixed groups or a few strays, and judge by the count (an attributes plan) where the rule allows it.",
      );
    }
    if (normality === null && values > 0 && values < 8)
      cautions.push("Fewer than eight readings: their normality cannot be tested.");
  }
  if (outlier?.exceeds === true) {
    const suspect = readings.find(({ place }) => place === outlier.place);
    cautions.push(
      `Place ${outlier.place} (meter ${suspect?.meter ?? "?"}, ${suspect?.value ?? outlier.value}) lies far from the rest. It counts in every figure; find out why before the lot is decided.`,
    );
  }
  return cautions;
}

function listed(meters: readonly string[]): string {
  return meters.length <= 5
    ? meters.join(", ")
    : `${meters.slice(0, 5).join(", ")} and ${meters.length - 5} more`;
}
