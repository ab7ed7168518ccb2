import type { DrawEvent } from "@sealbook/contract/follow-up";

/** The follow-ups of a meter that a table shows: the last one that stands and all that were taken back, oldest first. */
export function shownEvents<Event extends Pick<DrawEvent, "takenBack">>(events: readonly Event[]): Event[] {
  const last = events.findLast(({ takenBack }) => takenBack === null);
  return events.filter((event) => event === last || event.takenBack !== null);
}
