import type { Account, Session, Shop } from "@sealbook/contract/people";
import type { Role } from "@sealbook/contract/permissions";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { forgetTries, tryKey } from "../../platform/failed-tries.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { eraseFromReplies, erasePersonalValue, keepPersonalValue } from "../../platform/personal-values.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { hashSecret } from "../../platform/secrets.ts";
import { endSessionsOf, type OpenSession } from "../../platform/sessions.ts";
import { shopToday } from "../../platform/shop-today.ts";
import { inTransaction, type Tx } from "../../platform/transaction.ts";
import { isCommonPassword } from "./common-passwords.ts";
import { forgetWrongPins, requireOwnPassword } from "./confirm-self.ts";
import { newOneTimePassword } from "./one-time-password.ts";
import {
  countOtherAdministrators,
  findAccount,
  findShop,
  findWorkplaces,
  insertAccount,
  listAccounts,
  lockAccount,
  toAccount,
  updateAccount,
  updatePassword,
  updatePin,
} from "./store.ts";
import { revokeTokensOf } from "./tokens.ts";

export { requireOwnPassword, requirePin } from "./confirm-self.ts";
export { parseAverageMethods } from "./shop-settings.ts";
export { findSignatures, type RecordToSign, signWithPassword } from "./sign-with-password.ts";

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
  if (input.newPassword === input.currentPassword) {
    throw refusedByRule("/newPassword", "This is the password that you have; choose another one.");
  }
  const entryId = await writeEntry(tx, {
    action: "account.setPassword",
    subjectType: "account",
    subjectId: row.id,
    payload: {},
  });
  await updatePassword(tx, row.id, await hashSecret(input.newPassword), null, entryId);
  await endSessionsOf(tx, row.id, session.tokenHash);
}

export async function listPeople(
  database: Database,
  query: { cursor?: string | undefined; limit: number; role?: Role | undefined },
): Promise<{ rows: Account[]; next: string | null }> {
  const after = query.cursor === undefined ? null : String(fromCursor(query.cursor, 1)[0]);
  return toPage(
    await listAccounts(reading(database), { role: query.role, after, limit: query.limit }),
    query.limit,
    (row) => [row.username],
  );
}

/** Hours for which a password that somebody else gave can be used, once: to choose one's own. */
const oneTimeHours = 72;

function endOfOneTimePassword(): Date {
  return new Date(Date.now() + oneTimeHours * 3_600_000);
}

/**
 * Opens an account.
 *
 * @param isOneTime whether the password only opens its own change, within three days
 */
export async function createPerson(
  tx: Tx,
  person: { id: string; username: string; name: string; role: Role; password: string },
  isOneTime = false,
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
    await insertAccount(tx, {
      ...person,
      nameId: name.id,
      passwordHash,
      mustChangePassword: isOneTime,
      passwordUntil: isOneTime ? endOfOneTimePassword() : null,
      entryId,
    });
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
  change: {
    name: string;
    role: Role;
    active: boolean;
    placeIds?: readonly string[] | undefined;
    reason: string;
  },
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
  const placesBefore = row.place_ids ?? [];
  const placeIds = change.placeIds ?? placesBefore;
  await refuseOtherPlaces(tx, placeIds);
  const name = row.name === change.name ? null : await keepPersonalValue(tx, "person-name", change.name);
  const entryId = await writeEntry(tx, {
    action: "account.change",
    subjectType: "account",
    subjectId: id,
    reason: change.reason,
    payload: {
      before: { role: row.role, active: row.active, places: placesBefore },
      after: { role: change.role, active: change.active, places: [...placeIds] },
      ...(name === null ? {} : { nameCommitment: name.commitment }),
    },
  });
  await updateAccount(tx, id, {
    username: row.username,
    nameId: name?.id ?? row.name_id,
    role: change.role,
    active: change.active,
    placeIds,
    entryId,
  });
  if (name !== null) await erasePersonalValue(tx, row.name_id);
  if (!change.active || change.role !== row.role) await endSessionsOf(tx, id, null);
  if (!change.active) await revokeTokensOf(tx, id, "The account was closed");
  return await getAccount(tx, id);
}

/**
 * Gives somebody who has lost their password another one, which opens nothing but its own change and runs out; their
 * sessions and API tokens end. It is in the reply and nowhere else.
 */
export async function resetPassword(
  tx: Tx,
  id: string,
  reason: string,
): Promise<{ password: string; until: string }> {
  const row = await lockAccount(tx, id);
  if (row === null) throw notFound("account");
  if (row.name === null)
    throw new ProblemError("wrong-state", "This person is forgotten; nobody can sign in.");
  const password = newOneTimePassword();
  const until = endOfOneTimePassword();
  const entryId = await writeEntry(tx, {
    action: "account.setPassword",
    subjectType: "account",
    subjectId: id,
    reason,
    payload: { oneTime: true },
  });
  await updatePassword(tx, id, await hashSecret(password), until, entryId);
  await endSessionsOf(tx, id, null);
  // Whoever had the password may have made tokens with it.
  await revokeTokensOf(tx, id, "An administrator reset the password");
  // Whoever got it comes in at once, however often somebody tried before.
  await forgetTries(tx, tryKey("sign-in", row.username));
  return { password, until: until.toISOString() };
}

async function refuseOtherPlaces(tx: Tx, placeIds: readonly string[]): Promise<void> {
  const known = new Set(await findWorkplaces(tx, placeIds));
  if (placeIds.some((id) => !known.has(id))) {
    throw refusedByRule("/placeIds", "An account is limited to shops, store rooms or vans on record.");
  }
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
  await updateAccount(tx, id, {
    username,
    nameId: row.name_id,
    role: row.role,
    active: false,
    placeIds: [],
    entryId,
  });
  await erasePersonalValue(tx, row.name_id);
  await eraseFromReplies(tx, row.username);
  return await getAccount(tx, id);
}

/** Erases the name of somebody without an account, whom certificates name as their calibrator. */
export async function forgetCalibrator(
  tx: Tx,
  { name, reason }: { name: string; reason: string },
): Promise<{ calibrations: number }> {
  const named = await tx.query<{ calibration_id: string; value_id: string }>(
    `SELECT c.id AS calibration_id, v.id AS value_id FROM calibration c JOIN personal_value v ON v.id = c.performed_by_id
     WHERE v.value = $1 ORDER BY c.id`,
    [name],
  );
  if (named.length === 0) {
    throw new ProblemError(
      "not-found",
      "No calibration names this person; write the name as the certificate does.",
      {
        errors: [{ pointer: "/name", detail: "No calibration names this person." }],
      },
    );
  }
  await writeEntry(tx, {
    action: "calibration.forget",
    subjectType: "calibration",
    subjectId: named[0]?.calibration_id ?? "",
    reason,
    payload: { calibrations: named.map((one) => one.calibration_id) },
  });
  for (const { value_id } of named) await erasePersonalValue(tx, value_id);
  return { calibrations: named.length };
}

export async function getShop(database: Database): Promise<Shop> {
  const shop = await findShop(database);
  if (shop === null)
    throw new ProblemError("unavailable", "The shop is being set up; try again in a moment.");
  return { ...shop, today: await shopToday(reading(database)) };
}

export async function getPerson(database: Database, id: string): Promise<Account> {
  const row = await findAccount(reading(database), id);
  if (row === null) throw notFound("account");
  return toAccount(row);
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
