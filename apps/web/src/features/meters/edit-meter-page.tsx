import { listMeterTypes } from "@sealbook/contract/meter-types";
import { changeMeter, getMeter, type Meter } from "@sealbook/contract/meters";
import { useSuspenseQuery } from "@tanstack/react-query";
import { useNavigate } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { operationOptions, wholeListOptions } from "../../api/operation-options.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { DateField } from "../../ui/date-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { PageHeader } from "../../ui/page-header.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { MeterTypeField } from "./meter-type-field.tsx";
import { OwnerField } from "./owner-field.tsx";
import { touchedByMoves } from "./touched-by-moves.ts";

const names = {
  "/utilityNumber": "Utility number",
  "/serial": "Maker's serial",
  "/typeId": "Type",
  "/owner": "Owner",
  "/firmware": "Firmware",
  "/program": "Program",
  "/purchasedOn": "Purchased on",
  "/reason": "Reason",
};

/** Corrects a meter's nameplate. Where it is and was follows from its story. */
export function EditMeterPage() {
  const meterId = useRouteParam("meterId");
  const { data: meter } = useSuspenseQuery(operationOptions(getMeter, { params: { id: meterId } }));
  // A newer version of the record fills a fresh form.
  return <EditMeter key={meter.version} meter={meter} />;
}

function EditMeter({ meter }: { meter: Meter }) {
  const navigate = useNavigate();
  const types = useSuspenseQuery(wholeListOptions(listMeterTypes, { query: {} })).data.rows;
  const opened = {
    utilityNumber: meter.utilityNumber,
    serial: meter.serial,
    owner: meter.owner,
    typeId: meter.type.id,
    firmware: meter.firmware,
    program: meter.program,
    purchasedOn: meter.purchasedOn ?? "",
    reason: "",
  };
  const [form, setForm] = useState(opened);
  const submission = useSubmission(changeMeter, { touches: touchedByMoves });
  const { leaveDialog, release } = useLeaveGuard(JSON.stringify(form) !== JSON.stringify(opened));
  const set = (changes: Partial<typeof form>) => setForm((now) => ({ ...now, ...changes }));
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      params: { id: meter.id },
      version: meter.version,
      body: {
        utilityNumber: form.utilityNumber.trim(),
        serial: form.serial.trim(),
        owner: form.owner,
        typeId: form.typeId,
        firmware: form.firmware.trim(),
        program: form.program.trim(),
        purchasedOn: form.purchasedOn.trim() === "" ? null : form.purchasedOn.trim(),
        reason: form.reason.trim(),
      },
    });
    if (reply === null) return;
    release();
    await navigate({ to: paths.meter(meter.id) });
  };
  return (
    <form className="stack" onSubmit={save}>
      <PageHeader
        title={`Correct meter ${meter.utilityNumber}`}
        note="What its nameplate says. The ledger keeps what stood there before, and your reason."
      />
      <SubmissionSummary submission={submission} names={names} />
      <div className="row-fields">
        <TextField
          label="Utility number"
          id={fieldId("/utilityNumber")}
          value={form.utilityNumber}
          onChange={(utilityNumber) => set({ utilityNumber })}
          error={submission.errorAt("/utilityNumber")}
          maxLength={40}
          autoFocus
        />
        <TextField
          label="Maker's serial"
          id={fieldId("/serial")}
          value={form.serial}
          onChange={(serial) => set({ serial })}
          error={submission.errorAt("/serial")}
          maxLength={40}
        />
        <MeterTypeField
          types={types}
          kept={meter.type.id}
          id={fieldId("/typeId")}
          value={form.typeId}
          onChange={(typeId) => set({ typeId })}
          error={submission.errorAt("/typeId")}
        />
      </div>
      <div className="row-fields">
        <OwnerField
          id={fieldId("/owner")}
          value={form.owner}
          onChange={(owner) => set({ owner })}
          error={submission.errorAt("/owner")}
        />
        <DateField
          label="Purchased on"
          optional
          id={fieldId("/purchasedOn")}
          value={form.purchasedOn}
          onChange={(purchasedOn) => set({ purchasedOn })}
          error={submission.errorAt("/purchasedOn")}
        />
        <TextField
          label="Firmware"
          optional
          id={fieldId("/firmware")}
          value={form.firmware}
          onChange={(firmware) => set({ firmware })}
          error={submission.errorAt("/firmware")}
          maxLength={40}
        />
        <TextField
          label="Program"
          optional
          id={fieldId("/program")}
          value={form.program}
          onChange={(program) => set({ program })}
          error={submission.errorAt("/program")}
          maxLength={40}
        />
      </div>
      <TextArea
        label="Reason"
        id={fieldId("/reason")}
        value={form.reason}
        onChange={(reason) => set({ reason })}
        error={submission.errorAt("/reason")}
        rows={2}
        maxLength={500}
      />
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          Save the correction
        </Button>
      </div>
      {leaveDialog}
    </form>
  );
}
