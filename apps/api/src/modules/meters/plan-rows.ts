import type { LineProblemCode } from "@sealbook/contract/meter-events";
import { type MeterState, meterEventNames } from "@sealbook/contract/meters";
import type { PlaceKind } from "@sealbook/contract/places";
import { changeLife, type LifeChange } from "@sealbook/metrology/life-cycle/change-life";
import { type LifeEventKind, legalMoves, stateWords } from "@sealbook/metrology/life-cycle/legal-moves";
import { inOrder, lifeOf } from "@sealbook/metrology/life-cycle/life-of";
import { type ReadingNote, readingQuestion } from "@sealbook/metrology/life-cycle/reading-question";
import { localMinute } from "../../platform/local-date.ts";
import type { MeterToMove, StandingEvent } from "./event-store.ts";

/** What is to happen to every meter of a list alike. */
export interface PlannedMove {
  readonly kind: LifeEventKind;
  readonly performedAt: Date;
  /** Null where the meters stay where they are. */
  readonly placeId: string | null;
  readonly reason: string;
}

/** What one line says of its meter. */
export interface RowToPlan {
  readonly eventId: string;
  readonly registerReading: string | null;
  readonly readingNote: ReadingNote | null;
}

export type PlannedRow =
  | { kind: "ready"; state: MeterState; placeId: string }
  | { kind: "problem"; code: LineProblemCode; detail: string };

/**
 * Whether an event may happen to a meter, and what it leads to. What is in the way is said by name, with what to do.
 *
 * @param meter     the meter as it is on record, locked where the event is then recorded
 * @param timeZone  the shop's, in which dates are told
 */
export function planRow(meter: MeterToMove, move: PlannedMove, row: RowToPlan, timeZone: string): PlannedRow {
  const problem = (code: LineProblemCode, detail: string): PlannedRow => ({ kind: "problem", code, detail });
  const held = heldSentence(meter, timeZone);
  if (held !== null) return problem("held", held);
  const event: StandingEvent = {
    id: row.eventId,
    kind: move.kind,
    performedAt: move.performedAt.getTime(),
    placeId: move.placeId,
    registerReading: row.registerReading,
    readingNote: row.readingNote,
  };
  const change = changeLife(meter.events, { add: event });
  if (change.kind === "illegal")
    return problem(
      "illegal",
      `${meter.utilityNumber} is ${when(meter, change, timeZone)}${change.step.reason}.`,
    );
  if (change.kind === "breaks") return problem("breaks", breaksSentence(meter, change, timeZone));
  if (change.kind === "begins") throw new Error("a meter with a new event has a life");
  const isLast = meter.events.every((other) => inOrder(other, event) < 0);
  const isSame = change.state === meter.state && change.placeId === meter.placeId;
  if (isLast && isSame && (move.kind === "stock" || move.kind === "issue"))
    return problem("already-here", `${meter.utilityNumber} is ${stateWords[meter.state]} there already.`);
  const asked = readingSentence(meter, event, timeZone);
  if (asked !== null) return problem("reading", asked);
  return { kind: "ready", state: change.state, placeId: change.placeId ?? meter.placeId };
}

/** Why a meter may not be touched; null where no hold stands. */
export function heldSentence(
  meter: Pick<MeterToMove, "utilityNumber" | "holds">,
  timeZone: string,
): string | null {
  const [hold] = meter.holds;
  if (hold === undefined) return null;
  const by = hold.placedBy === null ? "" : ` by ${hold.placedBy}`;
  return `${meter.utilityNumber} is under a legal hold, placed${by} on ${localMinute(hold.at, timeZone)}: ${hold.reason}. It may not be touched until the hold is lifted.`;
}

/** "then " where the event stands before others, since the state at its time is not that of today. */
function when(
  meter: MeterToMove,
  change: LifeChange<StandingEvent> & { kind: "illegal" },
  timeZone: string,
): string {
  return change.step.stateBefore === meter.state
    ? ""
    : `on ${localMinute(new Date(change.step.event.performedAt), timeZone)} `;
}

/** What a change breaks of what is on record after it, each event by name and time. */
export function breaksSentence(
  meter: Pick<MeterToMove, "utilityNumber">,
  change: LifeChange<StandingEvent> & { kind: "breaks" },
  timeZone: string,
): string {
  const broken = change.steps.map(
    ({ event, reason }) =>
      `"${meterEventNames[event.kind]}" on ${localMinute(new Date(event.performedAt), timeZone)} (it would find the meter ${reason})`,
  );
  return `${meter.utilityNumber}: this would break what is on record after it: ${broken.join("; ")}. Take ${broken.length === 1 ? "that" : "those"} back first, or correct the date.`;
}

function readingSentence(meter: MeterToMove, event: StandingEvent, timeZone: string): string | null {
  const { events } = lifeOf(meter.events.filter(({ registerReading }) => registerReading !== null));
  const before = events.filter((other) => inOrder(other, event) < 0).at(-1);
  const after = events.find((other) => inOrder(other, event) > 0);
  const question = readingQuestion({
    reading: event.registerReading,
    note: event.readingNote,
    before: before?.registerReading ?? null,
    after:
      after === undefined || after.registerReading === null
        ? null
        : { reading: after.registerReading, note: after.readingNote },
    dials: meter.registerDials,
    isNeeded: event.kind === "set" || event.kind === "remove",
  });
  const number = meter.utilityNumber;
  switch (question.kind) {
    case "none":
      return null;
    case "missing":
      return `${number}: give the register reading, or say that it cannot be read.`;
    case "too-long":
      return `${number}: the register has ${question.dials} dials, and the reading more digits.`;
    case "lower":
      return `${number}: the reading is lower than ${question.before} on ${localMinute(new Date(before?.performedAt ?? 0), timeZone)}. Say that the register rolled over or was replaced, or correct the reading.`;
    case "higher":
      return `${number}: the reading is higher than ${question.after} on ${localMinute(new Date(after?.performedAt ?? 0), timeZone)}, after it. Correct the reading or the date.`;
  }
}

const placeWordsOf: Record<PlaceKind, string> = {
  shop: "shop",
  store: "store room",
  shelf: "shelf",
  van: "van",
  "service-point": "service point",
};

/** What is wrong with the place that a move leads to; null where nothing is. */
export function placeSentence(
  kind: LifeEventKind,
  place: { kind: PlaceKind; name: string; closed: boolean } | null,
  isGiven: boolean,
): string | null {
  const { places } = legalMoves[kind];
  if (places.length === 0) return isGiven ? "This leaves a meter where it is: name no place." : null;
  const wanted = places.map((one) => placeWordsOf[one]).join(", ");
  if (place === null)
    return isGiven ? "There is no such place; choose one from the list." : `Say where it leads: ${wanted}.`;
  if (!places.includes(place.kind))
    return `${place.name} is a ${placeWordsOf[place.kind]}; this leads to: ${wanted}.`;
  return place.closed ? `${place.name} is closed; choose another place, or open it.` : null;
}
