import { findMeter, getMeter, type MeterRow } from "@sealbook/contract/meters";
import { openWorkItem, type TestReason, testReasonNames, testReasons } from "@sealbook/contract/work-items";
import { useMutation, useQuery } from "@tanstack/react-query";
import { useNavigate } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { call } from "../../api/call.ts";
import { newId } from "../../api/new-id.ts";
import { operationOptions } from "../../api/operation-options.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { DateField } from "../../ui/date-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { PageHeader } from "../../ui/page-header.tsx";
import { Select } from "../../ui/select.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { Waiting } from "../../ui/waiting.tsx";

const names = { "/meterId": "Meter", "/reason": "Reason", "/dueOn": "Due on", "/note": "Note" };

/** Asks for a test of a meter: first which, then why. */
export function NewWorkPage() {
  const [search, change] = useSearchText();
  const meterId = search.meterId ?? "";
  return (
    <div className="stack">
      <PageHeader title="Ask for a test" note="It stands in the list of work until the test is logged." />
      {meterId === "" ? (
        <ChooseMeter onChoose={(chosen) => change({ meterId: chosen })} />
      ) : (
        <AskForTest meterId={meterId} onAnother={() => change({ meterId: "" })} />
      )}
    </div>
  );
}

function ChooseMeter({ onChoose }: { onChoose: (meterId: string) => void }) {
  const [number, setNumber] = useState("");
  const [found, setFound] = useState<readonly MeterRow[] | null>(null);
  const finding = useMutation({
    mutationFn: (wanted: string) => call(findMeter, { query: { number: wanted } }),
    onSuccess: ({ rows }) => {
      const only = rows.length === 1 ? rows[0] : undefined;
      if (only === undefined) setFound(rows);
      else onChoose(only.id);
    },
  });
  const submit = (event: FormEvent) => {
    event.preventDefault();
    if (number.trim() !== "") finding.mutate(number.trim());
  };
  return (
    <form className="stack" onSubmit={submit}>
      {finding.error === null ? null : <ProblemNotice error={finding.error} />}
      <div className="row-fields">
        <TextField
          label="Utility number or serial"
          value={number}
          onChange={setNumber}
          error={found?.length === 0 ? "No meter has exactly this number or serial. Check it." : undefined}
          maxLength={80}
          autoFocus
        />
      </div>
      <div>
        <Button type="submit" kind="primary" isPending={finding.isPending}>
          Find the meter
        </Button>
      </div>
      {found !== null && found.length > 1 ? (
        <div className="stack-tight">
          <p>Several meters carry this serial. Choose one.</p>
          {found.map((meter) => (
            <div key={meter.id}>
              <Button onClick={() => onChoose(meter.id)}>
                {meter.utilityNumber}, {meter.maker} {meter.model}, {meter.place}
              </Button>
            </div>
          ))}
        </div>
      ) : null}
    </form>
  );
}

function AskForTest({ meterId, onAnother }: { meterId: string; onAnother: () => void }) {
  const navigate = useNavigate();
  const meter = useQuery(operationOptions(getMeter, { params: { id: meterId } }));
  const [id] = useState(newId);
  const [reason, setReason] = useState<TestReason | "">("");
  const [dueOn, setDueOn] = useState("");
  const [note, setNote] = useState("");
  const submission = useSubmission(openWorkItem, { touches: ["meters"] });
  if (meter.error !== null) return <ProblemNotice error={meter.error} onRetry={() => void meter.refetch()} />;
  if (meter.data === undefined) return <Waiting what="the meter" />;
  const { utilityNumber, type } = meter.data;
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      // The contract's check names a reason that was not chosen.
      body: {
        id,
        meterId,
        reason: reason as TestReason,
        dueOn: dueOn.trim() === "" ? null : dueOn.trim(),
        note: note.trim(),
      },
    });
    if (reply !== null) await navigate({ to: paths.meter(meterId) });
  };
  return (
    <form className="stack" onSubmit={save}>
      <SubmissionSummary submission={submission} names={names} />
      <p>
        Meter <strong>{utilityNumber}</strong>, {type.maker} {type.model}, form {type.form}{" "}
        <Button kind="quiet" onClick={onAnother}>
          Another meter
        </Button>
      </p>
      <div className="row-fields">
        <Select
          label="Reason"
          id={fieldId("/reason")}
          value={reason}
          onChange={setReason}
          placeholder="Choose why"
          options={testReasons.map((one) => ({ value: one, label: testReasonNames[one] }))}
          error={submission.errorAt("/reason")}
        />
        <DateField
          label="Due on"
          optional
          id={fieldId("/dueOn")}
          value={dueOn}
          onChange={setDueOn}
          error={submission.errorAt("/dueOn")}
        />
      </div>
      <TextArea
        label="Note"
        optional
        id={fieldId("/note")}
        value={note}
        onChange={setNote}
        error={submission.errorAt("/note")}
        maxLength={500}
      />
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Asking" : "Ask for the test"}
        </Button>
      </div>
    </form>
  );
}
