import { type ApiToken, listOwnTokens, revokeOwnToken } from "@sealbook/contract/people";
import { useState } from "react";
import { useSubmission } from "../../api/use-submission.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { Empty } from "../../ui/empty.tsx";
import { Panel } from "../../ui/panel.tsx";
import { NewTokenDialog } from "./new-token-dialog.tsx";
import { tokenColumns } from "./tokens-table.tsx";

/** One's own API tokens, for benches and scripts. */
export function OwnTokens() {
  const [isMaking, setMaking] = useState(false);
  const [revoking, setRevoking] = useState<ApiToken | null>(null);
  return (
    <Panel title="API tokens" actions={<Button onClick={() => setMaking(true)}>Make a token</Button>}>
      <p>
        A token lets a bench or a script in as you, for what it was made for and nothing else. It signs and
        approves nothing; what it records names it.
      </p>
      <PagedTable
        operation={listOwnTokens}
        input={{ query: {} }}
        caption="Your API tokens, newest first"
        noun={["token", "tokens"]}
        rowKey={(token) => token.id}
        isQuiet={(token) => token.revokedAt !== null}
        columns={tokenColumns(Date.now(), setRevoking)}
        empty={<Empty title="You have no API token." />}
      />
      {isMaking ? <NewTokenDialog onDone={() => setMaking(false)} /> : null}
      {revoking === null ? null : <RevokeOwnToken token={revoking} onDone={() => setRevoking(null)} />}
    </Panel>
  );
}

function RevokeOwnToken({ token, onDone }: { token: ApiToken; onDone: () => void }) {
  const submission = useSubmission(revokeOwnToken);
  const revoke = async () => {
    if ((await submission.submit({ params: { id: token.id } })) !== null) onDone();
  };
  return (
    <Dialog
      title={`Revoke the token for ${token.name}?`}
      onClose={onDone}
      buttons={
        <>
          <Button onClick={onDone}>Cancel</Button>
          <Button kind="danger" onClick={() => void revoke()} isPending={submission.pending}>
            Revoke it
          </Button>
        </>
      }
    >
      <SubmissionSummary submission={submission} names={{}} />
      <p>Its next request is refused. A revoked token does not come back; make another one instead.</p>
    </Dialog>
  );
}
