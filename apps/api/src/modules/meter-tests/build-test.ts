import { createHash } from "node:crypto";
import type { MeterType } from "@sealbook/contract/meter-types";
import type { ProblemError as ErrorDetail } from "@sealbook/contract/problems";
import { type CanonicalValue, canonicalJson } from "@sealbook/evidence/canonical-json";
import { evaluatePass } from "@sealbook/metrology/accuracy/evaluate-pass";
import { occasionOf } from "@sealbook/metrology/accuracy/occasion-of";
import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { passInput } from "@sealbook/metrology/accuracy/pass-input";
import type { Occasion, PassEntry, PassName } from "@sealbook/metrology/accuracy/test-terms";
import { unusualCircumstances } from "@sealbook/metrology/accuracy/unusual-circumstances";
import { unusualRuns } from "@sealbook/metrology/accuracy/unusual-runs";
import { engineVersion } from "@sealbook/metrology/engine-version";
import { localDate } from "../../platform/local-date.ts";
import { ProblemError } from "../../platform/problem-error.ts";
import type { StandardOnDate } from "../standards/standards.ts";
import { checkTest } from "./check-test.ts";
import type { EntryBody } from "./entry-body.ts";
import { placeKey, rulesFor, standardKey } from "./gather.ts";
import type {
  BuildResult,
  BuiltPoint,
  BuiltTest,
  Gathered,
  PlaceOfTest,
  TestInput,
  TestOrigin,
} from "./recording-terms.ts";
import { placeOf, refusalsOf } from "./refusals-of.ts";

/**
 * Judges a test and makes its rows and its ledger entry, or says why it cannot be taken. Pure: everything that it
 * leans on was gathered before, so that one test and five hundred of a bench's file are built alike.
 *
 * A pass in which points or runs of the plan are missing is taken, with the verdict "incomplete"; a value that cannot
 * be read, a point that the plan does not have, or one that the profile refuses is never taken.
 *
 * @param gathered  what gatherForTests read for this test
 * @param input     as entered
 * @param origin    who performed it, and where it comes from
 * @param now       the moment of recording; a test is not performed later than that
 */
