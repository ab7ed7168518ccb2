import type { DecisionRule, RegistrationLimits } from "../accuracy/test-terms.ts";
import { Fraction } from "../fraction.ts";
import { specificFalseAccept } from "../uncertainty/specific-false-accept.ts";
import type { Judgement } from "./judgement-terms.ts";
import { type Margin, marginToLimits } from "./margin-to-limits.ts";
import { readablePercent } from "./readable-percent.ts";

/** A measured value with all that its verdict leans on. */
export interface ValueToJudge {
  /** Percent registration, exact. */
  value: Fraction;
  /** Inclusive limits; null when nothing limits this value on this occasion. */
  limits: RegistrationLimits | null;
  rule: DecisionRule;
  /** Percent, at a coverage factor of 2; null when it is not known. */
  expandedUncertainty: Fraction | null;
}

/**
 * Judges one value against its limits by the decision rule. Limits are inclusive; the comparison is exact.
 *
 * - simple: within the limits passes, whatever the uncertainty.
 * - guard-band: passes within the limits drawn in by r U. Outside them it fails, also between the two, as the binary
 *   statement of ILAC-G8 has it. When the guard band leaves no room between the limits, nothing passes.
 * - false-accept: passes within the limits if the probability that the true value is outside them is at most the
 *   profile's; the probability is a double, the limit comparison stays exact.
 *
 * A value outside its limits fails under every rule. A value within them is undecided when the rule needs the
 * uncertainty and none is known.
 *
 * @param input value and uncertainty in percent of the same quantity, limits in percent or null where none is set
 * @returns the verdict with the limits drawn in, the margin in percent and the sentence that gives the reason
 * @throws RangeError if limits are upside down, r or the uncertainty is negative, or the largest probability is not
 *   between 0 and 0.5
 * @source JCGM 106:2012, 8.2 and 8.3; ILAC-G8:09/2019, 4.2.1 and 4.2.2; the profile's own citation
 * @example 102 against 98 to 102, simple // pass, margin 0
 */
export function judgeValue({ value, limits, rule, expandedUncertainty }: ValueToJudge): Judgement {
  if (limits === null) {
    return {
      verdict: "not-judged",
      limits: null,
      acceptanceLimits: null,
      marginPercent: null,
      falseAcceptProbability: null,
      rule,
      reason: "No limits are given for this occasion.",
    };
  }
  const margin = marginToLimits(value, limits);
  const found = {
    limits,
    acceptanceLimits: null,
    marginPercent: margin.distance.toText(),
    falseAcceptProbability: null,
    rule,
  };
  if (rule.kind === "simple") {
    const verdict = margin.distance.isLessThan("0") ? "fail" : "pass";
    const sentence = describe(value, limits, margin);
    return { ...found, verdict, reason: `${sentence} Simple acceptance (${rule.source}).` };
  }
  requireNoNegative(expandedUncertainty);
  if (rule.kind === "guard-band") {
    return { ...found, ...judgeByGuardBand(value, margin, limits, rule, expandedUncertainty) };
  }
  return { ...found, ...judgeByFalseAccept(value, margin, limits, rule, expandedUncertainty) };
}

type Decided = Pick<Judgement, "verdict" | "reason"> & Partial<Judgement>;

function judgeByGuardBand(
  value: Fraction,
  margin: Margin,
  limits: RegistrationLimits,
  rule: DecisionRule & { kind: "guard-band" },
  expandedUncertainty: Fraction | null,
): Decided {
  const multiple = Fraction.of(rule.uncertaintyMultiple);
  requireNoNegative(multiple);
  if (expandedUncertainty === null) {
    const sentence = describe(value, limits, margin);
    return withoutUncertainty(margin, "The guard band", rule.source, sentence);
  }
  const guardBand = multiple.times(expandedUncertainty);
  const acceptanceLimits = {
    minPercent: Fraction.of(limits.minPercent).plus(guardBand).toText(),
    maxPercent: Fraction.of(limits.maxPercent).minus(guardBand).toText(),
  };
  const sentence = describe(value, limits, margin, guardBand);
  const band = `guard band ${guardBand.toText(6)} % (${rule.uncertaintyMultiple} U, ${rule.source})`;
  if (!margin.distance.isLessThan(guardBand)) {
    return { verdict: "pass", acceptanceLimits, reason: `${sentence} That is clear of the ${band}.` };
  }
  const where = margin.distance.isLessThan("0") ? "The rule has a" : "That is inside the";
  return { verdict: "fail", acceptanceLimits, reason: `${sentence} ${where} ${band}.` };
}

