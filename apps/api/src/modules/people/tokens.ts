import type { ApiToken } from "@sealbook/contract/people";
import { type TokenScope, tokenScopes } from "@sealbook/contract/token-scopes";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError } from "../../platform/problem-error.ts";
import { apiTokenPrefix, hashOfSecret, newSecret } from "../../platform/sessions.ts";
import { actorOf, type Source, type Tx } from "../../platform/transaction.ts";
import { requireOwnPassword } from "./confirm-self.ts";
import { findAccount } from "./store.ts";

interface TokenRow {
  id: string;
  name: string;
  scopes: string[];
  created_at: Date;
  expires_at: Date;
  revoked_at: Date | null;
  last_used_at: Date | null;
}

const tokenRows = `SELECT t.id, t.name, t.scopes, t.created_at, t.expires_at, t.revoked_at, u.last_used_at
  FROM api_token t LEFT JOIN api_token_use u ON u.token_id = t.id`;

/** An account's API tokens, newest first: ids sort by time. */
export async function listTokens(
  source: Source,
  accountId: string,
  query: { cursor?: string | undefined; limit: number },
): Promise<{ rows: ApiToken[]; next: string | null }> {
  const before = query.cursor === undefined ? null : String(fromCursor(query.cursor, 1)[0]);
  const rows = await source.query<TokenRow>(
    `${tokenRows} WHERE t.account_id = $1 AND ($2::uuid IS NULL OR t.id < $2) ORDER BY t.id DESC LIMIT $3`,
    [accountId, before, query.limit + 1],
  );
  const page = toPage(rows, query.limit, (row) => [row.id]);
  return { rows: page.rows.map(toToken), next: page.next };
}

export async function listTokensOfPerson(
  source: Source,
  accountId: string,
  query: { cursor?: string | undefined; limit: number },
): Promise<{ rows: ApiToken[]; next: string | null }> {
  if ((await findAccount(source, accountId)) === null) throw notFound("account");
  return await listTokens(source, accountId, query);
}

/**
 * Makes a token for a bench or a script. The secret is given back once; only its hash is kept.
 *
 * @param token.days days until it ends, 1 to 365
 */
export async function createToken(
  tx: Tx,
  token: { id: string; name: string; scopes: readonly TokenScope[]; days: number; ownPassword: string },
): Promise<{ token: ApiToken; secret: string }> {
  const { id: accountId } = await requireOwnPassword(tx, token.ownPassword, "/ownPassword");
  const secret = `${apiTokenPrefix}${newSecret()}`;
  const scopes = tokenScopes.filter((scope) => token.scopes.includes(scope));
  const expiresAt = new Date(Date.now() + token.days * 86_400_000);
  const entryId = await writeEntry(tx, {
    action: "apiToken.create",
    subjectType: "apiToken",
    subjectId: token.id,
    payload: { accountId, name: token.name, scopes, expiresAt: expiresAt.toISOString() },
  });
  try {
    await tx.query(
      `INSERT INTO api_token (id, account_id, name, token_hash, scopes, expires_at, entry_id)
       VALUES ($1, $2, $3, $4, $5, $6, $7)`,
      [token.id, accountId, token.name, hashOfSecret(secret), scopes, expiresAt, entryId],
    );
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError(
      "already-exists",
      "This token is on record already, and its secret was shown then. Revoke it and make another if it was lost.",
    );
  }
  return { token: await getToken(tx, accountId, token.id), secret };
}

/** Ends one of one's own tokens. */
export async function revokeOwnToken(tx: Tx, id: string): Promise<ApiToken> {
  return await revokeToken(tx, actorOf(tx).id, id, null);
}

/** Ends a token of an account; its next request is refused. */
export async function revokeToken(
  tx: Tx,
  accountId: string,
  id: string,
  reason: string | null,
): Promise<ApiToken> {
  const [row] = await tx.query<{ revoked_at: Date | null }>(
    "SELECT revoked_at FROM api_token WHERE id = $1 AND account_id = $2 FOR UPDATE",
    [id, accountId],
  );
  if (row === undefined) throw notFound("API token");
  if (row.revoked_at !== null) throw new ProblemError("wrong-state", "This token is revoked already.");
  const entryId = await writeEntry(tx, {
    action: "apiToken.revoke",
    subjectType: "apiToken",
    subjectId: id,
    reason,
    payload: { accountId },
  });
  await tx.query("UPDATE api_token SET revoked_at = now_to_the_millisecond(), entry_id = $2 WHERE id = $1", [
    id,
    entryId,
  ]);
  return await getToken(tx, accountId, id);
}

/** Ends every token of an account, when it is closed; each has an entry of its own. */
export async function revokeTokensOf(tx: Tx, accountId: string, reason: string): Promise<void> {
  const open = await tx.query<{ id: string }>(
    "SELECT id FROM api_token WHERE account_id = $1 AND revoked_at IS NULL AND expires_at > clock_timestamp()",
    [accountId],
  );
  for (const { id } of open) await revokeToken(tx, accountId, id, reason);
}

async function getToken(tx: Tx, accountId: string, id: string): Promise<ApiToken> {
  const [row] = await tx.query<TokenRow>(`${tokenRows} WHERE t.id = $1 AND t.account_id = $2`, [
    id,
    accountId,
  ]);
  if (row === undefined) throw notFound("API token");
  return toToken(row);
}

function toToken(row: TokenRow): ApiToken {
  return {
    id: row.id,
    name: row.name,
    scopes: tokenScopes.filter((scope) => row.scopes.includes(scope)),
    createdAt: row.created_at.toISOString(),
    expiresAt: row.expires_at.toISOString(),
    revokedAt: row.revoked_at?.toISOString() ?? null,
    lastUsedAt: row.last_used_at?.toISOString() ?? null,
  };
}
