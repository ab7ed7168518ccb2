import type { DrawUnit } from "@sealbook/contract/follow-up";
import {
  type AbsenceReason,
  absenceReasonNames,
  absenceReasons,
} from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { type FormEvent, useState } from "react";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { Select } from "../../ui/select.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import type { FollowUpKind } from "./follow-up-keys.ts";

/** Asks why drawn meters cannot be had. */
export function FollowUpDialog({
  kind,
  label,
  units,
  onSay,
  onClose,
}: {
  kind: FollowUpKind;
  label: string;
  units: readonly DrawUnit[];
  onSay: (reason: AbsenceReason | null, note: string) => void;
  onClose: () => void;
}) {
  // A meter that moved or was retired says its reason by that alone.
  const asksReason = kind === "not-reached" || kind === "left-out";
  const [reason, setReason] = useState<AbsenceReason | "">("");
  const [note, setNote] = useState("");
  const [isTried, setIsTried] = useState(false);
  const isMissing = asksReason && reason === "";
  const submit = (event: FormEvent) => {
    event.preventDefault();
    setIsTried(true);
    if (!isMissing) onSay(asksReason && reason !== "" ? reason : null, note.trim());
  };
  const [first] = units;
  return (
    <Dialog
      title={
        units.length === 1 && first !== undefined
          ? `${label}: meter ${first.utilityNumber}`
          : `${label}: ${units.length} meters`
      }
      onClose={onClose}
    >
      <form className="stack" onSubmit={submit}>
        {asksReason ? (
          <Select
            label="Reason"
            value={reason}
            onChange={setReason}
            placeholder="Choose why"
            options={absenceReasons
              .filter((one) => kind === "left-out" || one !== "no-test-possible")
              .map((one) => ({ value: one, label: absenceReasonNames[one] }))}
            error={isTried && isMissing ? "Say why." : undefined}
          />
        ) : null}
        <TextArea
          label="Note"
          optional
          hint="What was tried, and when"
          value={note}
          onChange={setNote}
          rows={2}
          maxLength={500}
        />
        <p className="quiet">
          Where the scheme allows it the next spare is called up; else the place stays empty. Both stay on
          record.
        </p>
        <div className="dialog-buttons">
          <Button onClick={onClose}>Cancel</Button>
          <Button type="submit" kind="primary">
            Put it on record
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
