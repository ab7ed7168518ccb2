import "./ledger-entry-page.css";
import { getLogHead, getLogHeadFile } from "@sealbook/contract/ledger";
import { useSuspenseQuery } from "@tanstack/react-query";
import { operationOptions } from "../../api/operation-options.ts";
import { operationUrl } from "../../api/operation-url.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { CompareHead } from "./compare-head.tsx";
import { LogOutlets } from "./log-outlets.tsx";
import { LostHistoryPanel } from "./lost-history.tsx";

/** The log's newest signed head, and a way to hold one that was kept elsewhere against it. */
export function SignedLogPage() {
  const { data: head } = useSuspenseQuery(operationOptions(getLogHead, {}));
  return (
    <div className="stack">
      <PageHeader
        title="Signed log"
        note="Every ledger entry stands in one log; its signed head binds them all, their order and number."
        actions={
          <a className="button" href={operationUrl(getLogHeadFile)} download>
            Download the head
          </a>
        }
      />
      <DefinitionList
        items={[
          { term: "Log", value: head.origin },
          { term: "Entries", value: head.size.toLocaleString("en-US") },
          { term: "Signed", value: <LocalInstant instant={head.at} /> },
          { term: "Root", value: <code className="ledger-text">{head.root}</code> },
          { term: "Key", value: <code className="ledger-text">{head.key}</code> },
        ]}
      />
      <LostHistoryPanel />
      <Panel title="Where heads are sent">
        <LogOutlets />
      </Panel>
      <Panel title="Compare with a head that you kept">
        <CompareHead newest={head} />
      </Panel>
      <Panel title="What this proves">
        <p>
          Whoever keeps a signed head outside this service can show later whether any entry under it was
          changed, removed, added or moved. Without such a head nobody can know whether the log was written
          anew since; and a test that was never recorded is in no log.
        </p>
      </Panel>
    </div>
  );
}
