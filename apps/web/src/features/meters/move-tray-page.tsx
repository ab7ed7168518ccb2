import {
  checkMeterMove,
  moveMeterTray,
  type TrayKind,
  trayKinds,
  trayMost,
} from "@sealbook/contract/meter-events";
import { legalMoves } from "@sealbook/metrology/life-cycle/legal-moves";
import { Link } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import type { CallReply } from "../../api/call.ts";
import { newId } from "../../api/new-id.ts";
import { useShop } from "../../api/use-shop.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { PlaceField } from "../../trade/place-field.tsx";
import { readLocal } from "../../trade/read-local.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { DateTimeField } from "../../ui/date-time-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { focusOnArrival } from "../../ui/focus-on-arrival.ts";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Select } from "../../ui/select.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { LineProblems, PreviewConfirm } from "./lines-preview.tsx";
import { touchedByMoves } from "./touched-by-moves.ts";
import { trayLines } from "./tray-lines.ts";

const names = {
  "/kind": "What happens",
  "/placeId": "Where to",
  "/performedAt": "When",
  "/reason": "Reason",
  "/lines": "Meters",
  "/lines/#": "Meters",
  "/lines/#/number": "Meters",
  "/lines/#/registerReading": "Meters",
};

const doNames: Record<TrayKind, string> = {
  stock: "Put in stock",
  issue: "Issue",
  return: "Bring back to the shop",
  remove: "Remove from service",
  repair: "Repair",
  retire: "Retire",
  dispose: "Dispose of",
};

const first = { kind: "" as TrayKind | "", placeId: "", performedAt: "", reason: "", text: "" };

/** Moves a tray of meters: scan or paste it, look through it, confirm once. */
export function MoveTrayPage() {
  const { timeZone } = useShop();
  const [form, setForm] = useState(first);
  const [id, setId] = useState(newId);
  const [preview, setPreview] = useState<CallReply<typeof checkMeterMove> | null>(null);
  const [done, setDone] = useState<CallReply<typeof moveMeterTray> | null>(null);
  const checking = useSubmission(checkMeterMove);
  const moving = useSubmission(moveMeterTray, { touches: touchedByMoves });
  const { leaveDialog } = useLeaveGuard(form.text.trim() !== "");
  const set = (changes: Partial<typeof form>) => {
    setForm((now) => ({ ...now, ...changes }));
    // What was looked at is no longer what would be sent.
    setPreview(null);
    setDone(null);
    moving.clear();
  };
  const errorAt = (pointer: string) => checking.errorAt(pointer) ?? moving.errorAt(pointer);
  const places = form.kind === "" ? [] : legalMoves[form.kind].places;
  const withReadings = form.kind === "remove";
  const lines = trayLines(form.text, withReadings);
  const refuse = (pointer: string, detail: string) => {
    checking.refuse([{ pointer, detail }]);
    return null;
  };
  const body = () => {
    if (form.kind === "") return refuse("/kind", "Say what happens to them.");
    if (places.length > 0 && form.placeId === "") return refuse("/placeId", "Choose where they go.");
    const at = form.performedAt.trim() === "" ? null : readLocal(form.performedAt, timeZone);
    if (at?.kind === "none") return refuse("/performedAt", at.detail);
    if (lines.length === 0) return refuse("/lines", "Scan or paste the meters first.");
    if (lines.length > trayMost)
      return refuse(
        "/lines",
        `${lines.length} lines are more than the ${trayMost} of one move; divide the list.`,
      );
    return {
      kind: form.kind,
      performedAt: at?.instant ?? null,
      placeId: places.length === 0 ? null : form.placeId,
      reason: form.reason.trim(),
      lines,
    };
  };
  const look = async (event: FormEvent) => {
    event.preventDefault();
    moving.clear();
    const fields = body();
    if (fields === null) return;
    setPreview(await checking.submit({ body: fields }));
  };
  const confirm = async () => {
    const fields = body();
    if (fields === null || preview === null) return;
    const reply = await moving.submit({
      body: { id, ...fields, onlyGood: preview.problems.length > 0, expected: preview.ready },
    });
    setPreview(null);
    if (reply === null) return;
    const left = new Set(reply.leftOut.map(({ line }) => line));
    // What was left out stays in the field, to be mended.
    setForm({
      ...form,
      text: lines
        .filter((_, index) => left.has(index + 1))
        .map(({ number, registerReading }) =>
          registerReading === null ? number : `${number}\t${registerReading}`,
        )
        .join("\n"),
    });
    setDone(reply);
    setId(newId());
  };
  return (
    <div className="stack">
      <PageHeader
        title="Move meters"
        note="A tray at once. Nothing moves before you have seen what it comes to."
      />
      {done === null ? null : (
        <div key={done.move.id} tabIndex={-1} ref={focusOnArrival}>
          <Notice title={`${done.move.meters} moved, ${done.leftOut.length} left out`} isAnnounced>
            <p>
              <Link to={paths.meterMove(done.move.id)}>Open the move</Link>
              {done.leftOut.length === 0 ? "" : ". What was left out stands below to be mended."}
            </p>
            <LineProblems problems={done.leftOut} />
          </Notice>
        </div>
      )}
      <form className="stack" onSubmit={look}>
        <SubmissionSummary submission={checking} names={names} />
        <SubmissionSummary submission={moving} names={names} />
        <div className="row-fields">
          <Select
            label="What happens"
            id={fieldId("/kind")}
            value={form.kind}
            onChange={(kind) => set({ kind, placeId: "" })}
            placeholder="Choose"
            options={trayKinds.map((kind) => ({ value: kind, label: doNames[kind] }))}
            error={errorAt("/kind")}
          />
          {places.length === 0 ? null : (
            <PlaceField
              label="Where to"
              hint="Type any part of its name."
              kinds={places}
              id={fieldId("/placeId")}
              value={form.placeId}
              onChange={(placeId) => set({ placeId })}
              error={errorAt("/placeId")}
            />
          )}
          <DateTimeField
            label="When"
            optional
            timeZone={`${timeZone}; empty is now`}
            id={fieldId("/performedAt")}
            value={form.performedAt}
            onChange={(performedAt) => set({ performedAt })}
            error={errorAt("/performedAt")}
          />
        </div>
        <TextField
          label="Reason"
          optional={form.kind !== "retire" && form.kind !== "dispose"}
          id={fieldId("/reason")}
          value={form.reason}
          onChange={(reason) => set({ reason })}
          error={errorAt("/reason")}
          maxLength={500}
        />
        <TextArea
          label="Meters"
          hint={
            lines.length > 0
              ? `${lines.length} ${lines.length === 1 ? "meter" : "meters"}`
              : withReadings
                ? "One meter a line: utility number or serial, then the register reading"
                : "Utility numbers or serials, scanned or pasted, divided by anything"
          }
          id={fieldId("/lines")}
          value={form.text}
          onChange={(text) => set({ text })}
          error={errorAt("/lines")}
          rows={10}
        />
        <div className="row">
          <Button type="submit" kind={preview === null ? "primary" : "plain"} isPending={checking.pending}>
            Look through the tray
          </Button>
        </div>
      </form>
      {preview === null ? null : (
        <PreviewConfirm
          preview={preview}
          act="Move"
          done="moved"
          isPending={moving.pending}
          onConfirm={() => void confirm()}
        />
      )}
      {leaveDialog}
    </div>
  );
}
