import type { Scheme } from "@sealbook/contract/sampling-schemes";
import type { Series } from "@sealbook/contract/sampling-series";
import type { SeveritiesOfLot } from "@sealbook/metrology/sampling/decision/plan-lot";
import {
  type ReplayedSeries,
  replaySeries,
  type SeriesJoined,
  switchingEditionOf,
} from "@sealbook/metrology/sampling/decision/replay-series";
import type {
  SamplingCharacteristic,
  SamplingScheme,
} from "@sealbook/metrology/sampling/decision/sampling-scheme";
import type { SwitchingEvent, SwitchingState } from "@sealbook/metrology/sampling/switching/switching-state";
import { z } from "zod";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { personRef } from "../../platform/person-ref.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import type { Source, Tx } from "../../platform/transaction.ts";
import { findRevisions } from "./scheme-store.ts";
import {
  findSeriesLots,
  findSwitchingEvents,
  insertSwitchingEvent,
  type SeriesLotRow,
  type SwitchingEventRow,
} from "./series-store.ts";

/** What a decision kept of each characteristic, as far as switching needs it. */
const countsSchema = z.array(
  z.object({
    characteristic: z.string(),
    outcome: z.string(),
    nonconforming: z.int(),
    counted: z.int(),
  }),
);

/** What happened to a series, with the instant from which it belongs to its history. */
type Happening =
  | { at: Date; began: Date; kind: "lot"; lot: SeriesLotRow }
  | { at: Date; began: Date; kind: "said"; said: SwitchingEventRow }
  | { at: Date; began: Date; kind: "joined"; lot: SeriesLotRow; parents: string[] };

/** A series with everything that happened to it, oldest first. */
interface SeriesHistory {
  lots: SeriesLotRow[];
  happenings: Happening[];
}

/** Reads the histories of series under one scheme, each once. */
type Histories = (series: string) => Promise<SeriesHistory>;

function historiesOf(source: Source, schemeCode: string): Histories {
  const read = new Map<string, SeriesHistory>();
  return async (series) => {
    const known = read.get(series);
    if (known !== undefined) return known;
    const history = await readHistory(source, series, schemeCode);
    read.set(series, history);
    return history;
  };
}

async function readHistory(source: Source, series: string, schemeCode: string): Promise<SeriesHistory> {
  const lots = await findSeriesLots(source, series, schemeCode);
  const said = await findSwitchingEvents(source, series, schemeCode);
  const happenings: Happening[] = [
    ...lots.flatMap((lot): Happening[] => {
      const began = lot.created_at;
      const parents = parentsOf(lot);
      return [
        ...(parents.length === 0 ? [] : [{ at: began, began, kind: "joined" as const, lot, parents }]),
        ...(lot.decided_at === null ? [] : [{ at: lot.decided_at, began, kind: "lot" as const, lot }]),
      ];
    }),
    ...said.map(
      (event): Happening => ({ at: event.recorded_at, began: event.recorded_at, kind: "said", said: event }),
    ),
  ].sort((a, b) => a.at.getTime() - b.at.getTime());
  return { lots, happenings };
}

function parentsOf(lot: SeriesLotRow): string[] {
  return z.array(z.string()).parse(JSON.parse(lot.inherits));
}

function eventOf(
  happening: Exclude<Happening, { kind: "joined" }>,
  characteristic: SamplingCharacteristic,
): SwitchingEvent | null {
  if (happening.kind === "said") {
    const { said } = happening;
    if (said.characteristic !== null && said.characteristic !== characteristic) return null;
    return said.kind === "directed"
      ? { kind: said.kind, severity: said.severity ?? "normal", reason: said.reason }
      : { kind: said.kind, reason: said.reason };
  }
  const { lot } = happening;
  const all = countsSchema.parse(JSON.parse(lot.evaluation ?? "[]"));
  const counts = all.find((counted) => counted.characteristic === characteristic);
  if (counts === undefined || lot.outcome === null) return null;
  const byPlan =
    counts.outcome === "accepted" ||
    counts.outcome === "not-accepted" ||
    counts.outcome === "accepted-return-to-normal"
      ? counts.outcome
      : null;
  // A lot that the plan does not accept for another characteristic is asked of nobody: of this one, which the plan could
  // not decide, nothing is known, so it does not count here. The texts are silent on it.
  if (byPlan === null && all.some(({ outcome }) => outcome === "not-accepted")) return null;
  // Where a person decided, their word is the outcome of the characteristic that the plan could not decide.
  const outcome = byPlan ?? lot.outcome;
  return {
    kind: "lot",
    inspection:
      lot.resubmits_id !== null ? "resubmitted" : lot.second_try_of_id !== null ? "resample" : "original",
    outcome,
    nonconforming: counts.nonconforming,
    sampleUnits: counts.counted,
    steady: lot.steady ?? true,
    reducedApproved: lot.reduced_approved ?? false,
  };
}

