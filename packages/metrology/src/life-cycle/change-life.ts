import type { LifeState } from "./legal-moves.ts";
import { type IllegalStep, type LifeEvent, lifeOf } from "./life-of.ts";

/** What a change of a meter's events comes to. */
export type LifeChange<Event extends LifeEvent> =
  | { kind: "legal"; state: LifeState; placeId: string | null }
  /** The new event itself is not legal where it would stand. */
  | { kind: "illegal"; step: IllegalStep<Event> }
  /** Later events, legal until now, would not be any more. */
  | { kind: "breaks"; steps: readonly IllegalStep<Event>[] }
  /** The event by which the meter came into the book would go; what was never there has no later life either. */
  | { kind: "begins" };

/**
 * What adding an event to a meter's life, or taking events out of it, comes to. An event that is illegal on record
 * already, from a file perhaps, stops nobody: only what the change itself breaks does.
 *
 * @param standing  events of one meter that stand, in any order
 * @param change    the event to add, or the ids of those to take back
 * @returns the state and place after it, or what is in the way
 * @source lifeOf
 * @example changeLife([], { add: received }) // { kind: "legal", state: "received", ... }
 */
export function changeLife<Event extends LifeEvent>(
  standing: readonly Event[],
  change: { add: Event } | { takeBack: ReadonlySet<string> },
): LifeChange<Event> {
  const after =
    "add" in change ? [...standing, change.add] : standing.filter(({ id }) => !change.takeBack.has(id));
  const [first] = lifeOf(standing).events;
  if ("takeBack" in change && first !== undefined && change.takeBack.has(first.id)) return { kind: "begins" };
  const life = lifeOf(after);
  if (life.state === "none") return { kind: "begins" };
  if ("add" in change) {
    const step = life.illegal.find(({ event }) => event.id === change.add.id);
    if (step !== undefined) return { kind: "illegal", step };
  }
  const before = new Set(lifeOf(standing).illegal.map(({ event }) => event.id));
  const steps = life.illegal.filter(({ event }) => !before.has(event.id));
  if (steps.length > 0) return { kind: "breaks", steps };
  return { kind: "legal", state: life.state, placeId: life.placeId };
}
