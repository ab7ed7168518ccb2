import type { DrawEvent, DrawUnit } from "@sealbook/contract/follow-up";

/**
 * Whether a follow-up is offered for taking back: the last one of its meter that stands. A spare that was called up goes
 * back with the follow-up that called it up, and not by itself.
 */
export function canTakeBack(unit: Pick<DrawUnit, "events">, event: Pick<DrawEvent, "id">): boolean {
  const last = unit.events.findLast(({ takenBack }) => takenBack === null);
  return last !== undefined && last.id === event.id && last.kind !== "called-up";
}
