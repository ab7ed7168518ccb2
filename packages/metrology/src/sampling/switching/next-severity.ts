import { requireWhole } from "../require-whole.ts";
import { limitNumberOfLots } from "./limit-number-of-lots.ts";
import { type SwitchingEdition, switchingEditions } from "./switching-editions.ts";
import type { CountedLot, SwitchingEvent, SwitchingState, SwitchingStep } from "./switching-state.ts";

/** What the rules need beside the lots. */
export interface SwitchingSettings {
  /** AQL of the series, for the limit numbers. */
  aql: number;
  /** Both parties agreed to drop the limit numbers; only where the edition lets them. */
  limitNumbersDropped?: boolean;
}

type ReadEdition = Extract<SwitchingEdition, { standing: "read" }>;
type LotEvent = Extract<SwitchingEvent, { kind: "lot" }>;

/**
 * Moves a series of lots between normal, tightened and reduced inspection.
 *
 * Normal to tightened: two of five lots in a row, or of fewer, are not accepted. Tightened to normal: five in a row are
 * accepted. Normal to reduced: ten in a row accepted, their nonconforming units within the limit number, production
 * steady and the authority agreeing. Reduced to normal: a lot is not accepted, or falls between Ac and Re, or production
 * is irregular, or the authority says so. Each severity counts its lots anew; the texts are silent on whether the window
 * of five reaches back over a change of severity, and here it does not. Of a standard whose switching text was not
 * read nothing is switched: the step says so, and the responsible authority directs.
 *
 * @param state where the series stands
 * @param event what happens
 * @param settings AQL of the series, and whether the limit numbers were dropped by agreement
 * @returns the new state with its reasons; the old state is left as it was
 * @throws RangeError if a lot's numbers are impossible, a gap between Ac and Re is claimed outside reduced inspection, or
 *   limit numbers are dropped where the edition requires them
 * @source MIL-STD-105E (10 May 1989), 4.6, 4.7 and 4.8; ANSI/ASQ Z1.4-2003, 8.3 to 8.5
 */
export function nextSeverity(
  state: SwitchingState,
  event: SwitchingEvent,
  settings: SwitchingSettings,
): SwitchingStep {
  const edition: SwitchingEdition = switchingEditions[state.edition];
  if (event.kind === "directed") {
    return step(state, { ...state, severity: event.severity, lots: [] }, [
      `The responsible authority directs ${event.severity} inspection: ${event.reason}`,
    ]);
  }
  if (event.kind === "lot") checkLot(state, event);
  if (edition.standing === "not-read") return notSwitched(state, event, edition);
  if (settings.limitNumbersDropped === true && edition.limitNumbers === "required") {
    throw new RangeError(`${state.edition} requires the limit numbers; they cannot be dropped`);
  }
  switch (event.kind) {
    case "irregular":
      return state.severity === "reduced"
        ? enter(state, "normal", [`Production is irregular or delayed: ${event.reason}`])
        : step(state, state, ["Irregular production ends reduced inspection only."]);
    case "corrective-action":
      return state.severity === "discontinued"
        ? enter(state, "tightened", [
            `Corrective action has been taken, inspection resumes tightened: ${event.reason}`,
          ])
        : step(state, state, ["Inspection was not discontinued; corrective action changes no severity."]);
    case "lot":
      return afterLot(state, event, edition, settings);
  }
}

function afterLot(
  state: SwitchingState,
  event: LotEvent,
  edition: ReadEdition,
  settings: SwitchingSettings,
): SwitchingStep {
  if (event.inspection !== "original") {
    return step(state, state, [
      event.inspection === "resubmitted"
        ? "A resubmitted lot does not count for switching."
        : "A resample does not count for switching.",
    ]);
  }
  const lots = [...state.lots, countedLot(event)];
  switch (state.severity) {
    case "discontinued":
      return step(state, state, [
        "Inspection is discontinued: no lot is accepted by sampling until corrective action has been taken.",
      ]);
    case "normal":
      return afterNormalLot({ ...state, lots }, event, settings);
    case "tightened":
      return afterTightenedLot({ ...state, lots }, edition);
    case "reduced":
      return afterReducedLot({ ...state, lots }, event);
  }
}

