import "./pass-table.css";
import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import type { Nameplate } from "@sealbook/metrology/accuracy/pass-input";
import type { PlanPoint } from "@sealbook/metrology/accuracy/test-terms";
import { useState } from "react";
import { useHotkey } from "../../ui/use-hotkey.ts";
import { AverageRow } from "./average-row.tsx";
import { fieldsOfKind } from "./pass-form.ts";
import { percentPlaces } from "./percent-places.ts";
import { PointRow } from "./point-row.tsx";
import { runFieldHeadings } from "./run-field-headings.ts";
import type { FormPass, PassForm, RunField } from "./test-form.ts";

const fieldOrder: readonly RunField[] = [
  "counts",
  "standardEnergy",
  "standardRevolutions",
  "standardConstant",
  "registrationPercent",
];

/** The points of one pass: a row each, judged as it is typed, and the average under them. */
export function PassTable({
  pass,
  form,
  points,
  nameplate,
  evaluation,
  unjudged = null,
  onField,
  errorAt,
}: {
  pass: FormPass;
  form: PassForm;
  points: readonly PlanPoint[];
  nameplate: Nameplate;
  /** Null while no reason is chosen, so that no limits hold yet. */
  evaluation: PassEvaluation | null;
  /** Registrations and errors to show while nothing can be judged; no limit or verdict of it counts. */
  unjudged?: PassEvaluation | null;
  /** Null on the page of a recorded test, where the entries are read only. */
  onField: ((pointKey: string, runIndex: number, field: RunField, text: string) => void) | null;
  errorAt: (pointer: string) => string | undefined;
}) {
  const [opened, setOpened] = useState<readonly string[]>([]);
  const toggle = (name: string) =>
    setOpened((now) => (now.includes(name) ? now.filter((one) => one !== name) : [...now, name]));
  useHotkey("Alt+h", () => {
    const row = document.activeElement?.closest<HTMLElement>(`[data-pass="${pass}"]`);
    if (row?.dataset.row !== undefined) toggle(row.dataset.row);
  });
  const figures = evaluation ?? unjudged;
  const places = evaluation === null ? 3 : percentPlaces(evaluation);
  const kinds = new Set(form.points.flatMap(({ runs }) => runs.map(({ kind }) => kind)));
  const fields = fieldOrder.filter((field) => [...kinds].some((kind) => fieldsOfKind[kind].includes(field)));
  const hasRepeats = form.points.some(({ runs }) => runs.length > 1);
  const quantities = [...new Set(points.map(({ quantity }) => quantity))].join(", ");
  return (
    <div
      className="pass-table"
      data-fields={fields.length}
      data-wide={fields.length > 2 || undefined}
      data-repeats={hasRepeats || undefined}
    >
      <div className="point-row pass-table-head" aria-hidden="true">
        <span>Point</span>
        <span className="point-runs">
          <span className="run-row">
            {fields.map((field) => (
              <span key={field}>{runFieldHeadings(quantities)[field]}</span>
            ))}
            <span>Registration %</span>
          </span>
        </span>
        <span className="point-judged">
          {hasRepeats ? <span>Mean %</span> : null}
          <span>Error %</span>
          <span>Limits %</span>
          <span>Margin %</span>
          <span>Verdict</span>
          <span />
        </span>
      </div>
      {points.map((point) => (
        <PointRow
          key={point.key}
          pass={pass}
          point={point}
          runs={form.points.find(({ pointKey }) => pointKey === point.key)?.runs ?? []}
          fields={fields}
          nameplate={nameplate}
          evaluation={figures?.points.find(({ pointKey }) => pointKey === point.key) ?? null}
          isJudged={evaluation !== null}
          refusals={figures?.refusals.filter(({ pointKey }) => pointKey === point.key) ?? []}
          places={places}
          hasRepeats={hasRepeats}
          isOpen={opened.includes(point.key)}
          onToggle={() => toggle(point.key)}
          onField={onField}
          errorAt={errorAt}
        />
      ))}
      {evaluation?.average == null ? null : (
        <AverageRow
          pass={pass}
          average={evaluation.average}
          places={places}
          hasRepeats={hasRepeats}
          isOpen={opened.includes("average")}
          onToggle={() => toggle("average")}
        />
      )}
    </div>
  );
}
