import type { PlanPoint } from "@sealbook/metrology/accuracy/test-terms";
import type { EntryKind, PassForm, RunField, RunForm } from "./test-form.ts";

type PointOfPlan = Pick<PlanPoint, "key" | "runs" | "counts">;

/** A run before anything is measured: the counts stand there as the plan has them. */
export function blankRun(kind: EntryKind, counts: string): RunForm {
  return {
    kind,
    counts,
    standardEnergy: "",
    standardRevolutions: "",
    standardConstant: "",
    registrationPercent: "",
  };
}

/**
 * A pass with a place for every run of the plan. What was entered before stays at its point; points that the plan no
 * longer has are dropped.
 *
 * @param points  the plan's points
 * @param kind    how the runs are entered
 * @param before  a pass entered earlier, from a draft or a test that is amended
 */
export function passForm(
  points: readonly PointOfPlan[],
  kind: EntryKind,
  creep: PassForm["creep"],
  before?: PassForm,
): PassForm {
  return {
    points: points.map((point) => {
      const entered = before?.points.find(({ pointKey }) => pointKey === point.key)?.runs ?? [];
      const missing = Math.max(0, point.runs - entered.length);
      return {
        pointKey: point.key,
        runs: [...entered, ...Array.from({ length: missing }, () => blankRun(kind, point.counts))],
      };
    }),
    creep: before?.creep ?? creep,
    startingLoad: before?.startingLoad ?? "",
    demand: before?.demand ?? [],
  };
}

/**
 * A pass with one field changed. The standard's constant of a point's first run goes to its other runs, too, as long
 * as they still agree with it: one tap serves all runs of a point.
 */
export function withRunField(
  pass: PassForm,
  pointKey: string,
  runIndex: number,
  field: RunField,
  text: string,
): PassForm {
  return {
    ...pass,
    points: pass.points.map((point) => {
      if (point.pointKey !== pointKey) return point;
      const before = point.runs[runIndex]?.standardConstant;
      const follows = (run: RunForm, index: number) =>
        field === "standardConstant" && runIndex === 0 && index > 0 && run.standardConstant === before;
      return {
        ...point,
        runs: point.runs.map((run, index) =>
          index === runIndex || follows(run, index) ? { ...run, [field]: text } : run,
        ),
      };
    }),
  };
}

/** A pass whose runs are all entered in another way; what was typed in the other fields stays. */
export function withEntryKind(pass: PassForm, kind: EntryKind): PassForm {
  return {
    ...pass,
    points: pass.points.map((point) => ({ ...point, runs: point.runs.map((run) => ({ ...run, kind })) })),
  };
}

/** The fields that a run of this kind asks for, in the order of the row. */
export const fieldsOfKind: Record<EntryKind, readonly RunField[]> = {
  counts: ["counts", "standardEnergy"],
  revolutions: ["counts", "standardRevolutions", "standardConstant"],
  registration: ["registrationPercent"],
};

/** Whether nothing was measured in this run yet; counts alone come from the plan and say nothing. */
export function isRunBlank(run: RunForm): boolean {
  return fieldsOfKind[run.kind].every((field) => field === "counts" || run[field].trim() === "");
}
