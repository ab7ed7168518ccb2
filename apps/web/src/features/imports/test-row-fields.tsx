import type { Standard } from "@sealbook/contract/standards";
import type { TestPlan } from "@sealbook/contract/test-plans";
import { testReasonNames } from "@sealbook/contract/work-items";
import { fieldId } from "../../ui/field-id.ts";
import { optionsOf } from "../../ui/options-of.ts";
import { Select } from "../../ui/select.tsx";
import { fieldsUsed } from "./fields-used.ts";
import type { MappingForm } from "./mapping-form.ts";
import { creepNames, mappingLabel, reasonNames, untestableNames } from "./mapping-names.ts";
import { MappingPart } from "./mapping-part.tsx";
import { WordFields } from "./word-fields.tsx";

/** What only a mapping of tests asks: what every row has in common, and the file's words. */
export function TestRowFields({
  form,
  plans,
  standards,
  onChange,
  errorAt,
}: {
  form: MappingForm;
  plans: readonly TestPlan[];
  standards: readonly Standard[];
  onChange: (form: MappingForm) => void;
  errorAt: (pointer: string) => string | undefined;
}) {
  const used = fieldsUsed(form.columns.map(({ field }) => field));
  const set = (changes: Partial<MappingForm>) => onChange({ ...form, ...changes });
  const common = (pointer: string) => ({
    label: mappingLabel(pointer),
    id: fieldId(pointer),
    error: errorAt(pointer),
  });
  return (
    <>
      <MappingPart title="What every row has in common">
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
            options={optionsOf(testReasonNames)}
            placeholder={used.reason ? "None: the row must say it" : "Choose, or map a column"}
          />
        </div>
        {used.tester ? null : (
          <p className="quiet">No column names the tester: whoever puts the file in counts as the tester.</p>
        )}
      </MappingPart>
      {used.reason ? (
        <WordFields
          label={mappingLabel("/reasons")}
          pointer="/reasons"
          rows={form.reasons}
          onChange={(reasons) => set({ reasons })}
          options={optionsOf(reasonNames)}
          errorAt={errorAt}
        />
      ) : null}
      {used.noTestPossible ? (
        <WordFields
          label={mappingLabel("/noTestPossible")}
          pointer="/noTestPossible"
          rows={form.noTestPossible}
          onChange={(noTestPossible) => set({ noTestPossible })}
          options={optionsOf(untestableNames)}
          errorAt={errorAt}
        />
      ) : null}
      {used.creep ? (
        <WordFields
          label={mappingLabel("/creepWords")}
          pointer="/creepWords"
          rows={form.creepWords}
          onChange={(creepWords) => set({ creepWords })}
          options={optionsOf(creepNames)}
          errorAt={errorAt}
        />
      ) : null}
    </>
  );
}

/** The options, and what is chosen now even where it is no longer on record. */
function withPresent(options: { value: string; label: string }[], value: string) {
  if (value === "" || options.some((option) => option.value === value)) return options;
  return [...options, { value, label: `${value}: not on record` }];
}
