import { askedOfTest } from "@sealbook/contract/asked-of-test";
import type { MeterTest } from "@sealbook/contract/meter-tests";
import { formatInstant } from "../../ui/local-time.ts";
import { blankRun, passForm } from "./pass-form.ts";
import type { PassForm, RunForm, TestForm } from "./test-form.ts";

type EnteredPass = Extract<MeterTest["outcome"], { kind: "tested" }>["asFound"];

/** What of a recorded test stands in its form. */
type RecordedEntry = Pick<
  MeterTest,
  | "plan"
  | "outcome"
  | "reasons"
  | "workItemIds"
  | "performedAt"
  | "errorAppliedByBench"
  | "preconditionsConfirmed"
  | "conditions"
  | "readingBefore"
  | "readingAfter"
  | "sealsRemoved"
  | "sealsApplied"
  | "remarks"
> & { standardInUse: { id: string } | null; files: readonly { id: string; name: string }[] };

/**
 * The form that amends a test: everything stands as it was recorded, down to each run's own kind of entry.
 *
 * @param id  id of the record to be
 */
export function formFromTest(test: RecordedEntry, id: string, timeZone: string): TestForm {
  const { body } = test.plan;
  // What the test did not answer is not asked of its amendment.
  const creep = askedOfTest(body, test).creep === "asked" ? "" : "not-checked";
  const blank = passForm(body.points, "counts", creep);
  const tested = test.outcome.kind === "tested" ? test.outcome : null;
  const untestable = test.outcome.kind === "no-test-possible" ? test.outcome : null;
  const left = tested?.asLeft ?? null;
  const passOf = (entered: EnteredPass | undefined) =>
    entered === undefined
      ? blank
      : passForm(body.points, kindOf(entered), creep, enteredPass(entered, body.startingLoad === "asked"));
  const text = formatInstant(test.performedAt, timeZone);
  return {
    id,
    reasons: test.reasons,
    workItemIds: test.workItemIds,
    performedAt: text,
    openedAt: { text, instant: test.performedAt },
    standardId: test.standardInUse?.id ?? "",
    errorAppliedByBench: test.errorAppliedByBench === null ? "" : test.errorAppliedByBench ? "yes" : "no",
    preconditionsConfirmed: test.preconditionsConfirmed,
    outcome: test.outcome.kind,
    asFound: passOf(tested?.asFound),
    asLeft: left?.kind ?? "",
    asLeftPass: passOf(left?.kind === "entered" ? left.pass : undefined),
    adjustment: left?.kind === "entered" ? left.adjustment : "",
    whyNotTested: left?.kind === "not-tested" ? left.why : "",
    untestableReason: untestable?.reason ?? "",
    untestableNote: untestable?.note ?? "",
    volts: test.conditions.volts ?? "",
    amperes: test.conditions.amperes ?? "",
    temperatureCelsius: test.conditions.temperatureCelsius ?? "",
    readingBefore: test.readingBefore ?? "",
    readingAfter: test.readingAfter ?? "",
    sealsRemoved: test.sealsRemoved,
    sealsApplied: test.sealsApplied,
    remarks: test.remarks,
    files: test.files.map((file) => ({ id: file.id, name: file.name })),
  };
}

function kindOf(entered: EnteredPass): RunForm["kind"] {
  return entered.points[0]?.runs[0]?.kind ?? "counts";
}

function enteredPass(entered: EnteredPass, asksStartingLoad: boolean): PassForm {
  return {
    points: entered.points.map(({ pointKey, runs }) => ({
      pointKey,
      runs: runs.map((run) => ({ ...blankRun(run.kind, ""), ...run })),
    })),
    creep: entered.creep,
    startingLoad: entered.startingLoad ?? (asksStartingLoad ? "not-checked" : ""),
    demand: (entered.demand ?? []).map(({ indicatedKw, referenceKw, fullScaleKw, loadPercent }) => ({
      indicatedKw,
      referenceKw,
      fullScaleKw: fullScaleKw ?? "",
      loadPercent: loadPercent ?? "",
    })),
  };
}
