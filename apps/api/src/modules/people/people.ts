import type { Account, Session, Shop } from "@sealbook/contract/people";
import type { Role } from "@sealbook/contract/permissions";
import type { FastifyReply } from "fastify";
import type { Config } from "../../config.ts";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { localDate } from "../../platform/local-date.ts";
import { eraseFromReplies, erasePersonalValue, keepPersonalValue } from "../../platform/personal-values.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { hashSecret, verifySecret } from "../../platform/secrets.ts";
import { endSessionsOf, type OpenSession, startSession } from "../../platform/sessions.ts";
import { inTransaction, type Tx } from "../../platform/transaction.ts";
import { isCommonPassword } from "./common-passwords.ts";
import { forgetWrongPins, requireOwnPassword } from "./confirm-self.ts";
import {
  countOtherAdministrators,
  findAccount,
  findAccountByUsername,
  findShop,
  insertAccount,
  listAccounts,
  lockAccount,
  toAccount,
  updateAccount,
  updatePassword,
  updatePin,
} from "./store.ts";

export { requireOwnPassword, requirePin } from "./confirm-self.ts";
export { parseAverageMethods } from "./shop-settings.ts";
export { findSignatures, type RecordToSign, signWithPassword } from "./sign-with-password.ts";

/** A hash of no password: signing in with an unknown name takes as long as with a known one. */
const nobodysHash =
  "$argon2id$v=19$m=19456,t=2,p=1$c29tZXNhbHRzb21lc2FsdA$K13EBUiG7JV+9ZxztmHFTdb7J0WQsnj2V8bZaqyPptE";

/** Signs in: the same refusal for an unknown name, a wrong password and an inactive account. */
export async function openSession(
  database: Database,
  reply: FastifyReply,
  config: Config,
  credentials: { username: string; password: string },
): Promise<Session> {
  const username = credentials.username.trim().toLowerCase();
  const row = await inTransaction(database.pool, null, (tx) => findAccountByUsername(tx, username));
  const right = await verifySecret(row?.password_hash ?? nobodysHash, credentials.password);
  if (row === null || !right || !row.active) {
    throw new ProblemError("sign-in-refused", "This name and password do not belong to an active account.");
  }
  const expiresAt = await inTransaction(database.pool, { id: row.id, role: row.role, username }, (tx) =>
    startSession(tx, reply, row.id, config),
  );
  return { account: toAccount(row), expiresAt: expiresAt.toISOString() };
}

export async function getSession(database: Database, session: OpenSession): Promise<Session> {
  const row = await inTransaction(database.pool, session.actor, (tx) => findAccount(tx, session.actor.id));
  if (row === null) throw notFound("account");
  return { account: toAccount(row), expiresAt: session.expiresAt.toISOString() };
}

/** Sets the signing PIN; the password is asked again, so that a screen left open gives nobody a signature. */
export async function setPin(tx: Tx, input: { password: string; pin: string }): Promise<void> {
  const row = await requireOwnPassword(tx, input.password, "/password");
  if (/^(\d)\1+$/.test(input.pin) || "0123456789876543210".includes(input.pin)) {
    throw refusedByRule("/pin", "Choose a PIN that is not one digit repeated or a run of digits.");
  }
  const entryId = await writeEntry(tx, {
    action: "account.setPin",
    subjectType: "account",
    subjectId: row.id,
    payload: {},
  });
  await updatePin(tx, row.id, await hashSecret(input.pin), entryId);
  await forgetWrongPins(tx, row.id);
}

export async function changePassword(
  tx: Tx,
  input: { currentPassword: string; newPassword: string },
  session: OpenSession,
): Promise<void> {
  const row = await requireOwnPassword(tx, input.currentPassword, "/currentPassword");
  refuseCommonPassword(input.newPassword, row.username, "/newPassword");
  const entryId = await writeEntry(tx, {
    action: "account.setPassword",
    subjectType: "account",
    subjectId: row.id,
    payload: {},
  });
  await updatePassword(tx, row.id, await hashSecret(input.newPassword), entryId);
  await endSessionsOf(tx, row.id, session.tokenHash);
}

export async function listPeople(
  database: Database,
  query: { cursor?: string | undefined; limit: number; role?: Role | undefined },
): Promise<{ rows: Account[]; next: string | null }> {
  const after = query.cursor === undefined ? null : String(fromCursor(query.cursor, 1)[0]);
  return toPage(
    await listAccounts(database, { role: query.role, after, limit: query.limit }),
    query.limit,
    (row) => [row.username],
  );
}

