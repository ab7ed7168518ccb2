import type { OpenSessionView } from "@sealbook/contract/people";
import type { Config } from "../../config.ts";
import type { Database } from "../../platform/database.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import {
  endSessionById,
  endSessionsOf,
  listSessionRows,
  type OpenSession,
  type SessionRow,
} from "../../platform/sessions.ts";
import { actorOf, type Tx } from "../../platform/transaction.ts";
import { findAccount } from "./store.ts";

export async function listOwnSessions(
  database: Database,
  session: OpenSession,
  config: Config,
): Promise<{ rows: OpenSessionView[] }> {
  const rows = await listSessionRows(reading(database), session.actor.id, session.tokenHash, config);
  return { rows: rows.map(toView) };
}

export async function listSessionsOfPerson(
  database: Database,
  accountId: string,
  session: OpenSession,
  config: Config,
): Promise<{ rows: OpenSessionView[] }> {
  const source = reading(database);
  if ((await findAccount(source, accountId)) === null) throw notFound("account");
  const rows = await listSessionRows(source, accountId, session.tokenHash, config);
  return { rows: rows.map(toView) };
}

/** Ends one of one's own sessions, such as that of a tablet left behind. */
export async function endOwnSession(tx: Tx, sessionId: string): Promise<void> {
  const { id } = actorOf(tx);
  if (!(await endSessionById(tx, id, sessionId))) throw notFound("session");
  await recordEnd(tx, id, 1, null);
}

/** Ends one of a person's sessions, or all of them: the next request of each is refused. */
export async function endSessionsOfPerson(
  tx: Tx,
  accountId: string,
  { sessionId, reason }: { sessionId: string | null; reason: string },
): Promise<void> {
  if ((await findAccount(tx, accountId)) === null) throw notFound("account");
  if (sessionId === null) {
    await recordEnd(tx, accountId, await endSessionsOf(tx, accountId, null), reason);
    return;
  }
  if (!(await endSessionById(tx, accountId, sessionId))) throw notFound("session");
  await recordEnd(tx, accountId, 1, reason);
}

async function recordEnd(tx: Tx, accountId: string, sessions: number, reason: string | null): Promise<void> {
  await writeEntry(tx, {
    action: "account.endSessions",
    subjectType: "account",
    subjectId: accountId,
    reason,
    payload: { sessions },
  });
}

function toView(row: SessionRow): OpenSessionView {
  return {
    id: row.id,
    createdAt: row.created_at.toISOString(),
    lastSeenAt: row.last_seen_at.toISOString(),
    expiresAt: row.expires_at.toISOString(),
    browser: row.browser,
    isThis: row.is_this,
  };
}
