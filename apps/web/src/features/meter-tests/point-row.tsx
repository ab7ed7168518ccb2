import { circuitNames } from "@sealbook/contract/test-plans";
import type { EntryRefusal, PointEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import type { Nameplate } from "@sealbook/metrology/accuracy/pass-input";
import type { PlanPoint } from "@sealbook/metrology/accuracy/test-terms";
import { RegistrationPercent } from "../../trade/registration-percent.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { StatusMark } from "../../ui/status-mark.tsx";
import { expectedRunSeconds } from "./expected-run-seconds.ts";
import { runFieldNames } from "./field-name.ts";
import { runPointer } from "./form-pointer.ts";
import { JudgedCells } from "./judged-cells.tsx";
import { fieldsOfKind, isRunBlank } from "./pass-form.ts";
import { PointStory } from "./point-story.tsx";
import { RunField as RunFieldInput } from "./run-field.tsx";
import { runFieldHeadings } from "./run-field-headings.ts";
import type { FormPass, RunField, RunForm } from "./test-form.ts";

/** One point: what the plan asks, the runs as typed, the figures and the verdict. */
export function PointRow({
  pass,
  point,
  runs,
  fields,
  nameplate,
  evaluation,
  isJudged,
  refusals,
  places,
  hasRepeats,
  isOpen,
  onToggle,
  onField,
  errorAt,
}: {
  pass: FormPass;
  point: PlanPoint;
  runs: readonly RunForm[];
  /** Columns of the table; a run leaves those empty that its kind does not have. */
  fields: readonly RunField[];
  nameplate: Nameplate;
  evaluation: PointEvaluation | null;
  /** False while no reason is chosen: then the figures hold, limits and verdict do not. */
  isJudged: boolean;
  refusals: readonly EntryRefusal[];
  places: number;
  hasRepeats: boolean;
  isOpen: boolean;
  onToggle: () => void;
  /** Null on the page of a recorded test, where the entries are read only. */
  onField: ((pointKey: string, runIndex: number, field: RunField, text: string) => void) | null;
  errorAt: (pointer: string) => string | undefined;
}) {
  const headings = runFieldHeadings(point.quantity);
  const seconds = expectedRunSeconds(point, nameplate);
  const storyId = `${fieldId(runPointer(pass, point.key, 0, ""))}-story`;
  const sentences = runs.flatMap((run, runIndex) =>
    fieldsOfKind[run.kind].flatMap((field) => {
      const pointer = runPointer(pass, point.key, runIndex, field);
      const detail =
        refusals.find((one) => one.runIndex === runIndex && one.field === field)?.reason ?? errorAt(pointer);
      return detail === undefined ? [] : [{ pointer, runIndex, field, detail }];
    }),
  );
  const whole = [
    ...refusals.filter(({ runIndex }) => runIndex === null).map(({ reason }) => reason),
    ...[errorAt(runPointer(pass, point.key, 0, ""))].filter((detail) => detail !== undefined),
  ];
  const isUncorrected =
    evaluation?.correction.kind === "uncorrected-outside-range" ||
    evaluation?.correction.kind === "no-certified-points";
  return (
    // biome-ignore lint/a11y/useSemanticElements: a fieldset cannot be laid out as a row of the grid.
    <div className="point-row" role="group" aria-label={point.label} data-pass={pass} data-row={point.key}>
      <div className="point-name">
        <div>
          <strong>{point.key}</strong> {point.label}
        </div>
        <div className="quiet small">
          {point.loadPercent} % TA, pf {point.powerFactor}
          {point.powerFactorSense === "unity" ? "" : ` ${point.powerFactorSense}`}
          {point.direction === "received" ? ", received" : ""}
          {point.circuits === "series" ? "" : `, ${circuitNames[point.circuits].toLowerCase()}`}
          {seconds === null ? "" : ` · about ${seconds} s`}
        </div>
      </div>
      <div className="point-runs">
        {runs.map((run, runIndex) => {
          const evaluated = evaluation?.runs[runIndex];
          return (
            <div className="run-row" key={runIndex}>
              {fields.map((field) => {
                if (!fieldsOfKind[run.kind].includes(field)) return <span key={field} />;
                const pointer = runPointer(pass, point.key, runIndex, field);
                if (onField === null) {
                  return (
                    <span key={field} className="point-cell">
                      <span className="point-cell-label">{headings[field]}</span>
                      {isRunBlank(run) ? <span className="quiet">–</span> : run[field]}
                    </span>
                  );
                }
                const runName = runs.length > 1 ? `, run ${runIndex + 1}` : "";
                return (
                  <RunFieldInput
                    key={field}
                    id={fieldId(pointer)}
                    label={`${point.label}${runName}, ${runFieldNames[field] ?? field}`}
                    heading={headings[field]}
                    value={run[field]}
                    onChange={(text) => onField(point.key, runIndex, field, text)}
                    errorId={
                      sentences.some((one) => one.pointer === pointer)
                        ? `${fieldId(pointer)}-error`
                        : undefined
                    }
                    isStop={field !== "counts" || run.counts === ""}
                  />
                );
              })}
              <output
                className="point-cell"
                htmlFor={fieldId(runPointer(pass, point.key, runIndex, fields[0] ?? "counts"))}
              >
                <span className="point-cell-label">Registration %</span>
                <RegistrationPercent
                  value={evaluated?.state === "evaluated" ? evaluated.registrationPercent : null}
                  places={places}
                />
              </output>
            </div>
          );
        })}
      </div>
      <JudgedCells
        judged={isJudged ? evaluation : null}
        mean={evaluation?.meanPercent ?? null}
        error={evaluation?.errorPercent ?? null}
        places={places}
        hasRepeats={hasRepeats}
        storyId={storyId}
        storyLabel={`How ${point.label} came about`}
        isOpen={isOpen}
        onToggle={onToggle}
      />
      {sentences.length === 0 && whole.length === 0 && !isUncorrected ? null : (
        <div className="point-notes">
          {sentences.map(({ pointer, runIndex, field, detail }) => (
            <div key={pointer} id={`${fieldId(pointer)}-error`} className="field-error">
              {runs.length > 1 ? `Run ${runIndex + 1}, ` : ""}
              {headings[field]}: {detail}
            </div>
          ))}
          {whole.map((detail) => (
            <div key={detail} className="field-error">
              {detail}
            </div>
          ))}
          {isUncorrected ? (
            <div className="small">
              <StatusMark tone="warn">Uncorrected</StatusMark> {evaluation.correction.reason}
            </div>
          ) : null}
        </div>
      )}
      {isOpen ? (
        <div className="point-story" id={storyId}>
          {evaluation === null || !isJudged ? (
            <p>Choose a reason first: the limits depend on it.</p>
          ) : (
            <PointStory point={evaluation} />
          )}
        </div>
      ) : null}
    </div>
  );
}