export function buildTest(gathered: Gathered, input: TestInput, origin: TestOrigin, now: Date): BuildResult {
  const meter = gathered.meters.get(input.meterId);
  if (meter === undefined) {
    return refused("not-found", "There is no such meter.", [
      { pointer: "/meterId", detail: "This is not on record." },
    ]);
  }
  const plan = gathered.plans.get(input.planId);
  if (plan === undefined) {
    return refused("refused-by-rule", "There is no such test plan.", [
      { pointer: "/planId", detail: "This is not on record." },
    ]);
  }
  const { placeId, jurisdiction } = standingOf(gathered, input);
  const performedOn = localDate(new Date(input.performedAt), gathered.timeZone);
  const judgedBy = rulesFor(gathered, jurisdiction, meter.type, performedOn);
  if (judgedBy === null) {
    return refused("refused-by-rule", `No rule profile of ${jurisdiction} was in force on ${performedOn}.`, [
      {
        pointer: "/meterId",
        detail: `The meter was tested where ${jurisdiction} holds, which had no approved rule profile that day.`,
      },
    ]);
  }
  const standard =
    input.standardId === null
      ? null
      : (gathered.standards.get(standardKey(input.standardId, performedOn)) ?? null);
  const check = checkTest({ input, origin, meter, plan, standard, performedOn, now });
  if (check !== null) return check;

  const { profile, rules } = judgedBy;
  const { outcome } = input;
  const occasion = outcome.kind === "tested" ? occasionOf(input.reasons) : null;
  const evaluate = (entry: PassEntry, on: Occasion) =>
    evaluatePass(
      passInput({
        nameplate: meter.type,
        points: plan.body.points,
        asks: plan.body,
        rules,
        standard: standardInUse(standard, input.errorAppliedByBench),
        occasion: on,
        entry,
      }),
    );
  const asFoundEntry = outcome.kind === "tested" ? outcome.asFound : null;
  const asLeftEntry = asLeftOf(outcome);
  const asFound = asFoundEntry === null || occasion === null ? null : evaluate(asFoundEntry, occasion);
  const asLeft = asLeftEntry === null ? null : evaluate(asLeftEntry.entry, "as-left");
  const errors = [
    ...(asFound === null || asFoundEntry === null
      ? []
      : refusalsOf(asFound, asFoundEntry, "/outcome/asFound", profile.document)),
    ...(asLeft === null || asLeftEntry === null || asLeftEntry.pointer === null
      ? []
      : refusalsOf(asLeft, asLeftEntry.entry, asLeftEntry.pointer, profile.document)),
  ];
  if (errors.length > 0) {
    return refused("refused-by-rule", errors[0]?.detail ?? "Something entered cannot be taken.", errors);
  }

  const unusual = [
    ...(asFound === null || asFoundEntry === null
      ? []
      : unusualIn(asFoundEntry, asFound, "/outcome/asFound")),
    ...(asLeft === null || asLeftEntry === null || asLeftEntry.pointer === null
      ? []
      : unusualIn(asLeftEntry.entry, asLeft, asLeftEntry.pointer)),
    ...unusualBesides(input, meter.type),
  ];
  // A bench's file has a check of its own for slips of sign, unit and column, before it comes here.
  const isQuestion = unusual.length > 0 && origin.imported === null && outcome.kind !== "withdrawn";
  if (isQuestion && input.confirmedUnusual !== true) {
    return refused(
      "refused-by-rule",
      "Some figures are seldom true: type them again, or confirm that they are right.",
      unusual,
    );
  }

  const body: EntryBody = {
    format: 1,
    nameplate: {
      utilityNumber: meter.utilityNumber,
      serial: meter.serial,
      maker: meter.type.maker,
      model: meter.type.model,
      form: meter.type.form,
      kh: meter.type.kh,
      kt: meter.type.kt,
      accuracyClass: meter.type.accuracyClass,
      testAmperes: meter.type.testAmperes,
      designVolts: meter.type.designVolts,
      circuitFactors: meter.type.circuitFactors,
    },
    standard:
      standard === null
        ? null
        : {
            designation: standard.designation,
            maker: standard.maker,
            model: standard.model,
            serial: standard.serial,
            rank: standard.rank,
          },
    occasion,
    outcome,
    conditions: input.conditions,
    preconditionsConfirmed: input.preconditionsConfirmed,
    readingBefore: input.readingBefore,
    readingAfter: input.readingAfter,
    sealsRemoved: input.sealsRemoved,
    sealsApplied: input.sealsApplied,
    remarks: input.remarks,
    workItemIds: input.workItemIds,
    fileIds: input.fileIds,
    ...(isQuestion ? { confirmedUnusual: true } : {}),
  };
  const evaluation = canonicalJson(asData({ format: 1, asFound, asLeft }));
  const roleOf = new Map(plan.body.points.map((point) => [point.key, point.role]));
  const points = [...pointsOf("as-found", asFound, roleOf), ...pointsOf("as-left", asLeft, roleOf)];
  const row = {
    id: input.id,
    meterId: meter.id,
    planId: plan.id,
    profileId: profile.id,
    placeId,
    reasons: input.reasons,
    performedAt: new Date(input.performedAt),
    testerId: origin.testerId,
    imported: origin.imported,
    standardId: input.standardId,
    calibrationId: standard?.calibration?.id ?? null,
    errorAppliedByBench: input.errorAppliedByBench,
    outcome: outcome.kind,
    untestableReason: outcome.kind === "no-test-possible" ? outcome.reason : null,
    entryBody: canonicalJson(asData(body)),
    evaluation,
    engineVersion,
    verdictAsFound: asFound?.verdict ?? (outcome.kind === "withdrawn" ? "withdrawn" : "no-test-possible"),
    verdictAsLeft: asLeft?.verdict ?? null,
    averageAsFound: asFound?.average?.registrationPercent ?? null,
    averageAsLeft: asLeft?.average?.registrationPercent ?? null,
    creeping: creeping(asFoundEntry),
    supersedes: origin.supersedes,
    points,
    fileIds: input.fileIds,
  } satisfies Omit<BuiltTest, "entry">;
  return {
    kind: "built",
    test: {
      ...row,
      entry: {
        action: origin.supersedes === null ? "meterTest.record" : "meterTest.amend",
        subjectType: "meterTest",
        subjectId: input.id,
        reason: origin.supersedes?.reason ?? null,
        payload: {
          meterId: row.meterId,
          planId: plan.id,
          planCode: plan.code,
          planRevision: plan.revision,
          profileId: profile.id,
          profileKey: profile.document.key,
          profileVersion: profile.document.version,
          placeId: row.placeId,
          testerId: row.testerId,
          importId: origin.imported?.importId,
          importRow: origin.imported?.row,
          supersedesId: origin.supersedes?.id,
          performedAt: row.performedAt.toISOString(),
          reasons: row.reasons,
          standardId: row.standardId,
          calibrationId: row.calibrationId,
          errorAppliedByBench: row.errorAppliedByBench,
          entered: asData(body),
          verdictAsFound: row.verdictAsFound,
          verdictAsLeft: row.verdictAsLeft,
          averageAsFound: row.averageAsFound,
          averageAsLeft: row.averageAsLeft,
          points: points.map(({ pass, pointKey, registrationPercent, verdict }) => ({
            pass,
            pointKey,
            registrationPercent,
            verdict,
          })),
          engineVersion,
          evaluationSha256: createHash("sha256").update(evaluation).digest("hex"),
        },
      },
    },
  };
}

