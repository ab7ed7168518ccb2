import { openSecondTry } from "@sealbook/contract/groups";
import type { Lot } from "@sealbook/contract/sampling";
import { Link, useNavigate } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { useRefreshOnClash } from "../../trade/lots/use-refresh-on-clash.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextArea } from "../../ui/text-area.tsx";

/** The second try that the plan of a refused group grants: who may ask for it and until when, or why nobody may. */
export function SecondTryPart({ lot }: { lot: Lot }) {
  const mayRun = useMay("sampling.run");
  const [isAsking, setIsAsking] = useState(false);
  const { secondTry } = lot;
  if (secondTry === null) return null;
  if (secondTry.lotId !== null) {
    return lot.disposition === null ? (
      <p>
        A second try is under way as <Link to={paths.group(secondTry.lotId)}>a lot of its own</Link>: its
        approved decision is the group’s.
      </p>
    ) : null;
  }
  return (
    <section className="stack" aria-label="Second try">
      <p>
        {secondTry.condition} <span className="quiet">{secondTry.source}.</span>
      </p>
      {secondTry.refusal !== null ? (
        <p>No second try may be asked for. {secondTry.refusal}</p>
      ) : isAsking ? (
        <AskForm lot={lot} onCancel={() => setIsAsking(false)} />
      ) : (
        <>
          <p>A quality engineer or a supervisor may ask for it until {secondTry.until}.</p>
          {mayRun ? (
            <div>
              <Button onClick={() => setIsAsking(true)}>Try the group a second time</Button>
            </div>
          ) : null}
        </>
      )}
    </section>
  );
}

function AskForm({ lot, onCancel }: { lot: Lot; onCancel: () => void }) {
  const navigate = useNavigate();
  const [id] = useState(newId);
  const [reason, setReason] = useState("");
  const submission = useSubmission(openSecondTry, { touches: ["sampling"] });
  useRefreshOnClash(submission.problem);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({ params: { id: lot.id }, body: { id, reason: reason.trim() } });
    if (reply !== null) await navigate({ to: paths.group(reply.id) });
  };
  return (
    <form className="stack" onSubmit={save}>
      <SubmissionSummary submission={submission} names={{ "/reason": "Reason" }} />
      <p>
        The meters of the group that are still in service become a lot of their own. It is planned under
        tightened inspection, and its list is published and drawn from anew, with a new seed. What has been
        decided here stands.
      </p>
      <TextArea
        label="Reason"
        hint="Why it is tried again, and how the group was improved before it"
        id={fieldId("/reason")}
        value={reason}
        onChange={setReason}
        error={submission.errorAt("/reason")}
        rows={2}
        maxLength={500}
      />
      <div className="row">
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Opening" : "Open the second try"}
        </Button>
        <Button onClick={onCancel}>Cancel</Button>
      </div>
    </form>
  );
}
