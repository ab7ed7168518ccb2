import type { TestPlanBody } from "@sealbook/contract/test-plans";
import { toHex, utf8 } from "@sealbook/evidence/bytes";
import { type CanonicalValue, canonicalJson } from "@sealbook/evidence/canonical-json";
import { sha256 } from "@sealbook/evidence/sha256";
import { evaluatePass } from "@sealbook/metrology/accuracy/evaluate-pass";
import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { passInput } from "@sealbook/metrology/accuracy/pass-input";
import type { CertifiedPoint, Occasion, PassEntry } from "@sealbook/metrology/accuracy/test-terms";
import { judgingRulesFor } from "@sealbook/metrology/profiles/judging-rules-for";
import type { RuleProfile } from "@sealbook/metrology/profiles/profile-schema";
import type { RecordedTest } from "./recorded-test.ts";

/** What a test leaned on. */
export interface Grounds {
  readonly profile: RuleProfile;
  readonly plan: TestPlanBody;
  /** Certified points of the calibration; null where no test was made. */
  readonly points: readonly CertifiedPoint[] | null;
  /** Phases of the meter's type, which the average may hang on. */
  readonly phases: number;
}

/** Whether the averages of a test were outside their limits; null where a pass was not made. */
export interface JudgedAgain {
  readonly averageFails: { readonly asFound: boolean | null; readonly asLeft: boolean | null };
}

/**
 * Judges a recorded test again from what was typed. Which of the rule's averages the utility had chosen is no part of an
 * entry, so each that fits is tried.
 *
 * @returns what came out where it is the evaluation on record, to the last character, and where the verdicts, averages
 *   and points that the entry tells are those of the evaluation; else null
 * @throws RangeError if plan, profile or certificate carry a broken number
 */
export function judgeAgain(
  test: RecordedTest,
  { profile, plan, points, phases }: Grounds,
): JudgedAgain | null {
  const { nameplate, occasion, outcome } = test.entered;
  if (
    outcome.kind !== "tested" ||
    occasion === null ||
    points === null ||
    test.errorAppliedByBench === null
  ) {
    const isAlike = hashOf({ format: 1, asFound: null, asLeft: null }) === test.evaluationSha256;
    return isAlike && tells(test, null, null) ? { averageFails: { asFound: null, asLeft: null } } : null;
  }
  const standard = { certifiedPoints: [...points], errorAppliedByBench: test.errorAppliedByBench };
  const asLeftEntry = entryAsLeft(outcome);
  const kind = phases === 1 ? "single-phase" : "polyphase";
  const averages = profile.averages.filter(({ phases: of }) => of === "any" || of === kind);
  for (const average of averages.length === 0 ? [undefined] : averages.map(({ key }) => key)) {
    const rules = judgingRulesFor(profile, { accuracyClass: nameplate.accuracyClass, phases }, average);
    const evaluate = (entry: PassEntry, on: Occasion) =>
      evaluatePass(
        passInput({ nameplate, points: plan.points, asks: plan, rules, standard, occasion: on, entry }),
      );
    const asFound = evaluate(outcome.asFound, occasion);
    const asLeft = asLeftEntry === null ? null : evaluate(asLeftEntry, "as-left");
    if (hashOf({ format: 1, asFound, asLeft }) !== test.evaluationSha256) continue;
    if (!tells(test, asFound, asLeft)) return null;
    const fails = (pass: PassEvaluation | null) => (pass === null ? null : pass.average?.verdict === "fail");
    return { averageFails: { asFound: fails(asFound), asLeft: fails(asLeft) } };
  }
  return null;
}

/** Whether an entry tells of a test what its evaluation says. */
function tells(test: RecordedTest, asFound: PassEvaluation | null, asLeft: PassEvaluation | null): boolean {
  const untested = test.entered.outcome.kind === "withdrawn" ? "withdrawn" : "no-test-possible";
  const points = (name: string, pass: PassEvaluation | null) =>
    (pass?.points ?? []).flatMap(({ pointKey, state, meanPercent, verdict }) =>
      state === "complete" && meanPercent !== null ? [[name, pointKey, meanPercent, verdict]] : [],
    );
  return (
    test.verdictAsFound === (asFound?.verdict ?? untested) &&
    test.verdictAsLeft === (asLeft?.verdict ?? null) &&
    test.averageAsFound === (asFound?.average?.registrationPercent ?? null) &&
    test.averageAsLeft === (asLeft?.average?.registrationPercent ?? null) &&
    JSON.stringify([...points("as-found", asFound), ...points("as-left", asLeft)]) ===
      JSON.stringify(
        test.points.map(({ pass, pointKey, registrationPercent, verdict }) => [
          pass,
          pointKey,
          registrationPercent,
          verdict,
        ]),
      )
  );
}

type Tested = Extract<RecordedTest["entered"]["outcome"], { kind: "tested" }>;

function entryAsLeft({ asFound, asLeft }: Tested): PassEntry | null {
  switch (asLeft.kind) {
    case "same":
      return asFound;
    case "entered":
      return asLeft.pass;
    case "not-tested":
      return null;
  }
}

function hashOf(evaluation: object): string {
  return toHex(sha256(utf8(canonicalJson(evaluation as unknown as CanonicalValue))));
}
