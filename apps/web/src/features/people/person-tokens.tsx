import {
  type Account,
  type ApiToken,
  listTokensOfPerson,
  revokeTokenOfPerson,
} from "@sealbook/contract/people";
import { useState } from "react";
import { useSubmission } from "../../api/use-submission.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Empty } from "../../ui/empty.tsx";
import { Panel } from "../../ui/panel.tsx";
import { ReasonDialog } from "./reason-dialog.tsx";
import { tokenColumns } from "./tokens-table.tsx";

/** A person's API tokens, for an administrator to revoke. */
export function PersonTokens({ person }: { person: Account }) {
  const [revoking, setRevoking] = useState<ApiToken | null>(null);
  return (
    <Panel title="API tokens">
      <PagedTable
        operation={listTokensOfPerson}
        input={{ params: { id: person.id }, query: {} }}
        caption={`API tokens of ${person.name}, newest first`}
        noun={["token", "tokens"]}
        rowKey={(token) => token.id}
        isQuiet={(token) => token.revokedAt !== null}
        columns={tokenColumns(Date.now(), setRevoking)}
        empty={<Empty title={`${person.name} has no API token.`} />}
      />
      {revoking === null ? null : (
        <RevokeToken person={person} token={revoking} onDone={() => setRevoking(null)} />
      )}
    </Panel>
  );
}

function RevokeToken({ person, token, onDone }: { person: Account; token: ApiToken; onDone: () => void }) {
  const submission = useSubmission(revokeTokenOfPerson);
  const revoke = async (reason: string) => {
    const reply = await submission.submit({
      params: { id: person.id, tokenId: token.id },
      body: { reason },
    });
    if (reply !== null) onDone();
  };
  return (
    <ReasonDialog
      title={`Revoke the token for ${token.name}?`}
      deed="Revoke it"
      summary={<SubmissionSummary submission={submission} names={{ "/reason": "Reason" }} />}
      error={submission.errorAt("/reason")}
      isPending={submission.pending}
      onSubmit={(reason) => void revoke(reason)}
      onDone={onDone}
    >
      <p>Whatever uses it is refused at its next request.</p>
    </ReasonDialog>
  );
}
