import {
  countTry,
  forgetTries,
  isWorthAnEntry,
  refuseWhileWaiting,
  tryKey,
} from "../../platform/failed-tries.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError } from "../../platform/problem-error.ts";
import { verifySecret } from "../../platform/secrets.ts";
import { actorOf, type Tx } from "../../platform/transaction.ts";
import { type AccountRow, lockAccount } from "./store.ts";

/**
 * Confirms that whoever is signed in is there: their own password.
 *
 * @param pointer where the password stands in the request
 * @throws ProblemError sign-in-refused; too-many-requests after several wrong ones; not-permitted to an API token
 */
export async function requireOwnPassword(tx: Tx, password: string, pointer: string): Promise<AccountRow> {
  return await confirm(tx, "signature", (row) => verifySecret(row.password_hash, password), {
    wrong: () =>
      new ProblemError("sign-in-refused", "This is not your present password; nothing was changed.", {
        errors: [{ pointer, detail: "This is not your present password." }],
        afterwards: (later) => countWrong(later, "signature"),
      }),
    whatToDo: ", then type your password again; what you entered is kept.",
  });
}

/**
 * Confirms that the signed-in person signs: their own PIN.
 *
 * @param pointer where the PIN stands in the request
 * @throws ProblemError pin-refused; too-many-requests after several wrong ones; not-permitted to an API token
 */
export async function requirePin(tx: Tx, pin: string, pointer = "/signature/pin"): Promise<void> {
  await confirm(
    tx,
    "pin",
    async (row) => {
      if (row.pin_hash !== null) return await verifySecret(row.pin_hash, pin);
      throw new ProblemError(
        "pin-refused",
        "You have no signing PIN yet. Set one under your name; what you entered is kept.",
      );
    },
    {
      wrong: () =>
        new ProblemError("pin-refused", "This is not your signing PIN. Type it again; nothing was signed.", {
          errors: [{ pointer, detail: "This is not your signing PIN." }],
          afterwards: (later) => countWrong(later, "pin"),
        }),
      whatToDo: ", or set a new PIN under your name; what you entered is kept.",
    },
  );
}

/** After a new PIN: the wrong ones before it say nothing any more. */
export async function forgetWrongPins(tx: Tx, accountId: string): Promise<void> {
  await forgetTries(tx, tryKey("pin", accountId));
}

/** The account's row is locked, so that tries sent at the same moment are looked at one after the other. */
async function confirm(
  tx: Tx,
  kind: "signature" | "pin",
  isRight: (row: AccountRow) => Promise<boolean>,
  refusal: { wrong: () => ProblemError; whatToDo: string },
): Promise<AccountRow> {
  const { id, tokenId } = actorOf(tx);
  if (tokenId !== undefined) {
    throw new ProblemError("not-permitted", "An API token signs nothing: only a person who signed in does.");
  }
  const row = await lockAccount(tx, id);
  if (row === null) throw notFound("account");
  const key = tryKey(kind, id);
  const hasWrongTries = await refuseWhileWaiting(tx, key, refusal.whatToDo);
  if (!(await isRight(row))) throw refusal.wrong();
  if (hasWrongTries) await forgetTries(tx, key);
  return row;
}

async function countWrong(tx: Tx, kind: "signature" | "pin"): Promise<void> {
  const { id } = actorOf(tx);
  const tries = await countTry(tx, tryKey(kind, id), ".").catch((error: unknown) => {
    // Another try was counted in between and has begun the wait.
    if (error instanceof ProblemError) return 0;
    throw error;
  });
  if (!isWorthAnEntry(tries)) return;
  await writeEntry(tx, {
    action: "account.refuse",
    subjectType: "account",
    subjectId: id,
    payload: { triedAt: kind, tries },
  });
}
