import { type AnsweredByTest, askedOfTest } from "@sealbook/contract/asked-of-test";
import type { Amendment, NewMeterTest } from "@sealbook/contract/meter-tests";
import type { TestPlanBody } from "@sealbook/contract/test-plans";
import type { TestReason } from "@sealbook/contract/work-items";
import { readNotNegative } from "@sealbook/metrology/accuracy/read-not-negative";
import { readPositive } from "@sealbook/metrology/accuracy/read-positive";
import { instantFromLocal, readLocal } from "../../trade/read-local.ts";
import { demandFieldsOf, demandReadingOf, typedReadings } from "./demand-form.ts";
import {
  creepPointer,
  demandPointer,
  type PlacesSent,
  runPointer,
  startingLoadPointer,
} from "./form-pointer.ts";
import { fieldsOfKind, isRunBlank } from "./pass-form.ts";
import { runEntryOf } from "./run-entry-of.ts";
import type { FormPass, PassForm, TestForm } from "./test-form.ts";

/** What the form is for, beside what is typed in it. */
export interface BodyContext {
  meterId: string;
  planId: string;
  reasons: readonly TestReason[];
  timeZone: string;
  plan: Pick<TestPlanBody, "preconditions" | "conditions" | "creep" | "startingLoad" | "demand">;
  /** The test on record that is amended; left out for a new one. */
  amended?: AnsweredByTest;
}

/** A choice that the person has not made yet, at its field. */
interface OpenChoice {
  pointer: string;
  detail: string;
}

export interface TestBody {
  /** Fields of the contract's body, but for signature and the reason of an amendment. */
  body: Omit<NewMeterTest, "outcome" | "signature"> & { outcome: Amendment["outcome"] };
  places: PlacesSent;
  /** Nothing is sent while one of these is open. */
  open: OpenChoice[];
}

/**
 * The body that records what the form holds. Blank runs and points without a run are left out, which makes the test
 * incomplete; what cannot be read stays as typed, so that the contract's check names it at its field.
 */
export function testBody(form: TestForm, context: BodyContext): TestBody {
  const open: OpenChoice[] = [];
  const ask = (pointer: string, detail: string) => {
    open.push({ pointer, detail });
  };
  const isTested = form.outcome === "tested";
  const asked = askedOfTest(context.plan, context.amended ?? null);
  const performedAt = performedInstant(form, context.timeZone);
  const typed = readLocal(form.performedAt, context.timeZone);
  if (performedAt === null && typed.kind === "none") ask("/performedAt", typed.detail);
  if (context.reasons.length === 0) ask("/reasons", "Choose at least one reason: the limits depend on it.");
  if (isTested) {
    if (form.standardId === "") ask("/standardId", "Choose the standard that was used.");
    if (form.errorAppliedByBench === "") {
      ask("/errorAppliedByBench", "Say whether the bench has applied the standard's error already.");
    }
    const unconfirmed = asked.preconditions.filter((text) => !form.preconditionsConfirmed.includes(text));
    if (unconfirmed.length > 0)
      ask("/preconditionsConfirmed", "Confirm each of these before the test is saved.");
    open.push(...malformedRuns(form, "asFound"));
    if (form.asLeft === "entered") open.push(...malformedRuns(form, "asLeftPass"));
    for (const condition of asked.conditions) {
      const field = conditionFields[condition];
      if (form[field].trim() === "") ask(`/conditions/${field}`, "The plan asks for this condition.");
    }
    if (form.asFound.points.every(({ runs }) => runs.every(isRunBlank))) {
      ask("/outcome/asFound", "Enter at least one point, or choose “No test possible”.");
    }
    open.push(...openAnswers(form, "asFound", context.plan));
    if (form.asLeft === "entered") open.push(...openAnswers(form, "asLeftPass", context.plan));
    if (form.asFound.creep === "") ask(creepPointer("asFound"), "Say whether the meter creeps.");
    if (form.asLeft === "") ask("/outcome/asLeft", "Say how the meter was left.");
    if (form.asLeft === "entered" && form.adjustment.trim() === "") {
      ask("/outcome/asLeft/adjustment", "Say what was cleaned, adjusted or repaired.");
    }
    if (form.asLeft === "not-tested" && form.whyNotTested.trim() === "") {
      ask("/outcome/asLeft/why", "Say why the meter was not tested as left.");
    }
    if (form.asLeft === "entered" && form.asLeftPass.creep === "") {
      ask(creepPointer("asLeftPass"), "Say whether the meter creeps as left.");
    }
  }
  if (form.outcome === "no-test-possible" && form.untestableReason === "") {
    ask("/outcome/reason", "Choose why no test was possible.");
  }
  const found = sentPass(form.asFound, context.plan);
  const left = sentPass(form.asLeftPass, context.plan);
  return {
    body: {
      id: form.id,
      meterId: context.meterId,
      planId: context.planId,
      reasons: [...context.reasons],
      workItemIds: form.workItemIds,
      performedAt: performedAt ?? "",
      // Without a test no standard was leaned on.
      standardId: isTested ? textOrNull(form.standardId) : null,
      errorAppliedByBench:
        !isTested || form.errorAppliedByBench === "" ? null : form.errorAppliedByBench === "yes",
      conditions: {
        volts: textOrNull(form.volts),
        amperes: textOrNull(form.amperes),
        temperatureCelsius: textOrNull(form.temperatureCelsius),
      },
      preconditionsConfirmed: isTested
        ? context.plan.preconditions.filter((text) => form.preconditionsConfirmed.includes(text))
        : [],
      readingBefore: textOrNull(form.readingBefore),
      readingAfter: textOrNull(form.readingAfter),
      sealsRemoved: form.sealsRemoved,
      sealsApplied: form.sealsApplied,
      remarks: form.remarks.trim(),
      fileIds: form.files.map(({ id }) => id),
      outcome: outcomeOf(form, found.pass, left.pass),
    },
    places: { asFound: found.places, asLeftPass: left.places },
    open,
  };
}

