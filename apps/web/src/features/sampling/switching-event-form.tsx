import { addSwitchingEvent, type Series } from "@sealbook/contract/sampling-series";
import {
  type SamplingCharacteristic,
  samplingCharacteristicNames,
} from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { type InspectionSeverity, inspectionSeverities } from "@sealbook/metrology/sampling/sampling-terms";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { severityNames } from "../../trade/lots/severity-names.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { Select } from "../../ui/select.tsx";
import { TextArea } from "../../ui/text-area.tsx";

type EventKind = "irregular" | "corrective-action" | "directed";

const names = {
  "/kind": "What happened",
  "/characteristic": "Characteristic",
  "/severity": "Inspection state",
  "/reason": "Reason",
};

/** Puts something on record that changes the inspection state of a series besides its lots. */
export function SwitchingEventForm({ series, onDone }: { series: Series; onDone: () => void }) {
  const [id] = useState(newId);
  const [kind, setKind] = useState<EventKind | "">("");
  const [characteristic, setCharacteristic] = useState<SamplingCharacteristic | "">("");
  const [severity, setSeverity] = useState<InspectionSeverity | "">("");
  const [reason, setReason] = useState("");
  const submission = useSubmission(addSwitchingEvent);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    if (kind === "directed" && severity === "") {
      submission.refuse([{ pointer: "/severity", detail: "Say which state is directed." }]);
      return;
    }
    const reply = await submission.submit({
      body: {
        id,
        series: series.series,
        schemeCode: series.schemeCode,
        characteristic: characteristic === "" ? null : characteristic,
        // The contract's check names a kind that was not chosen.
        kind: kind as EventKind,
        severity: kind === "directed" && severity !== "" ? severity : null,
        reason: reason.trim(),
      },
    });
    if (reply !== null) onDone();
  };
  return (
    <form className="stack" onSubmit={save}>
      <SubmissionSummary submission={submission} names={names} />
      <RadioGroup
        label="What happened"
        id={fieldId("/kind")}
        value={kind}
        onChange={setKind}
        options={[
          { value: "irregular", label: "Production became irregular" },
          { value: "corrective-action", label: "Corrective action was taken" },
          { value: "directed", label: "The responsible authority directs a state" },
        ]}
        error={submission.errorAt("/kind")}
      />
      <div className="row-fields">
        {series.characteristics.length < 2 ? null : (
          <Select
            label="Characteristic"
            id={fieldId("/characteristic")}
            value={characteristic}
            onChange={setCharacteristic}
            placeholder="All that are judged"
            options={series.characteristics.map((one) => ({
              value: one.characteristic,
              label: samplingCharacteristicNames[one.characteristic],
            }))}
            error={submission.errorAt("/characteristic")}
          />
        )}
        {kind === "directed" ? (
          <Select
            label="Inspection state"
            id={fieldId("/severity")}
            value={severity}
            onChange={setSeverity}
            placeholder="Choose the state"
            options={inspectionSeverities.map((one) => ({ value: one, label: severityNames[one] }))}
            error={submission.errorAt("/severity")}
          />
        ) : null}
      </div>
      <TextArea
        label="Reason"
        id={fieldId("/reason")}
        value={reason}
        onChange={setReason}
        error={submission.errorAt("/reason")}
        rows={2}
        maxLength={500}
      />
      <div className="row">
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Saving" : "Put it on record"}
        </Button>
        <Button onClick={onDone}>Cancel</Button>
      </div>
    </form>
  );
}
