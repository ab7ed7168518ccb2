import { checkMeterReceipt, receiveMeters, trayMost } from "@sealbook/contract/meter-events";
import { listMeterTypes } from "@sealbook/contract/meter-types";
import type { Owner } from "@sealbook/contract/meters";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import type { CallReply } from "../../api/call.ts";
import { newId } from "../../api/new-id.ts";
import { wholeListOptions } from "../../api/operation-options.ts";
import { useShop } from "../../api/use-shop.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { PlaceField } from "../../trade/place-field.tsx";
import { readLocal } from "../../trade/read-local.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { DateField } from "../../ui/date-field.tsx";
import { DateTimeField } from "../../ui/date-time-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { focusOnArrival } from "../../ui/focus-on-arrival.ts";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { LineProblems, PreviewConfirm } from "./lines-preview.tsx";
import { MeterTypeField } from "./meter-type-field.tsx";
import { OwnerField } from "./owner-field.tsx";
import { touchedByMoves } from "./touched-by-moves.ts";
import { receiptLines } from "./tray-lines.ts";

const names = {
  "/typeId": "Type",
  "/owner": "Owner",
  "/placeId": "Where they are",
  "/purchasedOn": "Purchased on",
  "/performedAt": "Received",
  "/lines": "Serials",
  "/lines/#/serial": "Serials",
  "/lines/#/utilityNumber": "Serials",
};

const first = {
  typeId: "",
  owner: "utility" as Owner,
  placeId: "",
  purchasedOn: "",
  performedAt: "",
  firstNumber: "",
  firmware: "",
  program: "",
  reason: "",
  text: "",
};

