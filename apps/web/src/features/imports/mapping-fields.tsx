import type { Standard } from "@sealbook/contract/standards";
import type { TestPlan } from "@sealbook/contract/test-plans";
import { testReasonNames } from "@sealbook/contract/work-items";
import type { ReactNode } from "react";
import type { PlacedError } from "../../api/use-submission.ts";
import { ComboBox } from "../../ui/combo-box.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { Select } from "../../ui/select.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { cellsOfColumn } from "./cells-of-column.ts";
import { ColumnFields } from "./column-fields.tsx";
import { fieldsUsed } from "./fields-used.ts";
import { pointsOfPlans } from "./import-fields.ts";
import type { MappingForm } from "./mapping-form.ts";
import {
  choicesOf,
  creepNames,
  dateOrderNames,
  decimalMarkNames,
  energyUnits,
  figuresNames,
  mappingLabel,
  reasonNames,
  separatorNames,
  untestableNames,
} from "./mapping-names.ts";
import { timeZones } from "./time-zones.ts";
import { withColumnField } from "./with-column-field.ts";
import { WordFields } from "./word-fields.tsx";

/** The questions of a mapping; those that no column calls for are left out. */
export function MappingFields({
  form,
  sample,
  plans,
  standards,
  onChange,
  lines,
}: {
  form: MappingForm;
  sample: readonly (readonly string[])[];
  plans: readonly TestPlan[];
  standards: readonly Standard[];
  onChange: (form: MappingForm) => void;
  /** What is wrong, by pointers into the form. */
  lines: readonly PlacedError[];
}) {
  const errorAt = (pointer: string) => lines.find((line) => line.pointer === pointer)?.detail;
  const used = fieldsUsed(form.columns.map(({ field }) => field));
  const set = (changes: Partial<MappingForm>) => onChange({ ...form, ...changes });
  const common = (pointer: string) => ({
    label: mappingLabel(pointer),
    id: fieldId(pointer),
    error: errorAt(pointer),
  });
  return (
    <>
      <div className="mapping-row">
        <TextField
          {...common("/name")}
          hint="Such as the bench's name"
          value={form.name}
          onChange={(name) => set({ name })}
          maxLength={80}
          autoFocus
        />
      </div>
      <Part title="How the file is written">
        <div className="mapping-row">
          <Select
            {...common("/separator")}
            value={form.separator}
            onChange={(separator) => set({ separator })}
            options={choicesOf(separatorNames)}
            placeholder="Choose"
          />
          <Select
            {...common("/decimalMark")}
            value={form.decimalMark}
            onChange={(decimalMark) => set({ decimalMark })}
            options={choicesOf(decimalMarkNames)}
            placeholder="Choose"
          />
          <Select
            {...common("/dateOrder")}
            value={form.dateOrder}
            onChange={(dateOrder) => set({ dateOrder })}
            options={choicesOf(dateOrderNames)}
            placeholder="Choose"
          />
          <ComboBox
            {...common("/timeZone")}
            hint="For times without an offset"
            value={form.timeZone}
            onChange={(timeZone) => set({ timeZone })}
            options={timeZones(form.timeZone)}
          />
        </div>
      </Part>
      <Part title="What the columns mean">
        <p className="quiet">
          Choose a meaning for the columns that count; the others are passed over. The meter&rsquo;s number or
          serial, the time of the test and the figures of its points are needed.
        </p>
        <ColumnFields
          columns={form.columns}
          sample={sample}
          points={pointsOfPlans(plans)}
          onChoose={(index, field) =>
            onChange(withColumnField(form, index, field, cellsOfColumn(sample, index)))
          }
          errors={lines.filter(({ pointer }) => pointer === "/columns").map(({ detail }) => detail)}
          errorAt={errorAt}
        />
      </Part>
      <Part title="What the figures are">
        {used.figures ? (
          <RadioGroup
            {...common("/figures")}
            value={form.figures}
            onChange={(figures) => set({ figures })}
            options={choicesOf(figuresNames)}
          />
        ) : null}
        {used.energy ? (
          <RadioGroup
            {...common("/energyUnit")}
            value={form.energyUnit}
            onChange={(energyUnit) => set({ energyUnit })}
            options={energyUnits.map((value) => ({ value, label: value }))}
          />
        ) : null}
        <RadioGroup
          {...common("/errorAppliedByBench")}
          hint="Ask whoever set the bench up if you do not know: it decides how the figures are judged."
          value={form.errorAppliedByBench}
          onChange={(errorAppliedByBench) => set({ errorAppliedByBench })}
          options={[
            { value: "yes", label: "Yes, the figures are corrected" },
            { value: "no", label: "No, correct them here" },
          ]}
        />
      </Part>
      <Part title="What every row has in common">
        <div className="mapping-row">
          <Select
            {...common("/standardDesignation")}
            hint={used.standard ? "Where its column is empty" : "For every row"}
            value={form.standardDesignation}
            onChange={(standardDesignation) => set({ standardDesignation })}
            options={withPresent(
              standards.map(({ designation, maker, model }) => ({
                value: designation,
                label: `${designation}: ${maker} ${model}`,
              })),
              form.standardDesignation,
            )}
            placeholder={used.standard ? "None: the row must name it" : "Choose, or map a column"}
          />
          <Select
            {...common("/planCode")}
            hint={used.planCode ? "Where its column is empty" : "For every row"}
            value={form.planCode}
            onChange={(planCode) => set({ planCode })}
            options={withPresent(
              plans.map(({ code, name }) => ({ value: code, label: `${code}: ${name}` })),
              form.planCode,
            )}
            placeholder="Each meter type's own plan"
          />
          <Select
            {...common("/defaultReason")}
            hint={used.reason ? "Where its column is empty" : "For every row"}
            value={form.defaultReason}
            onChange={(defaultReason) => set({ defaultReason })}
            options={choicesOf(testReasonNames)}
            placeholder={used.reason ? "None: the row must say it" : "Choose, or map a column"}
          />
        </div>
        {used.tester ? null : (
          <p className="quiet">No column names the tester: whoever puts the file in counts as the tester.</p>
        )}
      </Part>
      {used.reason ? (
        <WordFields
          label={mappingLabel("/reasons")}
          pointer="/reasons"
          rows={form.reasons}
          onChange={(reasons) => set({ reasons })}
          options={choicesOf(reasonNames)}
          errorAt={errorAt}
        />
      ) : null}
      {used.noTestPossible ? (
        <WordFields
          label={mappingLabel("/noTestPossible")}
          pointer="/noTestPossible"
          rows={form.noTestPossible}
          onChange={(noTestPossible) => set({ noTestPossible })}
          options={choicesOf(untestableNames)}
          errorAt={errorAt}
        />
      ) : null}
      {used.creep ? (
        <WordFields
          label={mappingLabel("/creepWords")}
          pointer="/creepWords"
          rows={form.creepWords}
          onChange={(creepWords) => set({ creepWords })}
          options={choicesOf(creepNames)}
          errorAt={errorAt}
        />
      ) : null}
    </>
  );
}

function Part({ title, children }: { title: string; children: ReactNode }) {
  return (
    <div className="stack-tight">
      <h3>{title}</h3>
      {children}
    </div>
  );
}

/** The options, and what is chosen now even where it is no longer on record. */
function withPresent(options: { value: string; label: string }[], value: string) {
  if (value === "" || options.some((option) => option.value === value)) return options;
  return [...options, { value, label: `${value}: not on record` }];
}