function aqlOf(scheme: SamplingScheme, characteristic: SamplingCharacteristic): string | null {
  if (scheme.plan.kind === "plan-table") return null;
  const judged = scheme.characteristics.find((one) => one.characteristic === characteristic);
  return judged?.aqlPercent ?? scheme.plan.aqlPercent;
}

interface Replay {
  replayed: ReplayedSeries;
  /** One for each step. */
  happenings: Happening[];
}

/**
 * Follows a characteristic of a series up to an instant: lots that began later, and what was said later, are no part of it,
 * so that a series which went on from it keeps the state that it began with.
 */
async function replay(
  histories: Histories,
  scheme: { body: SamplingScheme },
  characteristic: SamplingCharacteristic,
  series: string,
  before: Date | null,
): Promise<Replay> {
  const happenings: Happening[] = [];
  const events: (SwitchingEvent | SeriesJoined)[] = [];
  for (const one of (await histories(series)).happenings) {
    if (before !== null && one.began >= before) continue;
    const event =
      one.kind === "joined"
        ? {
            kind: one.kind,
            parents: await statesOf(histories, scheme, characteristic, one.parents, one.began),
          }
        : eventOf(one, characteristic);
    if (event === null) continue;
    happenings.push(one);
    events.push(event);
  }
  return { happenings, replayed: replaySeries(scheme.body, aqlOf(scheme.body, characteristic), events) };
}

async function statesOf(
  histories: Histories,
  scheme: { body: SamplingScheme },
  characteristic: SamplingCharacteristic,
  series: readonly string[],
  before: Date,
): Promise<SwitchingState[]> {
  const states: SwitchingState[] = [];
  for (const one of series) {
    states.push((await replay(histories, scheme, characteristic, one, before)).replayed.state);
  }
  return states;
}

/**
 * Severity of the next lot of a series for each characteristic of a scheme, with the reasons that the plan will keep.
 *
 * @param lotId the lot at hand, which does not wait for itself; null for none
 */
export async function severitiesOf(
  source: Source,
  scheme: { code: string; body: SamplingScheme },
  series: string,
  lotId: string | null,
): Promise<SeveritiesOfLot> {
  const histories = historiesOf(source, scheme.code);
  const { lots } = await histories(series);
  const waiting = await sayWhatWaits(histories, lots, lotId);
  const severities: SeveritiesOfLot = {};
  for (const { characteristic } of scheme.body.characteristics) {
    const { replayed, happenings } = await replay(histories, scheme, characteristic, series, null);
    const decided = lots.filter(({ outcome }) => outcome !== null).length;
    severities[characteristic] = {
      severity: replayed.state.severity,
      reasons: [...reasonsOf(replayed, happenings, decided), ...waiting],
    };
  }
  return severities;
}

/** Severity of the next lot of a series, as far as it has lots. */
export async function nextSeverities(source: Source, scheme: Scheme, series: string) {
  return await severitiesOf(source, scheme, series, null);
}

/** Why a series stands where it does: the step that brought it there, and the newest where that is another. */
function reasonsOf(
  { state, steps }: ReplayedSeries,
  happenings: readonly Happening[],
  decided: number,
): string[] {
  const newest = steps.at(-1);
  if (newest === undefined) return ["A new series begins with normal inspection."];
  const last = steps.findLast((step) => step.severityBefore !== step.severityAfter);
  if (last === undefined) {
    const stays = `${decided === 1 ? "One lot of the series was" : `${decided} lots of the series were`} decided, and nothing moved it from ${state.severity} inspection.`;
    return decided === 0 ? newest.reasons : [stays, ...newest.reasons];
  }
  return newest !== last && happenings.at(-1)?.kind === "joined"
    ? [...last.reasons, ...newest.reasons]
    : last.reasons;
}

