import { attributesAqls, attributesLevels } from "@sealbook/metrology/sampling/attributes/milstd105e-tables";
import {
  milstd414Levels,
  milstd414NormalAqls,
} from "@sealbook/metrology/sampling/variables/milstd414-tables";
import { z19Aqls, z19Levels } from "@sealbook/metrology/sampling/variables/z19-tables";
import { Checkbox } from "../../ui/checkbox.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { Select } from "../../ui/select.tsx";
import { PlanTableView } from "./plan-table-view.tsx";
import type { SchemePart } from "./scheme-part.ts";
import { usePlanTables } from "./use-plan-tables.ts";

/** By which tables a lot's sample is planned. */
export function PlanFields({ draft, onChange, errorAt }: SchemePart) {
  const [levels, aqls]: [readonly string[], readonly number[]] =
    draft.planKind === "attributes"
      ? [attributesLevels, attributesAqls.filter((aql) => aql <= 10)]
      : draft.variablesEdition === "ANSI/ASQ Z1.9"
        ? [z19Levels, z19Aqls]
        : [milstd414Levels, milstd414NormalAqls];
  return (
    <>
      <RadioGroup
        label="Plan"
        value={draft.planKind}
        onChange={(planKind) => onChange({ planKind })}
        options={[
          { value: "attributes", label: "By attributes: nonconforming meters are counted" },
          {
            value: "variables",
            label: "By variables: percent nonconforming is estimated from mean and spread",
          },
          { value: "plan-table", label: "By a table of plans" },
        ]}
      />
      {draft.planKind === "plan-table" ? (
        <TableChoice draft={draft} onChange={onChange} />
      ) : (
        <div className="row-fields">
          {draft.planKind === "attributes" ? (
            <Select
              label="Edition"
              value={draft.attributesEdition}
              onChange={(edition) => {
                if (edition !== "") onChange({ attributesEdition: edition });
              }}
              options={[
                { value: "ANSI/ASQ Z1.4-2003", label: "ANSI/ASQ Z1.4-2003" },
                { value: "MIL-STD-105E", label: "MIL-STD-105E" },
              ]}
            />
          ) : (
            <Select
              label="Edition"
              value={draft.variablesEdition}
              onChange={(edition) => {
                if (edition !== "") onChange({ variablesEdition: edition });
              }}
              options={[
                { value: "ANSI/ASQ Z1.9", label: "ANSI/ASQ Z1.9" },
                { value: "MIL-STD-414", label: "MIL-STD-414 of 1957" },
              ]}
            />
          )}
          <Select
            label="Inspection level"
            id={fieldId("/body/plan/level")}
            value={levels.includes(draft.level) ? draft.level : ""}
            onChange={(level) => onChange({ level })}
            placeholder="Choose the level"
            options={levels.map((one) => ({ value: one, label: one }))}
            error={errorAt("/body/plan/level")}
          />
          <Select
            label="AQL, percent nonconforming"
            id={fieldId("/body/plan/aqlPercent")}
            value={aqls.map(String).includes(draft.aqlPercent) ? draft.aqlPercent : ""}
            onChange={(aqlPercent) => onChange({ aqlPercent })}
            placeholder="Choose the AQL"
            options={aqls.map((one) => ({ value: String(one), label: String(one) }))}
            error={errorAt("/body/plan/aqlPercent")}
          />
        </div>
      )}
      <Checkbox
        isSelected={draft.switching}
        onChange={(switching) => onChange({ switching })}
        hint="Else it stays normal until somebody directs another."
      >
        The inspection state follows the series
      </Checkbox>
      {draft.planKind === "attributes" && draft.attributesEdition === "ANSI/ASQ Z1.4-2003" ? (
        <Checkbox
          isSelected={draft.limitNumbersDropped}
          onChange={(limitNumbersDropped) => onChange({ limitNumbersDropped })}
          id={fieldId("/body/limitNumbersDropped")}
          error={errorAt("/body/limitNumbersDropped")}
        >
          The limit numbers of reduced inspection are dropped by agreement
        </Checkbox>
      ) : null}
    </>
  );
}

/** Which table of plans: one that comes with the product, or the one that the chosen rule profile carries. */
function TableChoice({ draft, onChange }: Pick<SchemePart, "draft" | "onChange">) {
  const offered = usePlanTables(draft.jurisdiction);
  const tables = offered.some(({ name }) => name === draft.table.name) ? offered : [draft.table, ...offered];
  return (
    <>
      <Select
        label="Table"
        hint="A rule profile may carry a table of its own: choose the profile above, and its table stands here too."
        value={draft.table.name}
        onChange={(name) => {
          const table = tables.find((one) => one.name === name);
          if (table !== undefined) onChange({ table });
        }}
        options={tables.map(({ name }) => ({ value: name, label: name }))}
      />
      <PlanTableView table={draft.table} />
    </>
  );
}
