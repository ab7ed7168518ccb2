import { ProblemError } from "../../platform/problem-error.ts";

/**
 * A PIN has few values, so guessing is slowed: after some wrong ones an account waits before it may sign again. The
 * count is this process's own; with several processes an account gets as many tries from each.
 */
const triesBeforeWaiting = 5;
const waitMilliseconds = 5 * 60_000;
const mostAccounts = 10_000;

const wrong = new Map<string, { tries: number; since: number }>();

/** @throws ProblemError too-many-requests while the account waits */
export function refuseAfterWrongPins(accountId: string, now = Date.now()): void {
  const count = wrong.get(accountId);
  if (count === undefined) return;
  if (now - count.since > waitMilliseconds) wrong.delete(accountId);
  else if (count.tries >= triesBeforeWaiting) {
    throw new ProblemError(
      "too-many-requests",
      "Too many wrong PINs. Wait five minutes, or set a new PIN under your name; what you entered is kept.",
    );
  }
}

export function countWrongPin(accountId: string, now = Date.now()): void {
  if (wrong.size >= mostAccounts) wrong.clear();
  wrong.set(accountId, { tries: (wrong.get(accountId)?.tries ?? 0) + 1, since: now });
}

/** After a right PIN, or a new one. */
export function forgetWrongPins(accountId: string): void {
  wrong.delete(accountId);
}