/** The built test, or the refusal as the problem that a request answers. */
export function builtOrThrow(result: BuildResult): BuiltTest {
  if (result.kind === "built") return result.test;
  throw new ProblemError(result.slug, result.detail, { errors: result.errors });
}

function standingOf(gathered: Gathered, { meterId, performedAt }: TestInput): PlaceOfTest {
  const place = gathered.places.get(placeKey(meterId, new Date(performedAt)));
  if (place === undefined) throw new Error(`the place of meter ${meterId} was not gathered`);
  return place;
}

function refused(
  slug: (BuildResult & { kind: "refused" })["slug"],
  detail: string,
  errors: ErrorDetail[],
): BuildResult {
  return { kind: "refused", slug, detail, errors };
}

function unusualIn(entry: PassEntry, evaluation: PassEvaluation, pointer: string): ErrorDetail[] {
  return unusualRuns(entry, evaluation).map((run) => ({
    pointer: placeOf(run, entry, pointer),
    detail: run.reason,
  }));
}

function unusualBesides(input: TestInput, type: MeterType): ErrorDetail[] {
  const { readingBefore, readingAfter, conditions } = input;
  const { temperatureCelsius } = conditions;
  return unusualCircumstances({ readingBefore, readingAfter, temperatureCelsius }, type).map(
    ({ field, reason }) => ({
      pointer: field === "temperatureCelsius" ? `/conditions/${field}` : `/${field}`,
      detail: reason,
    }),
  );
}

/** Plain data of string, integer, list and object, which canonical JSON can write. */
function asData(value: object): CanonicalValue {
  return value as unknown as CanonicalValue;
}

function standardInUse(standard: StandardOnDate | null, errorAppliedByBench: boolean | null) {
  if (standard?.calibration === undefined || standard.calibration === null || errorAppliedByBench === null) {
    return null;
  }
  return { certifiedPoints: standard.calibration.points, errorAppliedByBench };
}

/** The as-left entry; without a place of its own in the request when it is the as-found entry again. */
function asLeftOf(outcome: TestInput["outcome"]): { entry: PassEntry; pointer: string | null } | null {
  if (outcome.kind !== "tested") return null;
  switch (outcome.asLeft.kind) {
    case "same":
      return { entry: outcome.asFound, pointer: null };
    case "entered":
      return { entry: outcome.asLeft.pass, pointer: "/outcome/asLeft/pass" };
    case "not-tested":
      return null;
  }
}

function creeping(asFound: PassEntry | null): boolean | null {
  return asFound === null || asFound.creep === "not-checked" ? null : asFound.creep === "creeps";
}

/** Points in full only: the mean of fewer runs than the plan asks for is provisional. */
function pointsOf(
  pass: PassName,
  evaluation: PassEvaluation | null,
  roleOf: ReadonlyMap<string, BuiltPoint["role"]>,
): BuiltPoint[] {
  return (evaluation?.points ?? []).flatMap((point, index) =>
    point.state === "complete" && point.meanPercent !== null
      ? [
          {
            pass,
            ordinal: index + 1,
            pointKey: point.pointKey,
            role: roleOf.get(point.pointKey) ?? "none",
            registrationPercent: point.meanPercent,
            verdict: point.verdict,
          },
        ]
      : [],
  );
}