export async function createPerson(
  tx: Tx,
  person: { id: string; username: string; name: string; role: Role; password: string },
): Promise<Account> {
  refuseCommonPassword(person.password, person.username, "/password");
  const passwordHash = await hashSecret(person.password);
  const name = await keepPersonalValue(tx, "person-name", person.name);
  const entryId = await writeEntry(tx, {
    action: "account.create",
    subjectType: "account",
    subjectId: person.id,
    // The sign-in name stays out: it is often made from the person's name, and goes when the person is forgotten.
    payload: { role: person.role, nameCommitment: name.commitment },
  });
  try {
    await insertAccount(tx, { ...person, nameId: name.id, passwordHash, entryId });
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError(
      "already-exists",
      `The sign-in name ${person.username} is taken; choose another.`,
      {
        errors: [{ pointer: "/username", detail: "This name is taken." }],
      },
    );
  }
  const row = await findAccount(tx, person.id);
  if (row === null) throw notFound("account");
  return toAccount(row);
}

export async function changePerson(
  tx: Tx,
  id: string,
  version: number,
  change: { name: string; role: Role; active: boolean; reason: string },
): Promise<Account> {
  const row = await lockAccount(tx, id);
  if (row === null) throw notFound("account");
  if (row.version !== version) {
    throw new ProblemError("stale", "Someone changed this account since you opened it.", {
      current: toAccount(row),
    });
  }
  if (
    row.role === "administrator" &&
    (change.role !== "administrator" || !change.active) &&
    (await countOtherAdministrators(tx, id)) === 0
  ) {
    throw refusedByRule("/role", "This is the last active administrator; open another one first.");
  }
  const name = row.name === change.name ? null : await keepPersonalValue(tx, "person-name", change.name);
  const entryId = await writeEntry(tx, {
    action: "account.change",
    subjectType: "account",
    subjectId: id,
    reason: change.reason,
    payload: {
      before: { role: row.role, active: row.active },
      after: { role: change.role, active: change.active },
      ...(name === null ? {} : { nameCommitment: name.commitment }),
    },
  });
  await updateAccount(tx, id, {
    username: row.username,
    nameId: name?.id ?? row.name_id,
    role: change.role,
    active: change.active,
    entryId,
  });
  if (name !== null) await erasePersonalValue(tx, row.name_id);
  if (!change.active || change.role !== row.role) await endSessionsOf(tx, id, null);
  return await getAccount(tx, id);
}

export async function resetPassword(
  tx: Tx,
  id: string,
  input: { password: string; reason: string },
): Promise<void> {
  const row = await lockAccount(tx, id);
  if (row === null) throw notFound("account");
  refuseCommonPassword(input.password, row.username, "/password");
  const entryId = await writeEntry(tx, {
    action: "account.setPassword",
    subjectType: "account",
    subjectId: id,
    reason: input.reason,
    payload: {},
  });
  await updatePassword(tx, id, await hashSecret(input.password), entryId);
  await endSessionsOf(tx, id, null);
}

/** Erases the name of a person who has left; the account stays as a number, and the ledger still verifies. */
export async function forgetPerson(tx: Tx, id: string, reason: string): Promise<Account> {
  const row = await lockAccount(tx, id);
  if (row === null) throw notFound("account");
  if (row.active) throw new ProblemError("wrong-state", "This account is active; make it inactive first.");
  if (row.name === null) throw new ProblemError("wrong-state", "This person is forgotten already.");
  const entryId = await writeEntry(tx, {
    action: "account.forget",
    subjectType: "account",
    subjectId: id,
    reason,
    payload: {},
  });
  const username = `erased-${id.slice(-12)}`;
  await updateAccount(tx, id, { username, nameId: row.name_id, role: row.role, active: false, entryId });
  await erasePersonalValue(tx, row.name_id);
  await eraseFromReplies(tx, row.username);
  return await getAccount(tx, id);
}

export async function getShop(database: Database, now: Date): Promise<Shop> {
  const shop = await findShop(database);
  if (shop === null)
    throw new ProblemError("unavailable", "The shop is being set up; try again in a moment.");
  return { ...shop, today: localDate(now, shop.timeZone) };
}

async function getAccount(tx: Tx, id: string): Promise<Account> {
  const row = await findAccount(tx, id);
  if (row === null) throw notFound("account");
  return toAccount(row);
}

function refuseCommonPassword(password: string, username: string, pointer: string): void {
  if (isCommonPassword(password, username)) {
    throw refusedByRule(
      pointer,
      "This password is among those that are tried first; a phrase of a few words is better.",
    );
  }
}
