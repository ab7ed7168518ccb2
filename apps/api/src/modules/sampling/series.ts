import type { Series } from "@sealbook/contract/sampling";
import type { SeveritiesOfLot } from "@sealbook/metrology/sampling/decision/plan-lot";
import {
  type ReplayedSeries,
  replaySeries,
  switchingEditionOf,
} from "@sealbook/metrology/sampling/decision/replay-series";
import type {
  SamplingCharacteristic,
  SamplingScheme,
} from "@sealbook/metrology/sampling/decision/sampling-scheme";
import type { SwitchingEvent } from "@sealbook/metrology/sampling/switching/switching-state";
import { z } from "zod";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { personRef } from "../../platform/person-ref.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import type { Source, Tx } from "../../platform/transaction.ts";
import {
  findRevisions,
  findSeriesLots,
  findSwitchingEvents,
  insertSwitchingEvent,
  type SeriesLotRow,
  type SwitchingEventRow,
} from "./store.ts";

/** What a decision kept of each characteristic, as far as switching needs it. */
const countsSchema = z.array(
  z.object({
    characteristic: z.string(),
    outcome: z.string(),
    nonconforming: z.int(),
    counted: z.int(),
  }),
);

type Happening =
  | { at: Date; kind: "lot"; lot: SeriesLotRow }
  | { at: Date; kind: "said"; said: SwitchingEventRow };

/** A series with everything that happened to it, oldest first. */
interface SeriesHistory {
  lots: SeriesLotRow[];
  happenings: Happening[];
  inherits: string[];
}

async function historyOf(source: Source, series: string, schemeCode: string): Promise<SeriesHistory> {
  const lots = await findSeriesLots(source, series, schemeCode);
  const said = await findSwitchingEvents(source, series, schemeCode);
  const happenings: Happening[] = [
    ...lots.flatMap((lot): Happening[] =>
      lot.decided_at === null ? [] : [{ at: lot.decided_at, kind: "lot", lot }],
    ),
    ...said.map((event): Happening => ({ at: event.recorded_at, kind: "said", said: event })),
  ].sort((a, b) => a.at.getTime() - b.at.getTime());
  return { lots, happenings, inherits: z.array(z.string()).parse(JSON.parse(lots[0]?.inherits ?? "[]")) };
}

function eventOf(happening: Happening, characteristic: SamplingCharacteristic): SwitchingEvent | null {
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
    inspection: lot.resubmits_id === null ? "original" : "resubmitted",
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

async function replay(
  source: Source,
  scheme: { code: string; body: SamplingScheme },
  characteristic: SamplingCharacteristic,
  history: SeriesHistory,
  seen: readonly string[],
): Promise<{ replayed: ReplayedSeries; happenings: Happening[] }> {
  const parents = [];
  for (const series of history.inherits) {
    if (seen.includes(series)) continue;
    const parent = await historyOf(source, series, scheme.code);
    const { replayed } = await replay(source, scheme, characteristic, parent, [...seen, series]);
    parents.push(replayed.state);
  }
  const happenings = history.happenings.filter((one) => eventOf(one, characteristic) !== null);
  const events = happenings.flatMap((one) => eventOf(one, characteristic) ?? []);
  return {
    replayed: replaySeries(scheme.body, aqlOf(scheme.body, characteristic), parents, events),
    happenings,
  };
}

/**
 * Severity of the next lot of a series for each characteristic of a scheme, with the reasons that the plan will keep.
 *
 * @param inherits series that the lot at hand goes on from; null takes what the series has on record
 * @param lotId the lot at hand, which does not wait for itself; null for none
 */
export async function severitiesOf(
  source: Source,
  scheme: { code: string; body: SamplingScheme },
  series: string,
  inherits: readonly string[] | null,
  lotId: string | null,
): Promise<SeveritiesOfLot> {
  const found = await historyOf(source, series, scheme.code);
  // A series goes on from others only where it begins: what its first lot says counts, once there is one before this.
  const first = found.lots[0];
  const history =
    inherits === null || (first !== undefined && first.id !== lotId)
      ? found
      : { ...found, inherits: [...inherits] };
  const open = history.lots.filter(
    ({ id, outcome, state }) => id !== lotId && outcome === null && state !== "forming",
  );
  const severities: SeveritiesOfLot = {};
  for (const { characteristic } of scheme.body.characteristics) {
    const { replayed } = await replay(source, scheme, characteristic, history, [series]);
    const { severity } = replayed.state;
    const lots = history.lots.filter(({ outcome }) => outcome !== null).length;
    const last = replayed.steps.findLast((step) => step.severityBefore !== step.severityAfter);
    const reasons =
      replayed.steps.length === 0
        ? history.inherits.length > 0
          ? [
              `The series goes on from ${history.inherits.length === 1 ? "another" : `${history.inherits.length} others, of which the strictest counts`}: ${severity} inspection.`,
            ]
          : ["A new series begins with normal inspection."]
        : last === undefined
          ? [
              `${lots === 1 ? "One lot of the series was" : `${lots} lots of the series were`} decided, and nothing moved it from ${severity} inspection.`,
              ...(replayed.steps.at(-1)?.reasons ?? []),
            ]
          : last.reasons;
    severities[characteristic] = {
      severity,
      reasons: [
        ...reasons,
        ...open.map(
          ({ number }) => `Lot ${number} of this series is not decided yet and does not count here.`,
        ),
      ],
    };
  }
  return severities;
}

/** The switching history of a series under the newest revision of a scheme. */
export async function getSeries(source: Source, series: string, schemeCode: string): Promise<Series> {
  const [scheme] = await findRevisions(source, schemeCode);
  const history = await historyOf(source, series, schemeCode);
  const newest = history.lots.at(-1);
  if (scheme === undefined || newest === undefined) throw notFound("series");
  const characteristics: Series["characteristics"] = [];
  for (const { characteristic } of scheme.body.characteristics) {
    const { replayed, happenings } = await replay(source, scheme, characteristic, history, [series]);
    characteristics.push({
      characteristic,
      severity: replayed.state.severity,
      inheritedFrom: history.inherits,
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
        return {
          ...common,
          kind: "lot" as const,
          lotId: lot.id,
          lotNumber: lot.number,
          outcome: lot.outcome,
          resubmitted: lot.resubmits_id !== null,
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
