import type { Standard } from "@sealbook/contract/standards";
import type { TestPlan } from "@sealbook/contract/test-plans";
import type { PlacedError } from "../../api/use-submission.ts";
import { ComboBox } from "../../ui/combo-box.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { optionsOf } from "../../ui/options-of.ts";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { Select } from "../../ui/select.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { cellsOfColumn } from "./cells-of-column.ts";
import { ColumnFields } from "./column-fields.tsx";
import { fieldsUsed } from "./fields-used.ts";
import { fieldsOffered, pointsOfPlans } from "./import-fields.ts";
import { kindWords } from "./kind-words.ts";
import type { MappingForm } from "./mapping-form.ts";
import {
  dateOrderNames,
  decimalMarkNames,
  energyUnits,
  figuresNames,
  mappingLabel,
  separatorNames,
} from "./mapping-names.ts";
import { MappingPart } from "./mapping-part.tsx";
import { TestRowFields } from "./test-row-fields.tsx";
import { timeZones } from "./time-zones.ts";
import { withColumnField } from "./with-column-field.ts";

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
  const isOfTests = form.kind === "meter-tests";
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
          hint={`Such as ${kindWords[form.kind].source} name`}
          value={form.name}
          onChange={(name) => set({ name })}
          maxLength={80}
          autoFocus
        />
      </div>
      <MappingPart title="How the file is written">
        <div className="mapping-row">
          <Select
            {...common("/separator")}
            value={form.separator}
            onChange={(separator) => set({ separator })}
            options={optionsOf(separatorNames)}
            placeholder="Choose"
          />
          <Select
            {...common("/decimalMark")}
            value={form.decimalMark}
            onChange={(decimalMark) => set({ decimalMark })}
            options={optionsOf(decimalMarkNames)}
            placeholder="Choose"
          />
          <Select
            {...common("/dateOrder")}
            value={form.dateOrder}
            onChange={(dateOrder) => set({ dateOrder })}
            options={optionsOf(dateOrderNames)}
            placeholder="Choose"
          />
          {isOfTests || form.kind === "meter-events" ? (
            <ComboBox
              {...common("/timeZone")}
              hint="For times without an offset"
              value={form.timeZone}
              onChange={(timeZone) => set({ timeZone })}
              options={timeZones(form.timeZone)}
            />
          ) : null}
        </div>
      </MappingPart>
      <MappingPart title="What the columns mean">
        <p className="quiet">
          Choose a meaning for the columns that count; the others are passed over.{" "}
          {kindWords[form.kind].needed}
        </p>
        <ColumnFields
          columns={form.columns}
          sample={sample}
          offered={fieldsOffered(form.kind, pointsOfPlans(plans))}
          onChoose={(index, field) =>
            onChange(withColumnField(form, index, field, cellsOfColumn(sample, index)))
          }
          errors={lines.filter(({ pointer }) => pointer === "/columns").map(({ detail }) => detail)}
          errorAt={errorAt}
        />
      </MappingPart>
      {isOfTests || used.figures ? (
        <MappingPart title="What the figures are">
          {used.figures ? (
            <RadioGroup
              {...common("/figures")}
              value={form.figures}
              onChange={(figures) => set({ figures })}
              options={optionsOf(figuresNames)}
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
          {isOfTests ? (
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
          ) : null}
        </MappingPart>
      ) : null}
      {isOfTests ? (
        <TestRowFields
          form={form}
          plans={plans}
          standards={standards}
          onChange={onChange}
          errorAt={errorAt}
        />
      ) : null}
    </>
  );
}
