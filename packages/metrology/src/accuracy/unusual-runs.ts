import { Fraction } from "../fraction.ts";
import { isPlausibleRegistration, plausibleRegistration } from "./is-plausible-registration.ts";
import type { PassEvaluation } from "./pass-evaluation.ts";
import type { PassEntry, RunEntry } from "./test-terms.ts";

/** A run that is more often a slip than true: it is typed again, or confirmed. */
export interface UnusualRun {
  pointKey: string;
  runIndex: number;
  /** The field in which the slip is most likely. */
  field: string;
  reason: string;
}

/** The field of a run in which a slip is most likely typed. */
const fieldOfKind: Record<RunEntry["kind"], string> = {
  registration: "registrationPercent",
  counts: "standardEnergy",
  revolutions: "standardRevolutions",
};

/**
 * Runs of a pass whose registration lies outside 50 to 150 percent.
 *
 * @param entry       the pass as entered
 * @param evaluation  what evaluatePass made of it
 * @returns one for each such run, with a sentence; empty where nothing is unusual
 * @source common practice, no source
 */
export function unusualRuns(
  entry: Pick<PassEntry, "points">,
  evaluation: Pick<PassEvaluation, "points">,
): UnusualRun[] {
  return evaluation.points.flatMap(({ pointKey, label, runs }) =>
    runs.flatMap((run, runIndex): UnusualRun[] => {
      if (run.state !== "evaluated" || isPlausibleRegistration(run.uncorrectedPercent)) return [];
      const kind = entry.points.find((point) => point.pointKey === pointKey)?.runs[runIndex]?.kind;
      const percent = Fraction.of(run.uncorrectedPercent).toDecimal().toDecimalPlaces(3).toFixed();
      const { leastPercent, mostPercent } = plausibleRegistration;
      return [
        {
          pointKey,
          runIndex,
          field: fieldOfKind[kind ?? "registration"],
          reason: `${label} registers ${percent} %; meters are seldom outside ${leastPercent} % to ${mostPercent} %.`,
        },
      ];
    }),
  );
}