/** Lots whose outcome would count, had somebody decided them. */
async function sayWhatWaits(
  histories: Histories,
  lots: readonly SeriesLotRow[],
  lotId: string | null,
): Promise<string[]> {
  const waits = ({ id, outcome, state }: SeriesLotRow) =>
    id !== lotId && outcome === null && state !== "forming";
  const own = lots
    .filter(waits)
    .map(({ number }) => `Lot ${number} of this series is not decided yet and does not count here.`);
  const atHand = lots.find(({ id }) => id === lotId);
  const others: string[] = [];
  for (const parent of atHand === undefined ? [] : parentsOf(atHand)) {
    for (const lot of (await histories(parent)).lots.filter(waits)) {
      others.push(
        `Lot ${lot.number} of a series that this one goes on from is not decided yet and does not count here.`,
      );
    }
  }
  return [...own, ...others];
}

/** The switching history of a series under the newest revision of a scheme. */
export async function getSeries(source: Source, series: string, schemeCode: string): Promise<Series> {
  const [scheme] = await findRevisions(source, schemeCode);
  const histories = historiesOf(source, schemeCode);
  const { lots } = await histories(series);
  const newest = lots.findLast((lot) => lot.second_try_of_id === null);
  if (scheme === undefined || newest === undefined) throw notFound("series");
  const characteristics: Series["characteristics"] = [];
  for (const { characteristic } of scheme.body.characteristics) {
    const { replayed, happenings } = await replay(histories, scheme, characteristic, series, null);
    characteristics.push({
      characteristic,
      severity: replayed.state.severity,
      inheritedFrom: [...new Set(lots.flatMap(parentsOf))],
      steps: happenings.map((one, place) => {
        const step = replayed.steps[place];
        if (step === undefined) throw new Error("each event has its step");
        const common = {
          at: one.at.toISOString(),
          severityBefore: step.severityBefore,
          severityAfter: step.severityAfter,
          reasons: step.reasons,
        };
        if (one.kind === "said") {
          const { said } = one;
          return {
            ...common,
            kind: said.kind,
            lotId: null,
            lotNumber: null,
            outcome: null,
            resubmitted: false,
            reason: said.reason,
            by: personRef(said.actor_id, said.actor_name),
          };
        }
        const { lot } = one;
        if (one.kind === "joined") {
          return {
            ...common,
            kind: one.kind,
            lotId: lot.id,
            lotNumber: lot.number,
            outcome: null,
            resubmitted: false,
            reason: "",
            by: null,
          };
        }
        return {
          ...common,
          kind: "lot" as const,
          lotId: lot.id,
          lotNumber: lot.number,
          outcome: lot.outcome,
          resubmitted: lot.resubmits_id !== null || lot.second_try_of_id !== null,
          reason: "",
          by: personRef(lot.decider_id, lot.decider_name),
        };
      }),
    });
  }
  return {
    series,
    title: newest.title,
    schemeCode,
    switching: scheme.body.switching,
    edition: switchingEditionOf(scheme.body.plan),
    characteristics,
  };
}

/** Puts on record what a person says of a series: irregular production, corrective action, or a severity directed. */
export async function addSwitchingEvent(
  tx: Tx,
  event: {
    id: string;
    series: string;
    schemeCode: string;
    characteristic: SamplingCharacteristic | null;
    kind: "irregular" | "corrective-action" | "directed";
    severity: "normal" | "tightened" | "reduced" | null;
    reason: string;
  },
): Promise<Series> {
  const before = await getSeries(tx, event.series, event.schemeCode);
  if ((event.kind === "directed") !== (event.severity !== null)) {
    throw refusedByRule("/severity", "Say the severity when you direct one, and only then.");
  }
  if (
    event.characteristic !== null &&
    !before.characteristics.some(({ characteristic }) => characteristic === event.characteristic)
  ) {
    throw refusedByRule("/characteristic", `Scheme ${event.schemeCode} does not judge this characteristic.`);
  }
  const { id, ...payload } = event;
  const entryId = await writeEntry(tx, {
    action: "switching.direct",
    subjectType: "samplingSeries",
    subjectId: id,
    reason: event.reason,
    payload,
  });
  try {
    await insertSwitchingEvent(tx, event, entryId);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", "This is on record already.");
  }
  return await getSeries(tx, event.series, event.schemeCode);
}