function judgeByFalseAccept(
  value: Fraction,
  margin: Margin,
  limits: RegistrationLimits,
  rule: DecisionRule & { kind: "false-accept" },
  expandedUncertainty: Fraction | null,
): Decided {
  const most = Fraction.of(rule.maxProbability);
  if (!most.isPositive() || most.isGreaterThan("0.5")) {
    throw new RangeError(
      `a largest probability of false accept is above 0 and at most 0.5, got ${rule.maxProbability}`,
    );
  }
  const sentence = describe(value, limits, margin);
  if (expandedUncertainty === null) {
    return withoutUncertainty(margin, "The probability of false accept", rule.source, sentence);
  }
  const { falseAcceptProbability: probability } = specificFalseAccept(
    value.toNumber(),
    expandedUncertainty.dividedBy("2").toNumber(),
    { lower: Fraction.of(limits.minPercent).toNumber(), upper: Fraction.of(limits.maxPercent).toNumber() },
  );
  const passes = !margin.distance.isLessThan("0") && probability <= most.toNumber();
  const text = probabilityText(probability, most.toNumber());
  return {
    verdict: passes ? "pass" : "fail",
    falseAcceptProbability: text,
    reason: `${sentence} Probability that it is truly outside: ${text}, at most ${rule.maxProbability} is allowed (${rule.source}).`,
  };
}

function withoutUncertainty(margin: Margin, what: string, source: string, sentence: string): Decided {
  const needs = `${what} needs the uncertainty of the measurement, which is not known (${source}).`;
  return margin.distance.isLessThan("0")
    ? {
        verdict: "fail",
        reason: `${sentence} A value outside its limits fails under this rule too (${source}).`,
      }
    : { verdict: "undecided", reason: `${sentence} ${needs}` };
}

/** Where a value lies, in digits enough to see on which side of each limit and of the guard band within it. */
function describe(
  value: Fraction,
  limits: RegistrationLimits,
  margin: Margin,
  guardBand: Fraction = Fraction.of(0n),
): string {
  const { minPercent, maxPercent, source } = limits;
  const drawnIn = [guardBand.plus(minPercent), guardBand.negated().plus(maxPercent)];
  const shown = readablePercent(value, [minPercent, maxPercent, ...drawnIn]);
  const range = `${minPercent} % to ${maxPercent} % (${source})`;
  const away = readablePercent(margin.distance.absolute(), ["0", guardBand]);
  const limit = `the ${margin.nearest} limit`;
  const side = margin.distance.comparedTo("0");
  if (side < 0) {
    return `${shown} % is outside ${range}, ${away} % beyond ${limit}.`;
  }
  return side === 0
    ? `${shown} % is exactly on ${limit} of ${range}, which counts as within.`
    : `${shown} % is within ${range}, ${away} % inside ${limit}.`;
}

const FEWEST_PLACES = 6;
const MOST_PLACES = 20;

/** Six decimals, or as many more as it takes to see on which side of the allowed probability it lies. */
function probabilityText(probability: number, most: number): string {
  let text = probability.toFixed(FEWEST_PLACES);
  for (
    let places = FEWEST_PLACES + 1;
    Number(text) <= most !== probability <= most && places <= MOST_PLACES;
    places += 1
  ) {
    text = probability.toFixed(places);
  }
  return text;
}

function requireNoNegative(value: Fraction | null): void {
  if (value?.isLessThan("0")) {
    throw new RangeError(`an uncertainty and its multiple are not negative, got ${value.toText()}`);
  }
}