/** The form's field of each condition that a plan may ask for. */
export const conditionFields = {
  volts: "volts",
  amperes: "amperes",
  temperature: "temperatureCelsius",
} as const satisfies Record<TestPlanBody["conditions"][number], keyof TestForm>;

/** The moment of the test; null where the text is no time. */
export function performedInstant(
  form: Pick<TestForm, "performedAt" | "openedAt">,
  timeZone: string,
): string | null {
  const text = form.performedAt.trim();
  return text === form.openedAt.text ? form.openedAt.instant : instantFromLocal(text, timeZone);
}

/** Runs that were begun, with what is missing or cannot be read, in the words that stand at the field already. */
function malformedRuns(form: TestForm, pass: FormPass): OpenChoice[] {
  return form[pass].points.flatMap(({ pointKey, runs }) =>
    runs.flatMap((run, index) => {
      if (isRunBlank(run)) return [];
      return fieldsOfKind[run.kind].flatMap((field) => {
        // A meter that stands still has no counts and registers 0 %.
        const mayBeZero = field === "counts" || field === "registrationPercent";
        const read = (mayBeZero ? readNotNegative : readPositive)(run[field]);
        if (read.kind === "number") return [];
        const detail = read.kind === "blank" ? "This is needed." : read.reason;
        return [{ pointer: runPointer(pass, pointKey, index, field), detail }];
      });
    }),
  );
}

type SentPass = Extract<NewMeterTest["outcome"], { kind: "tested" }>["asFound"];

function outcomeOf(form: TestForm, asFound: SentPass, asLeftPass: SentPass): Amendment["outcome"] {
  if (form.outcome === "withdrawn") return { kind: "withdrawn" };
  if (form.outcome === "no-test-possible") {
    // While nothing is chosen the body is not sent: the choice is open.
    const reason = form.untestableReason as Exclude<TestForm["untestableReason"], "">;
    return { kind: "no-test-possible", reason, note: form.untestableNote.trim() };
  }
  switch (form.asLeft) {
    case "entered":
      return {
        kind: "tested",
        asFound,
        asLeft: { kind: "entered", pass: asLeftPass, adjustment: form.adjustment.trim() },
      };
    case "not-tested":
      return { kind: "tested", asFound, asLeft: { kind: "not-tested", why: form.whyNotTested.trim() } };
    default:
      return { kind: "tested", asFound, asLeft: { kind: "same" } };
  }
}

/** An unanswered starting load and demand readings that were begun, where the plan asks for them. */
function openAnswers(form: TestForm, pass: FormPass, plan: BodyContext["plan"]): OpenChoice[] {
  const { startingLoad, demand } = form[pass];
  const isUnanswered = plan.startingLoad === "asked" && startingLoad === "";
  const basis = plan.demand?.basis;
  return [
    ...(isUnanswered
      ? [{ pointer: startingLoadPointer(pass), detail: "Say whether the meter starts at its starting load." }]
      : []),
    ...(basis === undefined
      ? []
      : typedReadings(demand).flatMap((reading, index) =>
          demandFieldsOf(basis).flatMap((field) => {
            const read = (field === "indicatedKw" ? readNotNegative : readPositive)(reading[field]);
            if (read.kind === "number") return [];
            const detail = read.kind === "blank" ? "This is needed." : read.reason;
            return [{ pointer: demandPointer(pass, index, field), detail }];
          }),
        )),
  ];
}

function sentPass(
  pass: PassForm,
  plan: BodyContext["plan"],
): { pass: SentPass; places: PlacesSent[FormPass] } {
  const demand = plan.demand === null ? [] : typedReadings(pass.demand).map(demandReadingOf);
  const points = pass.points
    .map(({ pointKey, runs }) => ({
      pointKey,
      runs: runs.flatMap((run, index) => (isRunBlank(run) ? [] : [{ index, run }])),
    }))
    .filter(({ runs }) => runs.length > 0);
  return {
    pass: {
      points: points.map(({ pointKey, runs }) => ({
        pointKey,
        runs: runs.map(({ run }) => runEntryOf(run)),
      })),
      creep: pass.creep === "" ? "not-checked" : pass.creep,
      ...(plan.startingLoad === "not-asked" || pass.startingLoad === ""
        ? {}
        : { startingLoad: pass.startingLoad }),
      ...(demand.length === 0 ? {} : { demand }),
    },
    places: points.map(({ pointKey, runs }) => ({ pointKey, runIndexes: runs.map(({ index }) => index) })),
  };
}

function textOrNull(text: string): string | null {
  const trimmed = text.trim();
  return trimmed === "" ? null : trimmed;
}
