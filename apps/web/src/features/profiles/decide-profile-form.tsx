import { decideProfile, type RuleProfileView } from "@sealbook/contract/profiles";
import { type FormEvent, useState } from "react";
import { useAccount } from "../../api/use-account.ts";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { DateField } from "../../ui/date-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { focusOnArrival } from "../../ui/focus-on-arrival.ts";
import { Notice } from "../../ui/notice.tsx";
import { Panel } from "../../ui/panel.tsx";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { TextArea } from "../../ui/text-area.tsx";

const names = { "/outcome": "Decision", "/effectiveFrom": "In force from", "/reason": "Reason" };

/** Whether a proposed version comes into force, and from when: decided by somebody else than its author. */
export function DecideProfileForm({ profile }: { profile: RuleProfileView }) {
  const account = useAccount();
  const mayDecide = useMay("profile.decide");
  const [outcome, setOutcome] = useState<"approved" | "declined" | "">("");
  const [from, setFrom] = useState("");
  const [reason, setReason] = useState("");
  const [isDone, setDone] = useState(false);
  const submission = useSubmission(decideProfile, { touches: ["people", "meterTests"] });
  if (profile.standing !== "proposed") {
    return isDone ? (
      <div tabIndex={-1} ref={focusOnArrival}>
        <Notice title="Your decision is on record." isAnnounced />
      </div>
    ) : null;
  }
  if (profile.proposedBy?.id === account.id) {
    return (
      <Notice title="You proposed this version: another person decides whether it comes into force. It judges no test until then." />
    );
  }
  if (!mayDecide) {
    return <Notice title="This version is proposed and judges no test until somebody has approved it." />;
  }
  const save = async (event: FormEvent) => {
    event.preventDefault();
    if (outcome === "") {
      submission.refuse([{ pointer: "/outcome", detail: "Approve the version or decline it." }]);
      return;
    }
    const reply = await submission.submit({
      params: { id: profile.id },
      body: {
        outcome,
        effectiveFrom: outcome === "declined" || from.trim() === "" ? null : from.trim(),
        reason: reason.trim(),
      },
    });
    if (reply !== null) setDone(true);
  };
  return (
    <Panel title="Decide on this version">
      <form className="stack" onSubmit={save}>
        <SubmissionSummary submission={submission} names={names} />
        <p>
          Hold it against the published text before it judges anybody's meter: the texts that were read stand
          below, and so does what was not read.
        </p>
        <RadioGroup
          label="Decision"
          id={fieldId("/outcome")}
          value={outcome}
          onChange={setOutcome}
          options={[
            { value: "approved", label: "Approve: it judges tests from the date below" },
            { value: "declined", label: "Decline: it judges nothing, and stays on record" },
          ]}
          error={submission.errorAt("/outcome")}
        />
        {outcome === "declined" ? null : (
          <DateField
            label="In force from"
            optional
            hint="Local date of the first tests that it judges; empty from the beginning"
            id={fieldId("/effectiveFrom")}
            value={from}
            onChange={setFrom}
            error={submission.errorAt("/effectiveFrom")}
          />
        )}
        <TextArea
          label="Reason"
          hint="What you held it against"
          id={fieldId("/reason")}
          value={reason}
          onChange={setReason}
          error={submission.errorAt("/reason")}
          rows={2}
          maxLength={500}
        />
        <div>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            {submission.pending ? "Recording" : "Record the decision"}
          </Button>
        </div>
      </form>
    </Panel>
  );
}
