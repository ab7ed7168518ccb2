import { accuracyClasses } from "@sealbook/contract/meter-types";
import { circuitNames, listTestPlans } from "@sealbook/contract/test-plans";
import { circuitFactor } from "@sealbook/metrology/forms/circuit-factor";
import { useSuspenseQuery } from "@tanstack/react-query";
import { wholeListOptions } from "../../api/operation-options.ts";
import { NameplateFindings } from "../../trade/nameplate-findings.tsx";
import { DecimalField } from "../../ui/decimal-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Panel } from "../../ui/panel.tsx";
import { Select } from "../../ui/select.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { circuits } from "./circuits.ts";
import { fieldNames } from "./field-names.ts";
import { fieldsOf, type MeterTypeDraft } from "./meter-type-draft.ts";

/** The fields of a type's form, with the check of the nameplate as it is typed. */
export function MeterTypeFieldset({
  draft,
  onChange,
  errorAt,
}: {
  draft: MeterTypeDraft;
  onChange: (changes: Partial<MeterTypeDraft>) => void;
  errorAt: (pointer: string) => string | undefined;
}) {
  const plans = useSuspenseQuery(wholeListOptions(listTestPlans, { query: {} })).data.rows;
  const common = (pointer: string) => ({
    label: fieldNames[pointer] ?? pointer,
    id: fieldId(pointer),
    error: errorAt(pointer),
  });
  return (
    <>
      <Panel title="Nameplate">
        <div className="row-fields">
          <TextField
            {...common("/maker")}
            value={draft.maker}
            onChange={(maker) => onChange({ maker })}
            maxLength={80}
            autoFocus
          />
          <TextField
            {...common("/model")}
            value={draft.model}
            onChange={(model) => onChange({ model })}
            maxLength={80}
          />
          <TextField
            {...common("/form")}
            hint="ANSI form, such as 9S"
            value={draft.form}
            onChange={(form) => onChange({ form: form.trim().toUpperCase() })}
            maxLength={4}
          />
          <Select
            {...common("/phases")}
            value={draft.phases}
            onChange={(phases) => onChange({ phases })}
            placeholder="Choose"
            options={(["1", "2", "3"] as const).map((value) => ({ value, label: value }))}
          />
          <Select
            {...common("/wires")}
            value={draft.wires}
            onChange={(wires) => onChange({ wires })}
            placeholder="Choose"
            options={(["2", "3", "4"] as const).map((value) => ({ value, label: value }))}
          />
          <Select
            {...common("/elements")}
            value={draft.elements}
            onChange={(elements) => onChange({ elements })}
            placeholder="Choose"
            options={(["1", "2", "2.5", "3"] as const).map((value) => ({
              value,
              label: value === "2.5" ? "2 1/2" : value,
            }))}
          />
          <DecimalField
            {...common("/classAmperes")}
            unit="A"
            value={draft.classAmperes}
            onChange={(classAmperes) => onChange({ classAmperes })}
          />
          <DecimalField
            {...common("/testAmperes")}
            unit="A"
            value={draft.testAmperes}
            onChange={(testAmperes) => onChange({ testAmperes })}
          />
          <DecimalField
            {...common("/voltsMin")}
            unit="V"
            value={draft.voltsMin}
            onChange={(voltsMin) => onChange({ voltsMin })}
          />
          <DecimalField
            {...common("/voltsMax")}
            hint="The same again for one voltage"
            unit="V"
            value={draft.voltsMax}
            onChange={(voltsMax) => onChange({ voltsMax })}
          />
          <DecimalField
            {...common("/designVolts")}
            hint="To which Kh belongs"
            unit="V"
            value={draft.designVolts}
            onChange={(designVolts) => onChange({ designVolts })}
          />
          <DecimalField
            {...common("/kh")}
            hint="Per revolution or its equivalent"
            unit="Wh"
            value={draft.kh}
            onChange={(kh) => onChange({ kh })}
          />
          <DecimalField
            {...common("/kt")}
            optional
            hint="Per pulse; empty without a test output"
            unit="Wh"
            value={draft.kt}
            onChange={(kt) => onChange({ kt })}
          />
          <Select
            {...common("/accuracyClass")}
            value={draft.accuracyClass}
            onChange={(accuracyClass) => onChange({ accuracyClass })}
            placeholder="Choose"
            options={accuracyClasses.map((value) => ({ value, label: value }))}
          />
          <Select
            {...common("/technology")}
            value={draft.technology}
            onChange={(technology) => onChange({ technology })}
            placeholder="Choose"
            options={[
              { value: "electromechanical", label: "Electromechanical" },
              { value: "solid-state", label: "Solid state" },
            ]}
          />
          <DecimalField
            {...common("/registerDials")}
            value={draft.registerDials}
            onChange={(registerDials) => onChange({ registerDials })}
          />
          <DecimalField
            {...common("/registerMultiplier")}
            value={draft.registerMultiplier}
            onChange={(registerMultiplier) => onChange({ registerMultiplier })}
          />
        </div>
        <NameplateFindings type={fieldsOf(draft)} />
      </Panel>
      <Panel title="Testing">
        <div className="row-fields row-fields-wide">
          <Select
            {...common("/testPlanCode")}
            value={draft.testPlanCode}
            onChange={(testPlanCode) => onChange({ testPlanCode })}
            placeholder="Choose"
            options={plans.map((plan) => ({ value: plan.code, label: `${plan.code}: ${plan.name}` }))}
          />
        </div>
        <p className="quiet">
          How often the meter sees the standard's energy, by the circuits driven. The table of forms knows
          most; give a factor only where it does not, or where this type differs.
        </p>
        <div className="row-fields">
          {circuits.map((circuit) => (
            <DecimalField
              key={circuit}
              {...common(`/circuitFactors/${circuit}`)}
              label={circuitNames[circuit]}
              optional
              hint={factorHint(draft.form, circuit)}
              value={draft.circuitFactors[circuit] ?? ""}
              onChange={(factor) =>
                onChange({ circuitFactors: { ...draft.circuitFactors, [circuit]: factor } })
              }
            />
          ))}
        </div>
      </Panel>
    </>
  );
}

function factorHint(form: string, circuit: (typeof circuits)[number]): string {
  if (!/^\d{1,2}[AS]$/.test(form)) return "Give the form first";
  const known = circuitFactor(form, circuit);
  return known.kind === "known" ? `Table of forms: ${known.factor.toText()}` : "Not in the table of forms";
}
