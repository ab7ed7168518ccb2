import type { Session } from "@sealbook/contract/people";
import type { FastifyReply, FastifyRequest } from "fastify";
import type { Config } from "../../config.ts";
import type { Database } from "../../platform/database.ts";
import { countTry, forgetTries, isWorthAnEntry, tryKey } from "../../platform/failed-tries.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { ProblemError } from "../../platform/problem-error.ts";
import { hashSecret, isHashedAsNow, verifySecret } from "../../platform/secrets.ts";
import { findKnownBrowser, keepKnownBrowser, startSession } from "../../platform/sessions.ts";
import { inTransaction, type Tx } from "../../platform/transaction.ts";
import {
  type AccountRow,
  findAccount,
  findAccountByUsername,
  toAccount,
  updatePasswordHash,
} from "./store.ts";

/** A hash of no password: signing in with an unknown name takes as long as with a known one. */
const nobodysHash =
  "$argon2id$v=19$m=19456,t=2,p=1$c29tZXNhbHRzb21lc2FsdA$K13EBUiG7JV+9ZxztmHFTdb7J0WQsnj2V8bZaqyPptE";

/**
 * Signs in: the same refusal, wait and entry for an unknown name, a wrong password and an inactive account. Tries are
 * counted by name, and for a browser that the account knows by browser, so that a stranger cannot keep its owner out.
 */
export async function openSession(
  database: Database,
  http: { request: FastifyRequest; reply: FastifyReply },
  config: Config,
  credentials: { username: string; password: string },
): Promise<Session> {
  const username = credentials.username.trim().toLowerCase();
  const asked = await inTransaction(database.pool, null, async (tx) => {
    const row = await findAccountByUsername(tx, username);
    const browser = await findKnownBrowser(tx, http.request, username, config);
    const key =
      browser === null
        ? tryKey("sign-in", username)
        : tryKey("sign-in-known-browser", `${username}\n${browser.toString("hex")}`);
    const tries = await countTry(tx, key, ", then try again.");
    return { row, key, tries };
  });
  const { row, key } = asked;
  const isRight = await verifySecret(row?.password_hash ?? nobodysHash, credentials.password);
  if (row === null || !isRight || !row.active) {
    if (isWorthAnEntry(asked.tries)) {
      await inTransaction(database.pool, null, (tx) => recordRefusals(tx, row, key, asked.tries));
    }
    throw new ProblemError("sign-in-refused", "This name and password do not belong to an active account.");
  }
  if (row.password_until !== null && row.password_until <= new Date()) {
    throw new ProblemError(
      "sign-in-refused",
      "This one-time password has run out; ask an administrator for another.",
    );
  }
  const hashedAnew = isHashedAsNow(row.password_hash) ? null : await hashSecret(credentials.password);
  return await inTransaction(database.pool, { id: row.id, role: row.role, username }, async (tx) => {
    await forgetTries(tx, key);
    if (hashedAnew !== null) await keepAnew(tx, row, hashedAnew);
    const expiresAt = await startSession(tx, http, row.id, config);
    await keepKnownBrowser(tx, http, row.id, config);
    const now = await findAccount(tx, row.id);
    if (now === null || !now.active) {
      throw new ProblemError("sign-in-refused", "This name and password do not belong to an active account.");
    }
    return { account: toAccount(now), expiresAt: expiresAt.toISOString() };
  });
}

/** The count of an unknown name stands under its key, which says nothing of what was typed. */
async function recordRefusals(tx: Tx, row: AccountRow | null, key: Buffer, tries: number): Promise<void> {
  await writeEntry(tx, {
    action: "account.refuse",
    ...(row === null
      ? { subjectType: "signIn", subjectId: key.toString("hex").slice(0, 16) }
      : { subjectType: "account", subjectId: row.id }),
    payload: { triedAt: "sign-in", tries },
  });
}

/** The strength of hashing has changed since: the password is hashed by today's, unless somebody changed it meanwhile. */
async function keepAnew(tx: Tx, row: AccountRow, hashed: string): Promise<void> {
  const entryId = await writeEntry(tx, {
    action: "account.rehash",
    subjectType: "account",
    subjectId: row.id,
    payload: {},
  });
  await updatePasswordHash(tx, row.id, { from: row.password_hash, to: hashed }, entryId);
}
