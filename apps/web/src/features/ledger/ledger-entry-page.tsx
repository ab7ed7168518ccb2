import "./ledger-entry-page.css";
import { getLedgerEntry } from "@sealbook/contract/ledger";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../../api/operation-options.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { actionName } from "./action-names.ts";
import { EntryInLog } from "./entry-in-log.tsx";
import { hashOf } from "./hash-of.ts";
import { RecordedChange } from "./recorded-change.tsx";
import { SubjectLink } from "./subject-link.tsx";
import { SupersededRecord } from "./superseded-record.tsx";

/** One entry of the ledger, with its hash computed anew in this browser. */
export function LedgerEntryPage() {
  const entryId = useRouteParam("entryId");
  const { data: entry } = useSuspenseQuery(operationOptions(getLedgerEntry, { params: { id: entryId } }));
  const isHashTrue = hashOf(entry) === entry.hash;
  return (
    <div className="stack">
      <PageHeader title={actionName(entry.action)} note={<>Ledger entry, {entry.action}</>} />
      <DefinitionList
        items={[
          { term: "At", value: <LocalInstant instant={entry.at} /> },
          { term: "By", value: <PersonName person={entry.actor} /> },
          { term: "About", value: <SubjectLink entry={entry} /> },
          { term: "Reason", value: entry.reason ?? "none given" },
          { term: "Entry", value: <code>{entry.id}</code> },
          {
            term: "Everything about this record",
            value: (
              <Link to={paths.ledger()} search={{ subjectId: entry.subjectId }}>
                its entries
              </Link>
            ),
          },
        ]}
      />
      <Panel title="What was recorded">
        <RecordedChange payload={entry.payload} />
        <pre className="ledger-payload">{pretty(entry.payload)}</pre>
        <p className="quiet small">
          Names, addresses and phone numbers stand here as salted commitments, so that a person can be
          forgotten and the entry still verifies.
        </p>
      </Panel>
      <SupersededRecord entry={entry} />
      <Panel title="Hash">
        <p className="ledger-text">
          <code>{entry.hash}</code>
        </p>
        <p className="quiet small">
          SHA-256, as the leaf hash of RFC 6962, over the canonical JSON of the entry: its id, time, person,
          action, record, reason, and the payload as stored. The leaf in the log holds it, and the root over
          the hashes of the rows that were written with the entry.
        </p>
        <p>
          {isHashTrue ? (
            <StatusMark tone="good">Computed anew in this browser: agrees</StatusMark>
          ) : (
            <StatusMark tone="bad">Computed anew in this browser: differs</StatusMark>
          )}
        </p>
        <details>
          <summary>The payload as stored</summary>
          <pre className="ledger-payload ledger-text">{entry.payload}</pre>
        </details>
      </Panel>
      <EntryInLog entry={entry} />
    </div>
  );
}

/** Canonical JSON spread over lines; numbers are strings in it, so nothing is lost by reading it. */
function pretty(payload: string): string {
  try {
    return JSON.stringify(JSON.parse(payload), null, 2);
  } catch {
    return payload;
  }
}
