import { Checkbox } from "../../ui/checkbox.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Select } from "../../ui/select.tsx";
import { TextField } from "../../ui/text-field.tsx";
import type { SchemePart } from "./scheme-part.ts";
import { mergeNames } from "./scheme-words.ts";

const merges = ["never", "same-form", "same-technology"] as const;

/** How large lots may be, and how groups in service are formed. */
export function LotFields({ draft, onChange, errorAt }: SchemePart) {
  return (
    <>
      <div className="row-fields">
        <TextField
          label="Least lot"
          inputMode="numeric"
          id={fieldId("/body/lotSize/min")}
          value={draft.lotMin}
          onChange={(lotMin) => onChange({ lotMin })}
          error={errorAt("/body/lotSize/min")}
          maxLength={9}
        />
        <TextField
          label="Greatest lot"
          optional
          inputMode="numeric"
          hint="Empty for no limit"
          id={fieldId("/body/lotSize/max")}
          value={draft.lotMax}
          onChange={(lotMax) => onChange({ lotMax })}
          error={errorAt("/body/lotSize/max")}
          maxLength={9}
        />
        {draft.purpose === "shipment" ? null : (
          <>
            <TextField
              label="Stands apart from"
              optional
              inputMode="numeric"
              hint="A type of this many meters is never merged"
              id={fieldId("/body/lotSize/standAloneFrom")}
              value={draft.standAloneFrom}
              onChange={(standAloneFrom) => onChange({ standAloneFrom })}
              error={errorAt("/body/lotSize/standAloneFrom")}
              maxLength={9}
            />
            <TextField
              label="Year set"
              optional
              inputMode="numeric"
              hint="Meters bought within this many years stand together"
              id={fieldId("/body/grouping/years")}
              value={draft.groupYears}
              onChange={(groupYears) => onChange({ groupYears })}
              error={errorAt("/body/grouping/years")}
              maxLength={2}
            />
            <Select
              label="Small groups stand together"
              value={draft.merge}
              onChange={(merge) => {
                if (merge !== "") onChange({ merge });
              }}
              options={merges.map((one) => ({ value: one, label: mergeNames[one] }))}
            />
            <TextField
              label="Sampled every, months"
              optional
              inputMode="numeric"
              id={fieldId("/body/everyMonths")}
              value={draft.everyMonths}
              onChange={(everyMonths) => onChange({ everyMonths })}
              error={errorAt("/body/everyMonths")}
              maxLength={3}
            />
          </>
        )}
      </div>
      {draft.purpose === "shipment" ? null : (
        <div className="choice-list">
          <Checkbox isSelected={draft.byFirmware} onChange={(byFirmware) => onChange({ byFirmware })}>
            Each firmware stands apart
          </Checkbox>
          <Checkbox isSelected={draft.byArea} onChange={(byArea) => onChange({ byArea })}>
            Each area stands apart
          </Checkbox>
        </div>
      )}
    </>
  );
}
