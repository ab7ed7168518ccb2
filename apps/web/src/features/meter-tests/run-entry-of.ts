import type { PassEntry, RunEntry } from "@sealbook/metrology/accuracy/test-terms";
import { demandReadingOf, typedReadings } from "./demand-form.ts";
import { isRunBlank } from "./pass-form.ts";
import type { PassForm, RunForm } from "./test-form.ts";

/** A run as the arithmetic and the service take it, with blanks around the numbers dropped. */
export function runEntryOf(run: RunForm): RunEntry {
  switch (run.kind) {
    case "counts":
      return { kind: "counts", counts: run.counts.trim(), standardEnergy: run.standardEnergy.trim() };
    case "revolutions":
      return {
        kind: "revolutions",
        counts: run.counts.trim(),
        standardRevolutions: run.standardRevolutions.trim(),
        standardConstant: run.standardConstant.trim(),
      };
    case "registration":
      return { kind: "registration", registrationPercent: run.registrationPercent.trim() };
  }
}

/**
 * A pass as it is judged while it is typed: every run keeps its place, and one whose counts merely stand there from
 * the plan counts as not entered.
 */
export function passEntryOf(pass: PassForm): PassEntry {
  return {
    points: pass.points.map(({ pointKey, runs }) => ({
      pointKey,
      runs: runs.map((run) => runEntryOf(isRunBlank(run) ? { ...run, counts: "" } : run)),
    })),
    creep: pass.creep === "" ? "not-checked" : pass.creep,
    startingLoad: pass.startingLoad === "" ? undefined : pass.startingLoad,
    demand: typedReadings(pass.demand).map(demandReadingOf),
  };
}