/** Receives meters by a pasted or scanned list of serials: look through it, then confirm once. */
export function ReceiveMetersPage() {
  const { timeZone } = useShop();
  const types = useSuspenseQuery(wholeListOptions(listMeterTypes, { query: {} })).data.rows;
  const [form, setForm] = useState(first);
  const [id, setId] = useState(newId);
  const [done, setDone] = useState<CallReply<typeof receiveMeters> | null>(null);
  const [preview, setPreview] = useState<CallReply<typeof checkMeterReceipt> | null>(null);
  const checking = useSubmission(checkMeterReceipt);
  const receiving = useSubmission(receiveMeters, { touches: touchedByMoves });
  const { leaveDialog } = useLeaveGuard(form.text.trim() !== "");
  const set = (changes: Partial<typeof form>) => {
    setForm((now) => ({ ...now, ...changes }));
    // What was looked at is no longer what would be sent.
    setPreview(null);
    setDone(null);
    receiving.clear();
  };
  const errorAt = (pointer: string) => checking.errorAt(pointer) ?? receiving.errorAt(pointer);
  const read = receiptLines(form.text, form.firstNumber);
  const count = read.kind === "lines" ? read.lines.length : 0;

  const body = () => {
    const at = form.performedAt.trim() === "" ? null : readLocal(form.performedAt, timeZone);
    if (at?.kind === "none") return refuse("/performedAt", at.detail);
    if (form.typeId === "") return refuse("/typeId", "Choose the type that all of them are of.");
    if (form.placeId === "") return refuse("/placeId", "Choose where they are.");
    if (read.kind === "no-number")
      return refuse(
        "/lines",
        `Line ${read.line} (${read.serial}) has no utility number: write it behind the serial, or give the first number.`,
      );
    if (count === 0) return refuse("/lines", "Paste or scan the serials first.");
    if (count > trayMost)
      return refuse(
        "/lines",
        `${count} lines are more than the ${trayMost} of one receipt; divide the list.`,
      );
    return {
      typeId: form.typeId,
      owner: form.owner,
      placeId: form.placeId,
      purchasedOn: form.purchasedOn.trim() === "" ? null : form.purchasedOn.trim(),
      performedAt: at?.instant ?? null,
      firmware: form.firmware.trim(),
      program: form.program.trim(),
      reason: form.reason.trim(),
      lines: read.lines,
    };
  };
  const refuse = (pointer: string, detail: string) => {
    checking.refuse([{ pointer, detail }]);
    return null;
  };
  const look = async (event: FormEvent) => {
    event.preventDefault();
    receiving.clear();
    const fields = body();
    if (fields === null) return;
    setPreview(await checking.submit({ body: fields }));
  };
  const confirm = async () => {
    const fields = body();
    if (fields === null || preview === null) return;
    const reply = await receiving.submit({
      body: { id, ...fields, onlyGood: preview.problems.length > 0, expected: preview.ready },
    });
    if (reply === null) {
      setPreview(null);
      return;
    }
    const left = new Set(reply.leftOut.map(({ line }) => line));
    // What was left out stays in the field, to be mended, with its own number; the first number is taken now.
    setForm({
      ...form,
      firstNumber: "",
      text: fields.lines
        .filter((_, index) => left.has(index + 1))
        .map(({ serial, utilityNumber }) => `${serial}\t${utilityNumber}`)
        .join("\n"),
    });
    setPreview(null);
    setDone(reply);
    setId(newId());
  };
  return (
    <div className="stack">
      <PageHeader
        title="Receive meters"
        note="Of one type, by a list of serials. Nothing goes into the book before you have seen what it comes to."
      />
      {done === null ? null : (
        <div key={done.move.id} tabIndex={-1} ref={focusOnArrival}>
          <Notice title={`${done.move.meters} received, ${done.leftOut.length} left out`} isAnnounced>
            <p>
              <Link to={paths.meterMove(done.move.id)}>Open the receipt</Link>
              {done.leftOut.length === 0 ? "" : ". What was left out stands below to be mended."}
            </p>
            <LineProblems problems={done.leftOut} />
          </Notice>
        </div>
      )}
      <form className="stack" onSubmit={look}>
        <SubmissionSummary submission={checking} names={names} />
        <SubmissionSummary submission={receiving} names={names} />
        <div className="row-fields">
          <MeterTypeField
            types={types}
            id={fieldId("/typeId")}
            value={form.typeId}
            onChange={(typeId) => set({ typeId })}
            error={errorAt("/typeId")}
          />
          <PlaceField
            label="Where they are"
            hint="Shop, store room or shelf"
            kinds={["shop", "store", "shelf"]}
            id={fieldId("/placeId")}
            value={form.placeId}
            onChange={(placeId) => set({ placeId })}
            error={errorAt("/placeId")}
          />
          <OwnerField
            id={fieldId("/owner")}
            value={form.owner}
            onChange={(owner) => set({ owner })}
            error={errorAt("/owner")}
          />
        </div>
        <div className="row-fields">
          <DateField
            label="Purchased on"
            optional
            id={fieldId("/purchasedOn")}
            value={form.purchasedOn}
            onChange={(purchasedOn) => set({ purchasedOn })}
            error={errorAt("/purchasedOn")}
          />
          <DateTimeField
            label="Received"
            optional
            timeZone={`${timeZone}; empty is now`}
            id={fieldId("/performedAt")}
            value={form.performedAt}
            onChange={(performedAt) => set({ performedAt })}
            error={errorAt("/performedAt")}
          />
          <TextField
            label="First utility number"
            optional
            hint="For serials without one; it counts up."
            value={form.firstNumber}
            onChange={(firstNumber) => set({ firstNumber })}
            maxLength={40}
          />
        </div>
        <div className="row-fields">
          <TextField
            label="Firmware"
            optional
            value={form.firmware}
            onChange={(firmware) => set({ firmware })}
            maxLength={40}
          />
          <TextField
            label="Program"
            optional
            value={form.program}
            onChange={(program) => set({ program })}
            maxLength={40}
          />
          <TextField
            label="Note"
            optional
            hint="Such as the purchase order"
            value={form.reason}
            onChange={(reason) => set({ reason })}
            maxLength={500}
          />
        </div>
        <TextArea
          label="Serials"
          hint={
            count === 0
              ? "One meter a line: the maker's serial, then its utility number"
              : `${count} ${count === 1 ? "meter" : "meters"}`
          }
          id={fieldId("/lines")}
          value={form.text}
          onChange={(text) => set({ text })}
          error={errorAt("/lines")}
          rows={10}
        />
        <div className="row">
          <Button type="submit" kind={preview === null ? "primary" : "plain"} isPending={checking.pending}>
            Look through the list
          </Button>
        </div>
      </form>
      {preview === null ? null : (
        <PreviewConfirm
          preview={preview}
          act="Receive"
          done="received"
          isPending={receiving.pending}
          onConfirm={() => void confirm()}
        />
      )}
      {leaveDialog}
    </div>
  );
}