function afterNormalLot(state: SwitchingState, event: LotEvent, settings: SwitchingSettings): SwitchingStep {
  const lastFive = state.lots.slice(-5);
  if (lastFive.filter(({ accepted }) => !accepted).length >= 2) {
    return enter(state, "tightened", [
      `Two of the last ${lastFive.length} lots were not accepted on original inspection.`,
    ]);
  }
  const run = acceptedInARow(state.lots);
  if (run < 10) return step(state, state, []);
  const reasons = [`The last ${run} lots were accepted.`];
  let reduced = true;
  if (settings.limitNumbersDropped === true) {
    reasons.push("The limit numbers were dropped by agreement.");
  } else {
    const { holds, lotsCounted, sampleUnits, nonconforming, limit } = limitNumberOfLots(
      state.lots.slice(-run),
      settings.aql,
    );
    reduced = holds;
    reasons.push(
      limit === null
        ? `Their ${sampleUnits} sample units are too few for a limit number at AQL ${settings.aql}.`
        : `${nonconforming} nonconforming in ${sampleUnits} units of ${lotsCounted} lots; the limit number is ${limit}.`,
    );
  }
  if (!event.steady) {
    reduced = false;
    reasons.push("Production is not steady.");
  }
  if (!event.reducedApproved) {
    reduced = false;
    reasons.push("The responsible authority has not approved reduced inspection.");
  }
  return reduced ? enter(state, "reduced", reasons) : step(state, state, reasons);
}

function afterTightenedLot(state: SwitchingState, edition: ReadEdition): SwitchingStep {
  if (acceptedInARow(state.lots) >= 5) {
    return enter(state, "normal", ["Five lots in a row were accepted on tightened inspection."]);
  }
  const { kind, lots } = edition.discontinuation;
  const notAccepted = state.lots.filter(({ accepted }) => !accepted).length;
  if (kind === "lots-not-accepted-on-tightened" && notAccepted >= lots) {
    return enter(state, "discontinued", [
      `${notAccepted} lots in total were not accepted on tightened inspection.`,
    ]);
  }
  if (kind === "lots-on-tightened" && state.lots.length >= lots) {
    return enter(state, "discontinued", [
      `${state.lots.length} lots in a row remained on tightened inspection.`,
    ]);
  }
  return step(state, state, []);
}

function afterReducedLot(state: SwitchingState, event: LotEvent): SwitchingStep {
  if (event.outcome === "not-accepted")
    return enter(state, "normal", ["A lot was not accepted on reduced inspection."]);
  if (event.outcome === "accepted-return-to-normal") {
    return enter(state, "normal", [
      "A lot was accepted with its count between the acceptance and rejection numbers.",
    ]);
  }
  if (!event.steady) return enter(state, "normal", ["Production is not steady."]);
  return step(state, state, []);
}

function notSwitched(
  state: SwitchingState,
  event: SwitchingEvent,
  edition: Extract<SwitchingEdition, { standing: "not-read" }>,
): SwitchingStep {
  const counts = event.kind === "lot" && event.inspection === "original";
  return step(state, counts ? { ...state, lots: [...state.lots, countedLot(event)] } : state, [
    `Nothing is switched: of ${edition.source} this product has not read ${edition.missing}. The responsible authority directs the severity from the text.`,
  ]);
}

function checkLot(state: SwitchingState, event: LotEvent): void {
  requireWhole(event.nonconforming, 0, "the number of nonconforming units");
  requireWhole(event.sampleUnits, 0, "the number of sample units");
  if (
    event.outcome === "accepted-return-to-normal" &&
    event.inspection === "original" &&
    state.severity !== "reduced"
  ) {
    throw new RangeError("only reduced inspection has counts between the acceptance and rejection numbers");
  }
}

function countedLot(event: LotEvent): CountedLot {
  return {
    accepted: event.outcome !== "not-accepted",
    nonconforming: event.nonconforming,
    sampleUnits: event.sampleUnits,
  };
}

function acceptedInARow(lots: readonly CountedLot[]): number {
  return lots.length - 1 - lots.findLastIndex(({ accepted }) => !accepted);
}

/** A change of severity: its lots are counted anew. */
function enter(
  state: SwitchingState,
  severity: SwitchingState["severity"],
  reasons: string[],
): SwitchingStep {
  return step(state, { ...state, severity, lots: [] }, reasons);
}

function step(before: SwitchingState, state: SwitchingState, reasons: string[]): SwitchingStep {
  return { severityBefore: before.severity, state, reasons };
}
