import { type LifeEventKind, type LifeState, legalMoves, stateWords } from "./legal-moves.ts";

/** An event that stands: what was taken back is left out by whoever asks. */
export interface LifeEvent {
  readonly id: string;
  readonly kind: LifeEventKind;
  /** Milliseconds since 1970 in UTC. */
  readonly performedAt: number;
  /** Null where the meter stayed where it was. */
  readonly placeId: string | null;
}

/** An event that the one before it does not allow. */
export interface IllegalStep<Event extends LifeEvent> {
  readonly event: Event;
  /** The state in which the event met the meter. */
  readonly stateBefore: LifeState | "none";
  /** A sentence without the meter's number: "in stock; only a meter in service can be removed". */
  readonly reason: string;
}

export interface Life<Event extends LifeEvent> {
  /** "none" where nothing has happened. */
  readonly state: LifeState | "none";
  readonly placeId: string | null;
  /** In order of time. */
  readonly events: readonly Event[];
  readonly illegal: readonly IllegalStep<Event>[];
}

/**
 * A meter's life out of its events: where it stands, where it is, and which events the table of legal moves does not
 * allow. The last event decides, whether or not it was legal: what happened has happened.
 *
 * @param events  standing events of one meter, in any order; those of one instant count in order of their ids
 * @returns state and place after the last event, the events in order of time, and those that were not legal
 * @source legalMoves
 * @example lifeOf([]).state // "none"
 */
export function lifeOf<Event extends LifeEvent>(events: readonly Event[]): Life<Event> {
  const ordered = [...events].sort(inOrder);
  const illegal: IllegalStep<Event>[] = [];
  let state: LifeState | "none" = "none";
  let placeId: string | null = null;
  for (const event of ordered) {
    const { from, to, only } = legalMoves[event.kind];
    if (!from.includes(state)) {
      illegal.push({ event, stateBefore: state, reason: `${stateWords[state]}; ${only}` });
    }
    if (to !== "same") state = to;
    placeId = event.placeId ?? placeId;
  }
  return { state, placeId, events: ordered, illegal };
}

/** Order of a meter's events: by time, then by id, which sorts by the time of recording. */
export function inOrder(one: LifeEvent, other: LifeEvent): number {
  if (one.performedAt !== other.performedAt) return one.performedAt - other.performedAt;
  return one.id < other.id ? -1 : Number(one.id > other.id);
}
