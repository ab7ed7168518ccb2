import { nextSeverity } from "../switching/next-severity.ts";
import { severityOfMerged } from "../switching/severity-of-merged.ts";
import { startSeries } from "../switching/start-series.ts";
import type { SwitchingEditionName } from "../switching/switching-editions.ts";
import type { SwitchingEvent, SwitchingState } from "../switching/switching-state.ts";
import type { SamplingScheme } from "./sampling-scheme.ts";

/** How the series of one characteristic stands after its events. */
export interface ReplayedSeries {
  state: SwitchingState;
  /** One for each event, in order. */
  steps: {
    severityBefore: SwitchingState["severity"];
    severityAfter: SwitchingState["severity"];
    reasons: string[];
  }[];
}

/**
 * Edition whose rules switch the lots of a scheme; null for a plan table, which has none of its own.
 *
 * @param plan the scheme's plan
 * @returns the edition
 */
export function switchingEditionOf(plan: SamplingScheme["plan"]): SwitchingEditionName | null {
  return plan.kind === "plan-table" ? null : plan.edition;
}

/** A lot of the series for which it goes on from others, as they stood when that lot began; at least one. */
export interface SeriesJoined {
  kind: "joined";
  parents: readonly SwitchingState[];
}

/**
 * Follows one characteristic of a series through its lots, through what people said of it, and through the others that it
 * goes on from.
 *
 * A scheme without switching, and one by a plan table, stays normal until a person directs another severity. A new series
 * that goes on from others begins where the strictest of them stood; one with lots of its own that takes others in goes on
 * from the strictest of them and of itself, so that no merge softens inspection.
 *
 * @param scheme the scheme in its present revision
 * @param aqlPercent AQL of the characteristic, null for a plan table
 * @param events lots, sayings and joinings, oldest first
 * @returns the state with the steps that led there
 * @throws RangeError if a joining has no parents
 * @source the edition's own text; on splits and merges common practice, no source
 */
export function replaySeries(
  scheme: Pick<SamplingScheme, "plan" | "switching" | "limitNumbersDropped">,
  aqlPercent: string | null,
  events: readonly (SwitchingEvent | SeriesJoined)[],
): ReplayedSeries {
  const edition = switchingEditionOf(scheme.plan);
  // A state needs an edition; where nothing switches by itself, none of its rules is asked.
  let state = startSeries(edition ?? "ANSI/ASQ Z1.4-2003");
  const steps = events.map((event, place) => {
    const severityBefore = state.severity;
    if (event.kind === "joined") {
      const isNew = place === 0;
      state = severityOfMerged(isNew ? event.parents : [state, ...event.parents]);
      return { severityBefore, severityAfter: state.severity, reasons: [joinedReason(event, isNew, state)] };
    }
    if (edition === null || !scheme.switching) {
      const reasons =
        event.kind === "directed"
          ? [`The responsible authority directs ${event.severity} inspection: ${event.reason}`]
          : ["The scheme does not switch by itself."];
      if (event.kind === "directed") state = { ...state, severity: event.severity, lots: [] };
      return { severityBefore, severityAfter: state.severity, reasons };
    }
    const settings = { aql: Number(aqlPercent), limitNumbersDropped: scheme.limitNumbersDropped };
    const next = nextSeverity(state, lenientIfPlannedSo(event, state), settings);
    state = next.state;
    return { severityBefore, severityAfter: state.severity, reasons: next.reasons };
  });
  return { state, steps };
}

function joinedReason(
  { parents: { length } }: SeriesJoined,
  isNew: boolean,
  { severity }: SwitchingState,
): string {
  const others = length === 1 ? "another" : `${length} others`;
  if (!isNew)
    return `The series takes in ${others}, and the strictest of all goes on: ${severity} inspection.`;
  const strictest = length === 1 ? "" : ", of which the strictest counts";
  return `The series goes on from ${others}${strictest}: ${severity} inspection.`;
}

/**
 * A lot may have been planned under reduced inspection before a lot ahead of it was decided and ended it: its count between
 * Ac and Re then only says that it was accepted.
 */
function lenientIfPlannedSo(event: SwitchingEvent, state: SwitchingState): SwitchingEvent {
  return event.kind === "lot" && event.outcome === "accepted-return-to-normal" && state.severity !== "reduced"
    ? { ...event, outcome: "accepted" }
    : event;
}
