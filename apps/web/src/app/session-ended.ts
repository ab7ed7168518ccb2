const listeners = new Set<() => void>();
let ended = false;

/** Whether the service refused a request because the session has ended. */
export function isSessionEnded(): boolean {
  return ended;
}

/** Tells the shell that the session has ended. */
export function noticeEndedSession(): void {
  ended = true;
  for (const listener of listeners) listener();
}

/** Tells the shell that somebody signed in again. */
export function noticeOpenedSession(): void {
  ended = false;
  for (const listener of listeners) listener();
}

/** For useSyncExternalStore: calls back at each change; returns the way to stop. */
export function subscribeToSession(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}
