import { liftMeterHold, placeMeterHold } from "@sealbook/contract/meter-events";
import type { Meter, MeterHold } from "@sealbook/contract/meters";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Notice } from "../../ui/notice.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { touchedByMoves } from "./touched-by-moves.ts";

/** Legal holds that stand on a meter, said where everybody sees them. */
export function MeterHolds({ meter }: { meter: Meter }) {
  const mayHold = useMay("meter.hold");
  const [lifting, setLifting] = useState<MeterHold | null>(null);
  if (meter.holds.length === 0) return null;
  return (
    <Notice tone="warn" title="Legal hold: this meter may not be touched">
      {meter.holds.map((hold) => (
        <div key={hold.id} className="stack-tight">
          <p>
            {hold.reason}
            <span className="quiet">
              {" · "}
              placed by <PersonName person={hold.placedBy} /> on <LocalInstant instant={hold.placedAt} />
            </span>
          </p>
          {mayHold ? (
            <div>
              <Button onClick={() => setLifting(hold)}>Lift this hold</Button>
            </div>
          ) : null}
        </div>
      ))}
      <p className="quiet small">
        It is not moved, repaired, adjusted, retired or disposed of; it may be tested as found.
      </p>
      {lifting === null ? null : <LiftDialog hold={lifting} onDone={() => setLifting(null)} />}
    </Notice>
  );
}

function LiftDialog({ hold, onDone }: { hold: MeterHold; onDone: () => void }) {
  const [key] = useState(newId);
  const [reason, setReason] = useState("");
  const submission = useSubmission(liftMeterHold, { touches: touchedByMoves });
  const submit = async (event: FormEvent) => {
    event.preventDefault();
    await submission
      .submit({ params: { id: hold.id }, body: { reason: reason.trim() }, key })
      .then((reply) => {
        if (reply !== null) onDone();
      });
  };
  return (
    <Dialog title="Lift the legal hold" onClose={onDone}>
      <form className="stack" onSubmit={submit}>
        <SubmissionSummary submission={submission} names={{ "/reason": "Reason" }} />
        <p>Only who placed it lifts it. The hold stays in the story.</p>
        <TextArea
          label="Reason"
          id={fieldId("/reason")}
          value={reason}
          onChange={setReason}
          error={submission.errorAt("/reason")}
          rows={2}
          maxLength={500}
        />
        <div className="dialog-buttons">
          <Button onClick={onDone}>Cancel</Button>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            Lift the hold
          </Button>
        </div>
      </form>
    </Dialog>
  );
}

/** Places a legal hold on a meter. */
export function PlaceHoldDialog({ meter, onDone }: { meter: Meter; onDone: () => void }) {
  const [id] = useState(newId);
  const [reason, setReason] = useState("");
  const submission = useSubmission(placeMeterHold, { touches: touchedByMoves });
  const submit = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({ params: { id: meter.id }, body: { id, reason: reason.trim() } });
    if (reply !== null) onDone();
  };
  return (
    <Dialog title={`Place a legal hold on meter ${meter.utilityNumber}`} onClose={onDone}>
      <form className="stack" onSubmit={submit}>
        <SubmissionSummary submission={submission} names={{ "/reason": "Reason" }} />
        <p>Until you lift it, nobody moves, repairs, adjusts, retires or disposes of this meter.</p>
        <TextArea
          label="Reason"
          hint="Such as the number of the complaint or the case"
          id={fieldId("/reason")}
          value={reason}
          onChange={setReason}
          error={submission.errorAt("/reason")}
          rows={2}
          maxLength={500}
        />
        <div className="dialog-buttons">
          <Button onClick={onDone}>Cancel</Button>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            Place the hold
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
