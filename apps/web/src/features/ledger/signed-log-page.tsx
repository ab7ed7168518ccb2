import "./ledger-entry-page.css";
import { getLogHeadFile } from "@sealbook/contract/ledger";
import { operationUrl } from "../../api/operation-url.ts";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { LogOutlets } from "./log-outlets.tsx";
import { LostHistoryPanel } from "./lost-history.tsx";
import { SignedHead } from "./signed-head.tsx";

/** The log's newest signed head, and a way to hold one that was kept elsewhere against it. */
export function SignedLogPage() {
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
      <SignedHead />
      <LostHistoryPanel />
      <Panel title="Where heads are sent">
        <LogOutlets />
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
