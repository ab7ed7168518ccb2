import type { OpenSessionView } from "@sealbook/contract/people";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { Button } from "../../ui/button.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { Empty } from "../../ui/empty.tsx";
import { browserName } from "./browser-name.ts";

/** Open sessions, each with a way to end it but for the one on this screen. */
export function SessionsTable({
  rows,
  caption,
  onEnd,
  isPending,
}: {
  rows: readonly OpenSessionView[];
  caption: string;
  onEnd: (session: OpenSessionView) => void;
  isPending: boolean;
}) {
  if (rows.length === 0) return <Empty title="No session is open." />;
  return (
    <DataTable
      caption={caption}
      rows={rows}
      rowKey={(session) => session.id}
      columns={[
        {
          heading: "Browser",
          isRowHeader: true,
          cell: (session) => <span title={session.browser}>{browserName(session.browser)}</span>,
        },
        {
          heading: "Signed in",
          isNowrap: true,
          cell: (session) => <LocalInstant instant={session.createdAt} />,
        },
        {
          heading: "Last used",
          isNowrap: true,
          cell: (session) => <LocalInstant instant={session.lastSeenAt} />,
        },
        {
          heading: "Ends by",
          isNowrap: true,
          isNarrowHidden: true,
          cell: (session) => <LocalInstant instant={session.expiresAt} />,
        },
        {
          heading: "Session",
          cell: (session) =>
            session.isThis ? (
              "this one"
            ) : (
              <Button kind="quiet" onClick={() => onEnd(session)} isPending={isPending}>
                End<span className="visually-hidden"> the session of {browserName(session.browser)}</span>
              </Button>
            ),
        },
      ]}
    />
  );
}
