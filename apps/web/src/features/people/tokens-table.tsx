import type { ApiToken } from "@sealbook/contract/people";
import { tokenScopeNames } from "@sealbook/contract/token-scopes";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { Button } from "../../ui/button.tsx";
import type { Column } from "../../ui/data-table.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";

/** Columns of a list of API tokens, with a way to revoke what still opens something. */
export function tokenColumns(now: number, onRevoke: (token: ApiToken) => void): Column<ApiToken>[] {
  return [
    { heading: "For", isRowHeader: true, cell: (token) => token.name },
    {
      heading: "Opens",
      cell: (token) => token.scopes.map((scope) => tokenScopeNames[scope]).join("; "),
    },
    { heading: "State", cell: (token) => <TokenState token={token} now={now} /> },
    { heading: "Ends", isNowrap: true, cell: (token) => <LocalInstant instant={token.expiresAt} /> },
    {
      heading: "Last used",
      isNowrap: true,
      cell: (token) => (token.lastUsedAt === null ? "never" : <LocalInstant instant={token.lastUsedAt} />),
    },
    {
      heading: "Made",
      isNowrap: true,
      isNarrowHidden: true,
      cell: (token) => <LocalInstant instant={token.createdAt} />,
    },
    {
      heading: "Token",
      cell: (token) =>
        isOpen(token, now) ? (
          <Button kind="quiet" onClick={() => onRevoke(token)}>
            Revoke<span className="visually-hidden"> the token for {token.name}</span>
          </Button>
        ) : null,
    },
  ];
}

function isOpen({ revokedAt, expiresAt }: ApiToken, now: number): boolean {
  return revokedAt === null && Date.parse(expiresAt) > now;
}

function TokenState({ token, now }: { token: ApiToken; now: number }) {
  if (token.revokedAt !== null) return <StatusMark tone="neutral">revoked</StatusMark>;
  return isOpen(token, now) ? (
    <StatusMark tone="good">open</StatusMark>
  ) : (
    <StatusMark tone="neutral">run out</StatusMark>
  );
}
