import "./find-meter-form.css";
import { findMeter, meterStateNames } from "@sealbook/contract/meters";
import { useMutation } from "@tanstack/react-query";
import { Link, useNavigate } from "@tanstack/react-router";
import { type FormEvent, useRef, useState } from "react";
import { call } from "../../api/call.ts";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { Button } from "../../ui/button.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { Notice } from "../../ui/notice.tsx";
import { TextField } from "../../ui/text-field.tsx";

/** Finds the meter to test by its number or serial, typed or scanned. */
export function FindMeterForm() {
  const [number, setNumber] = useState("");
  const input = useRef<HTMLInputElement>(null);
  const navigate = useNavigate();
  const mayAdd = useMay("meter.create");
  const finding = useMutation({
    mutationFn: (wanted: string) => call(findMeter, { query: { number: wanted } }),
    onSuccess: async ({ rows }) => {
      const only = rows.length === 1 ? rows[0] : undefined;
      if (only !== undefined) await navigate({ to: paths.logMeter(only.id) });
      else {
        // The next scan writes over what was not found: a scanner types and presses Enter wherever the focus is.
        input.current?.focus();
        input.current?.select();
      }
    },
  });
  const submit = (event: FormEvent) => {
    event.preventDefault();
    const wanted = number.trim();
    if (wanted !== "") finding.mutate(wanted);
  };
  const asked = finding.variables ?? "";
  const rows = finding.data?.rows ?? [];
  return (
    <div className="stack">
      <form className="find-meter" onSubmit={submit}>
        <TextField
          label="Utility number or maker’s serial, typed or scanned"
          value={number}
          onChange={setNumber}
          maxLength={80}
          inputRef={input}
          autoFocus
        />
        <Button type="submit" kind="primary" isPending={finding.isPending}>
          {finding.isPending ? "Looking" : "Find the meter"}
        </Button>
      </form>
      {finding.error === null ? null : (
        <ProblemNotice error={finding.error} onRetry={() => finding.mutate(asked)} />
      )}
      {finding.isSuccess && rows.length === 0 ? (
        <Notice tone="warn" title={`No meter is on record under ${asked}`} isAnnounced>
          <p>Check the number against the nameplate and scan or type it again.</p>
          {mayAdd ? (
            <p>
              <Link to={paths.newMeter()} search={{ number: asked, returnTo: "log" }}>
                Add meter {asked} from its nameplate
              </Link>{" "}
              and go on to its test.
            </p>
          ) : (
            <p>A storekeeper can add it from its nameplate.</p>
          )}
        </Notice>
      ) : null}
      {rows.length > 1 ? (
        <>
          <p role="status">Several meters carry {asked}. Choose the one on the bench.</p>
          <DataTable
            caption={`Meters with the number ${asked}`}
            rows={rows}
            rowKey={(row) => row.id}
            columns={[
              {
                heading: "Number",
                isRowHeader: true,
                cell: (row) => <Link to={paths.logMeter(row.id)}>{row.utilityNumber}</Link>,
              },
              { heading: "Serial", cell: (row) => row.serial },
              { heading: "Maker and model", cell: (row) => `${row.maker} ${row.model}` },
              { heading: "Form", cell: (row) => row.form },
              { heading: "State", cell: (row) => meterStateNames[row.state] },
              { heading: "Place", cell: (row) => row.place, isNarrowHidden: true },
            ]}
          />
        </>
      ) : null}
    </div>
  );
}
