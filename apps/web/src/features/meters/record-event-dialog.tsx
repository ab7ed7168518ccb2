import { readingNoteNames, recordMeterEvent } from "@sealbook/contract/meter-events";
import type { Meter } from "@sealbook/contract/meters";
import { legalMoves } from "@sealbook/metrology/life-cycle/legal-moves";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useShop } from "../../api/use-shop.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { PlaceField } from "../../trade/place-field.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { DateTimeField } from "../../ui/date-time-field.tsx";
import { DecimalField } from "../../ui/decimal-field.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Select } from "../../ui/select.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { asksReading, doNames, type EventForm, eventBody, kindsFor, newEventForm } from "./event-form.ts";
import { ServicePointField } from "./service-point-field.tsx";
import { touchedByMoves } from "./touched-by-moves.ts";

const names = {
  "/kind": "What happened",
  "/placeId": "Place",
  "/performedAt": "When",
  "/registerReading": "Register reading",
  "/sealsOn": "Seals put on",
  "/sealsOff": "Seals taken off",
  "/reason": "Reason",
};

/** Records what happened to a meter; only what its state allows is offered. */
export function RecordEventDialog({ meter, onDone }: { meter: Meter; onDone: () => void }) {
  const { timeZone } = useShop();
  const [id] = useState(newId);
  const [form, setForm] = useState<EventForm>(newEventForm);
  const submission = useSubmission(recordMeterEvent, { touches: touchedByMoves });
  const set = (changes: Partial<EventForm>) => setForm((now) => ({ ...now, ...changes }));
  const { kind } = form;
  const places = kind === "" ? [] : legalMoves[kind].places;
  const submit = async (event: FormEvent) => {
    event.preventDefault();
    const read = eventBody(form, id, timeZone);
    if ("errors" in read) {
      submission.refuse(read.errors);
      return;
    }
    const reply = await submission.submit({ params: { id: meter.id }, body: read.body });
    if (reply !== null) onDone();
  };
  return (
    <Dialog title={`Meter ${meter.utilityNumber}: what happened?`} onClose={onDone} isWide>
      <form className="stack" onSubmit={submit}>
        <SubmissionSummary submission={submission} names={names} />
        <Select
          label="What happened"
          id={fieldId("/kind")}
          value={kind}
          onChange={(next) => set({ kind: next, placeId: "" })}
          placeholder="Choose"
          options={kindsFor(meter.state).map((one) => ({ value: one, label: doNames[one] }))}
          error={submission.errorAt("/kind")}
        />
        {kind === "set" ? (
          <ServicePointField
            label="Service point"
            hint="Type any part of its number."
            id={fieldId("/placeId")}
            value={form.placeId}
            onChange={(placeId) => set({ placeId })}
            error={submission.errorAt("/placeId")}
          />
        ) : places.length === 0 ? null : (
          <PlaceField
            label="Where to"
            hint="Type any part of its name."
            kinds={places}
            id={fieldId("/placeId")}
            value={form.placeId}
            onChange={(placeId) => set({ placeId })}
            error={submission.errorAt("/placeId")}
          />
        )}
        {kind === "set" || kind === "remove" ? (
          <p className="quiet small">
            Treat every socket and test block as energized until proven otherwise; never open the secondary of
            a current transformer that carries current. Local codes and your employer's procedures decide.
          </p>
        ) : null}
        <div className="row-fields">
          <DecimalField
            label="Register reading"
            optional={!asksReading(kind)}
            hint={`${meter.type.registerDials} dials`}
            id={fieldId("/registerReading")}
            value={form.registerReading}
            onChange={(registerReading) => set({ registerReading })}
            error={submission.errorAt("/registerReading")}
          />
          <Select
            label="About the reading"
            optional
            value={form.readingNote}
            onChange={(readingNote) => set({ readingNote })}
            placeholder="Nothing to say"
            options={Object.entries(readingNoteNames).map(([value, label]) => ({
              value: value as keyof typeof readingNoteNames,
              label,
            }))}
          />
          <DateTimeField
            label="When"
            optional
            timeZone={`${timeZone}; empty is now`}
            id={fieldId("/performedAt")}
            value={form.performedAt}
            onChange={(performedAt) => set({ performedAt })}
            error={submission.errorAt("/performedAt")}
          />
        </div>
        <div className="row-fields">
          <TextField
            label="Seals taken off"
            optional
            hint={
              meter.seals.length === 0 ? "None is known to be on it." : `On it: ${meter.seals.join(", ")}`
            }
            id={fieldId("/sealsOff")}
            value={form.sealsOff}
            onChange={(sealsOff) => set({ sealsOff })}
            error={submission.errorAt("/sealsOff")}
            maxLength={500}
          />
          <TextField
            label="Seals put on"
            optional
            hint="Divided by commas"
            id={fieldId("/sealsOn")}
            value={form.sealsOn}
            onChange={(sealsOn) => set({ sealsOn })}
            error={submission.errorAt("/sealsOn")}
            maxLength={500}
          />
        </div>
        <TextArea
          label="Reason"
          optional={kind !== "retire" && kind !== "dispose"}
          id={fieldId("/reason")}
          value={form.reason}
          onChange={(reason) => set({ reason })}
          error={submission.errorAt("/reason")}
          rows={2}
          maxLength={500}
        />
        <div className="dialog-buttons">
          <Button onClick={onDone}>Cancel</Button>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            Record it
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
