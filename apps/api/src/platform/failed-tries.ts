import { createHash } from "node:crypto";
import { ProblemError } from "./problem-error.ts";
import type { Tx } from "./transaction.ts";

/** What a secret is tried at: an account's name or a browser that it knows, a signature's password, a signing PIN. */
export type TryKind = "sign-in" | "sign-in-known-browser" | "signature" | "pin";

/** From this try on each further one waits, twice as long as the one before, up to the longest wait. */
export const triesBeforeWaiting = 5;
const firstWaitSeconds = 5;
const longestWaitSeconds = 300;
const forgottenAfterHours = 1;

/** Key of a count: a hash, because people type passwords into the field for the name. */
export function tryKey(kind: TryKind, what: string): Buffer {
  return createHash("sha256").update(`${kind}\n${what}`).digest();
}

/**
 * Counts a try before the secret is looked at, so that tries sent at the same moment, to whichever process, are counted
 * one after the other. Call `forgetTries` when the secret was right.
 *
 * @returns how many tries there have been since the last right one, this one among them
 * @throws ProblemError too-many-requests while a wait lasts; a try during it does not make it longer
 */
export async function countTry(tx: Tx, key: Buffer, whatToDo: string): Promise<number> {
  const [counted] = await tx.query<{ tries: number }>(
    `INSERT INTO failed_try AS f (key, tries, last_at, free_at) VALUES ($1, 1, clock_timestamp(), clock_timestamp())
     ON CONFLICT (key) DO UPDATE SET
       tries = CASE WHEN f.last_at < clock_timestamp() - make_interval(hours => $2) THEN 1 ELSE f.tries + 1 END,
       last_at = clock_timestamp(),
       free_at = clock_timestamp() + CASE
         WHEN f.last_at < clock_timestamp() - make_interval(hours => $2) OR f.tries + 1 < $3 THEN interval '0'
         ELSE make_interval(secs => least($4 * 2 ^ least(f.tries + 1 - $3, 20), $5))
       END
     WHERE f.free_at <= clock_timestamp()
     RETURNING tries`,
    [key, forgottenAfterHours, triesBeforeWaiting, firstWaitSeconds, longestWaitSeconds],
  );
  if (counted !== undefined) return counted.tries;
  const [wait] = await tx.query<{ seconds: number }>(
    "SELECT ceil(extract(epoch FROM free_at - clock_timestamp()))::int AS seconds FROM failed_try WHERE key = $1",
    [key],
  );
  throw waitFor(Math.max(1, wait?.seconds ?? 1), whatToDo);
}

/**
 * Refuses while a wait lasts and counts nothing: for a secret inside a change, whose wrong try is counted after the
 * change has been undone. The caller holds a lock that lets one try in at a time.
 *
 * @returns whether there are wrong tries to forget once the secret was right
 */
export async function refuseWhileWaiting(tx: Tx, key: Buffer, whatToDo: string): Promise<boolean> {
  const [counted] = await tx.query<{ seconds: number }>(
    "SELECT ceil(extract(epoch FROM free_at - clock_timestamp()))::int AS seconds FROM failed_try WHERE key = $1",
    [key],
  );
  if (counted !== undefined && counted.seconds > 0) throw waitFor(counted.seconds, whatToDo);
  return counted !== undefined;
}

/** After a right secret, or a new one; old counts of others go, too. */
export async function forgetTries(tx: Tx, key: Buffer): Promise<void> {
  await tx.query("DELETE FROM failed_try WHERE key = $1", [key]);
  await tx.query(
    `DELETE FROM failed_try WHERE key IN (
       SELECT key FROM failed_try WHERE last_at < clock_timestamp() - interval '1 day' LIMIT 50 FOR UPDATE SKIP LOCKED)`,
  );
}

/** Whether a number of tries is one to put on record: the first that makes somebody wait, and each tenth. */
export function isWorthAnEntry(tries: number): boolean {
  return tries === triesBeforeWaiting || (tries > triesBeforeWaiting && tries % 10 === 0);
}

function waitFor(seconds: number, whatToDo: string): ProblemError {
  return new ProblemError(
    "too-many-requests",
    `Too many wrong tries. Wait ${waitWords(seconds)}${whatToDo}`,
    { retryAfterSeconds: seconds },
  );
}

function waitWords(seconds: number): string {
  if (seconds === 1) return "a second";
  return seconds < 120 ? `${seconds} seconds` : `${Math.ceil(seconds / 60)} minutes`;
}
