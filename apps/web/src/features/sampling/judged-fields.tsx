import {
  type SamplingCharacteristic,
  samplingCharacteristicNames,
} from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { Checkbox } from "../../ui/checkbox.tsx";
import { DecimalField } from "../../ui/decimal-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Notice } from "../../ui/notice.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { type CharacteristicDraft, judgedOf } from "./scheme-draft.ts";
import type { SchemePart } from "./scheme-part.ts";

const roles = ["full-load", "light-load", "power-factor"] as const;

/** Which characteristics of a meter are judged, each with its own limits. */
export function JudgedFields({ draft, onChange, errorAt }: SchemePart) {
  const setOne = (characteristic: SamplingCharacteristic, changes: Partial<CharacteristicDraft>) =>
    onChange({
      characteristics: draft.characteristics.map((one) =>
        one.characteristic === characteristic ? { ...one, ...changes } : one,
      ),
    });
  const judged = judgedOf(draft);
  const noneError = errorAt("/body/characteristics");
  return (
    <>
      {noneError === undefined ? null : <Notice tone="bad" title={noneError} />}
      {draft.characteristics.map((one) => {
        const place = judged.indexOf(one);
        const at = (part: string) => `/body/characteristics/${place}${part}`;
        const name = samplingCharacteristicNames[one.characteristic];
        const ownError = place < 0 ? undefined : (errorAt(at("")) ?? errorAt(at("/limits")));
        return (
          <fieldset key={one.characteristic} className="field">
            <legend className="visually-hidden">{name}</legend>
            <Checkbox
              isSelected={one.isJudged}
              onChange={(isJudged) => setOne(one.characteristic, { isJudged })}
              error={ownError}
              {...(place === 0 ? { id: fieldId("/body/characteristics") } : {})}
            >
              {name}
            </Checkbox>
            {one.isJudged ? (
              <div className="row-fields">
                {one.characteristic === "verdict" ? null : (
                  <>
                    <DecimalField
                      label="From"
                      unit="%"
                      id={fieldId(at("/limits/minPercent"))}
                      value={one.minPercent}
                      onChange={(minPercent) => setOne(one.characteristic, { minPercent })}
                      error={errorAt(at("/limits/minPercent"))}
                    />
                    <DecimalField
                      label="To"
                      unit="%"
                      id={fieldId(at("/limits/maxPercent"))}
                      value={one.maxPercent}
                      onChange={(maxPercent) => setOne(one.characteristic, { maxPercent })}
                      error={errorAt(at("/limits/maxPercent"))}
                    />
                    <TextField
                      label="Source of the limits"
                      id={fieldId(at("/limits/source"))}
                      value={one.source}
                      onChange={(source) => setOne(one.characteristic, { source })}
                      error={errorAt(at("/limits/source"))}
                      maxLength={300}
                    />
                  </>
                )}
                {draft.planKind === "plan-table" ? null : (
                  <DecimalField
                    label="Own AQL"
                    optional
                    unit="%"
                    hint="Empty takes the plan's"
                    id={fieldId(at("/aqlPercent"))}
                    value={one.aqlPercent}
                    onChange={(aqlPercent) => setOne(one.characteristic, { aqlPercent })}
                    error={errorAt(at("/aqlPercent"))}
                  />
                )}
              </div>
            ) : null}
          </fieldset>
        );
      })}
      <Checkbox
        isSelected={draft.hasAverage}
        onChange={(hasAverage) => onChange({ hasAverage })}
        hint="Else the average is each test's own, under its profile."
      >
        The scheme makes its own average from the loads
      </Checkbox>
      {draft.hasAverage ? (
        <div className="row-fields">
          <TextField
            label="Name of the average"
            id={fieldId("/body/average/label")}
            value={draft.averageLabel}
            onChange={(averageLabel) => onChange({ averageLabel })}
            error={errorAt("/body/average/label")}
            maxLength={80}
          />
          {roles.map((role, place) => (
            <DecimalField
              key={role}
              label={`Weight of ${samplingCharacteristicNames[role].toLowerCase()}`}
              optional
              {...(place === 0
                ? { id: fieldId("/body/average/weights"), error: errorAt("/body/average/weights") }
                : {})}
              value={draft.averageWeights[role]}
              onChange={(weight) => onChange({ averageWeights: { ...draft.averageWeights, [role]: weight } })}
            />
          ))}
          <TextField
            label="Source of the average"
            id={fieldId("/body/average/source")}
            value={draft.averageSource}
            onChange={(averageSource) => onChange({ averageSource })}
            error={errorAt("/body/average/source")}
            maxLength={300}
          />
        </div>
      ) : null}
    </>
  );
}
