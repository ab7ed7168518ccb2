import type { DrawUnit, drawEventKinds } from "@sealbook/contract/follow-up";

/** What people say about a drawn meter; calling up a spare is the service's own. */
export type FollowUpKind = Exclude<(typeof drawEventKinds)[number], "called-up">;

/** The follow-ups in the order of the work, each with its key. Those that need a reason open a question. */
export const followUps: readonly { kind: FollowUpKind; key: string; label: string; needsReason: boolean }[] =
  [
    { kind: "asked", key: "a", label: "Asked for", needsReason: false },
    { kind: "pulled", key: "p", label: "Pulled", needsReason: false },
    { kind: "received", key: "r", label: "In the shop", needsReason: false },
    { kind: "not-reached", key: "n", label: "Could not be reached", needsReason: true },
    { kind: "moved", key: "m", label: "Moved before the pull", needsReason: true },
    { kind: "retired", key: "t", label: "Retired before the pull", needsReason: true },
    { kind: "left-out", key: "l", label: "Left out", needsReason: true },
  ];

/** Whether anything can still be said about a drawn meter: it fills a place and has no outcome yet. */
export function canFollowUp(unit: Pick<DrawUnit, "place" | "state">): boolean {
  return (
    unit.place !== null && ["waiting", "asked", "pulled", "received", "no-test-possible"].includes(unit.state)
  );
}

/**
 * The row that a key leads to.
 *
 * @param key    as in KeyboardEvent.key
 * @param from   the row that has the focus, from 0
 * @param count  rows
 * @returns the row, or null for a key that leads nowhere
 */
export function rowAfterKey(key: string, from: number, count: number): number | null {
  switch (key) {
    case "ArrowDown":
    case "j":
      return Math.min(count - 1, from + 1);
    case "ArrowUp":
    case "k":
      return Math.max(0, from - 1);
    case "Home":
      return 0;
    case "End":
      return count - 1;
    default:
      return null;
  }
}
