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

/**
 * Follows one characteristic of a series through its lots and through what people said of it.
 *
 * A scheme without switching, and one by a plan table, stays normal until a person directs another severity. A new series
 * that goes on from others begins where the strictest of them stood.
 *
 * @param scheme the scheme in its present revision
 * @param aqlPercent AQL of the characteristic, null for a plan table
 * @param parents states of the series that this one goes on from; none for a new one
 * @param events lots and sayings, oldest first
 * @returns the state with the steps that led there
 * @source the edition's own text; on splits and merges common practice, no source
 */
export function replaySeries(
  scheme: Pick<SamplingScheme, "plan" | "switching" | "limitNumbersDropped">,
  aqlPercent: string | null,
  parents: readonly SwitchingState[],
  events: readonly SwitchingEvent[],
): ReplayedSeries {
  const edition = switchingEditionOf(scheme.plan);
  // A state needs an edition; where nothing switches by itself, none of its rules is asked.
  let state = parents.length > 0 ? severityOfMerged(parents) : startSeries(edition ?? "ANSI/ASQ Z1.4-2003");
  const steps = events.map((event) => {
    const severityBefore = state.severity;
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

/**
 * A lot may have been planned under reduced inspection before a lot ahead of it was decided and ended it: its count between
 * Ac and Re then only says that it was accepted.
 */
function lenientIfPlannedSo(event: SwitchingEvent, state: SwitchingState): SwitchingEvent {
  return event.kind === "lot" && event.outcome === "accepted-return-to-normal" && state.severity !== "reduced"
    ? { ...event, outcome: "accepted" }
    : event;
}
