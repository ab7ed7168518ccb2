import { listMeterTypes } from "@sealbook/contract/meter-types";
import { createMeter, type Owner } from "@sealbook/contract/meters";
import { listPlaces } from "@sealbook/contract/places";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link, useNavigate } from "@tanstack/react-router";
import { type FormEvent, type KeyboardEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { wholeListOptions } from "../../api/operation-options.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { Nameplate } from "../../trade/nameplate.tsx";
import { NameplateFindings } from "../../trade/nameplate-findings.tsx";
import { PlaceField } from "../../trade/place-field.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { DateField } from "../../ui/date-field.tsx";
import { DecimalField } from "../../ui/decimal-field.tsx";
import { Empty } from "../../ui/empty.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { MeterTypeField } from "./meter-type-field.tsx";
import { OwnerField } from "./owner-field.tsx";

const names = {
  "/utilityNumber": "Utility number",
  "/serial": "Maker's serial",
  "/typeId": "Type",
  "/owner": "Owner",
  "/placeId": "Where it is now",
  "/registerReading": "Register reading",
  "/firmware": "Firmware",
  "/program": "Program",
  "/purchasedOn": "Purchased on",
};

/** Adds a meter from its nameplate. Asked for from the bench (`returnTo=log`), it goes on to log the test. */
export function NewMeterPage() {
  const [search] = useSearchText();
  const navigate = useNavigate();
  const types = useSuspenseQuery(wholeListOptions(listMeterTypes, { query: {} })).data.rows;
  const places = useSuspenseQuery(wholeListOptions(listPlaces, { query: {} })).data.rows;
  const first = {
    utilityNumber: search.number ?? "",
    serial: "",
    typeId: "",
    owner: "utility" as Owner,
    placeId: places.find((place) => place.kind === "shop")?.id ?? "",
    registerReading: "",
    firmware: "",
    program: "",
    purchasedOn: "",
  };
  const [id] = useState(newId);
  const [form, setForm] = useState(first);
  const submission = useSubmission(createMeter);
  const isDirty = JSON.stringify(form) !== JSON.stringify(first);
  const { leaveDialog, release } = useLeaveGuard(isDirty);
  const set = (changes: Partial<typeof form>) => setForm((now) => ({ ...now, ...changes }));
  const type = types.find((one) => one.id === form.typeId);

  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      body: {
        id,
        utilityNumber: form.utilityNumber.trim(),
        serial: form.serial.trim(),
        owner: form.owner,
        typeId: form.typeId,
        firmware: form.firmware.trim(),
        program: form.program.trim(),
        purchasedOn: form.purchasedOn === "" ? null : form.purchasedOn,
        placeId: form.placeId,
        registerReading: form.registerReading === "" ? null : form.registerReading,
      },
    });
    if (reply === null) return;
    release();
    await navigate({ to: search.returnTo === "log" ? paths.logMeter(id) : paths.meter(id) });
  };

  return (
    <div className="stack">
      <PageHeader
        title="Add a meter"
        note="From its nameplate. Numbers are kept as written, leading zeros too."
      />
      <div className="columns">
        <form className="stack" onSubmit={save}>
          <SubmissionSummary submission={submission} names={names} />
          {submission.problem?.slug === "already-exists" ? (
            <p>
              <Link to={paths.meters()} search={{ q: form.utilityNumber.trim() }}>
                Meters with this number
              </Link>
              {" · "}
              <Link to={paths.meters()} search={{ q: form.serial.trim() }}>
                meters with this serial
              </Link>
            </p>
          ) : null}
          <div className="row-fields">
            <TextField
              label="Utility number"
              id={fieldId("/utilityNumber")}
              value={form.utilityNumber}
              onChange={(utilityNumber) => set({ utilityNumber })}
              error={submission.errorAt("/utilityNumber")}
              maxLength={40}
              autoFocus
              onKeyDown={(event) => goOnAfterScan(event, form.serial, "/serial")}
            />
            <TextField
              label="Maker's serial"
              id={fieldId("/serial")}
              value={form.serial}
              onChange={(serial) => set({ serial })}
              error={submission.errorAt("/serial")}
              maxLength={40}
              onKeyDown={(event) => goOnAfterScan(event, form.typeId, "/typeId")}
            />
          </div>
          <MeterTypeField
            types={types}
            id={fieldId("/typeId")}
            value={form.typeId}
            onChange={(typeId) => set({ typeId })}
            error={submission.errorAt("/typeId")}
          />
          <div className="row-fields">
            <OwnerField
              id={fieldId("/owner")}
              value={form.owner}
              onChange={(owner) => set({ owner })}
              error={submission.errorAt("/owner")}
            />
            <PlaceField
              label="Where it is now"
              hint="Type any part of its name."
              id={fieldId("/placeId")}
              value={form.placeId}
              onChange={(placeId) => set({ placeId })}
              error={submission.errorAt("/placeId")}
            />
            <DecimalField
              label="Register reading"
              unit="kWh"
              optional
              id={fieldId("/registerReading")}
              value={form.registerReading}
              onChange={(registerReading) => set({ registerReading })}
              error={submission.errorAt("/registerReading")}
            />
            <DateField
              label="Purchased on"
              optional
              id={fieldId("/purchasedOn")}
              value={form.purchasedOn}
              onChange={(purchasedOn) => set({ purchasedOn: purchasedOn.trim() })}
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
          <div>
            <Button type="submit" kind="primary" isPending={submission.pending}>
              {submission.pending
                ? "Adding"
                : search.returnTo === "log"
                  ? "Add and log its test"
                  : "Add the meter"}
            </Button>
          </div>
        </form>
        <Panel title="Compare with the nameplate">
          {type === undefined ? (
            <Empty title="Choose a type to see what its nameplate says.">
              If the meter is of none of these types, a quality engineer or supervisor adds the type first.
            </Empty>
          ) : (
            <>
              <Nameplate type={type} />
              <NameplateFindings type={type} />
            </>
          )}
        </Panel>
      </div>
      {leaveDialog}
    </div>
  );
}

/** A scanner presses Enter after what it reads: that leads to the next field as long as it is empty. */
function goOnAfterScan(event: KeyboardEvent, next: string, pointer: string) {
  if (event.key !== "Enter" || next.trim() !== "") return;
  event.preventDefault();
  document.getElementById(fieldId(pointer))?.focus();
}
