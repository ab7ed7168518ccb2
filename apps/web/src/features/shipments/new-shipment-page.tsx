import { listMeterTypes } from "@sealbook/contract/meter-types";
import { listSchemes } from "@sealbook/contract/sampling-schemes";
import { createShipment } from "@sealbook/contract/shipments";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link, useNavigate } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { wholeListOptions } from "../../api/operation-options.ts";
import { useShop } from "../../api/use-shop.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { ComboBox } from "../../ui/combo-box.tsx";
import { DateField } from "../../ui/date-field.tsx";
import { Empty } from "../../ui/empty.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { PageHeader } from "../../ui/page-header.tsx";
import { Select } from "../../ui/select.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";

const names = {
  "/number": "Number",
  "/schemeId": "Sampling scheme",
  "/typeId": "Type",
  "/contract": "Contract",
  "/purchaseOrder": "Purchase order",
  "/receivedOn": "Received on",
  "/note": "Note",
};

/** Opens a shipment; its meters are taken in on its own page. */
export function NewShipmentPage() {
  const { today } = useShop();
  const navigate = useNavigate();
  const types = useSuspenseQuery(wholeListOptions(listMeterTypes, { query: {} })).data.rows;
  const schemes = useSuspenseQuery(wholeListOptions(listSchemes, { query: { purpose: "shipment" } })).data
    .rows;
  const first = {
    number: "",
    schemeId: schemes.length === 1 ? (schemes[0]?.id ?? "") : "",
    typeId: "",
    contract: "",
    purchaseOrder: "",
    receivedOn: today,
    note: "",
  };
  const [id] = useState(newId);
  const [form, setForm] = useState(first);
  const submission = useSubmission(createShipment, { touches: ["sampling"] });
  const { leaveDialog, release } = useLeaveGuard(JSON.stringify(form) !== JSON.stringify(first));
  const set = (changes: Partial<typeof form>) => setForm((now) => ({ ...now, ...changes }));
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      body: {
        id,
        number: form.number.trim(),
        schemeId: form.schemeId,
        typeId: form.typeId,
        contract: form.contract.trim(),
        purchaseOrder: form.purchaseOrder.trim(),
        receivedOn: form.receivedOn.trim(),
        note: form.note.trim(),
      },
    });
    if (reply === null) return;
    release();
    await navigate({ to: paths.shipment(reply.id) });
  };
  if (schemes.length === 0) {
    return (
      <div className="stack">
        <PageHeader title="Take in a shipment" />
        <Empty title="No sampling scheme for shipments is on record.">
          <Link to={paths.schemes()}>Put one on record</Link> first: it says what is judged, and by which
          plan.
        </Empty>
      </div>
    );
  }
  return (
    <form className="stack" onSubmit={save}>
      <PageHeader
        title="Take in a shipment"
        note="Meters of one type delivered together. Maker, type and contract make the series that the inspection state follows."
      />
      <SubmissionSummary submission={submission} names={names} />
      <div className="row-fields">
        <TextField
          label="Number"
          hint="What the shop calls the lot"
          id={fieldId("/number")}
          value={form.number}
          onChange={(number) => set({ number })}
          error={submission.errorAt("/number")}
          maxLength={40}
          autoFocus
        />
        <ComboBox
          label="Type"
          id={fieldId("/typeId")}
          value={form.typeId}
          onChange={(typeId) => set({ typeId })}
          options={types.map((type) => ({
            value: type.id,
            label: `${type.maker} ${type.model}`,
            note: `form ${type.form}, class ${type.classAmperes} A`,
          }))}
          error={submission.errorAt("/typeId")}
        />
        <TextField
          label="Contract"
          id={fieldId("/contract")}
          value={form.contract}
          onChange={(contract) => set({ contract })}
          error={submission.errorAt("/contract")}
          maxLength={80}
        />
        <TextField
          label="Purchase order"
          optional
          id={fieldId("/purchaseOrder")}
          value={form.purchaseOrder}
          onChange={(purchaseOrder) => set({ purchaseOrder })}
          error={submission.errorAt("/purchaseOrder")}
          maxLength={80}
        />
        <DateField
          label="Received on"
          id={fieldId("/receivedOn")}
          value={form.receivedOn}
          onChange={(receivedOn) => set({ receivedOn })}
          error={submission.errorAt("/receivedOn")}
        />
        <Select
          label="Sampling scheme"
          id={fieldId("/schemeId")}
          value={form.schemeId}
          onChange={(schemeId) => set({ schemeId })}
          placeholder="Choose the scheme"
          options={schemes.map((scheme) => ({ value: scheme.id, label: `${scheme.code}: ${scheme.name}` }))}
          error={submission.errorAt("/schemeId")}
        />
      </div>
      <TextArea
        label="Note"
        optional
        id={fieldId("/note")}
        value={form.note}
        onChange={(note) => set({ note })}
        error={submission.errorAt("/note")}
        rows={2}
        maxLength={1000}
      />
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Saving" : "Open the shipment"}
        </Button>
      </div>
      {leaveDialog}
    </form>
  );
}
