import "./demand-fields.css";
import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import type { DemandBasis } from "@sealbook/metrology/accuracy/test-terms";
import { DecimalField } from "../../ui/decimal-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { demandFieldsOf, demandRows } from "./demand-form.ts";
import { demandFieldNames } from "./field-name.ts";
import { demandPointer } from "./form-pointer.ts";
import { JudgementMark } from "./judgement-mark.tsx";
import { stop } from "./move-on.ts";
import type { DemandField, FormPass, PassForm } from "./test-form.ts";

/** Demand of one pass: the meter beside the reference, reading by reading, judged as it is typed. */
export function DemandFields({
  pass,
  form,
  basis,
  evaluation,
  onField,
  errorAt,
}: {
  pass: FormPass;
  form: PassForm;
  basis: DemandBasis;
  /** Null while no reason is chosen, so that no limits hold yet. */
  evaluation: PassEvaluation | null;
  onField: (index: number, field: DemandField, text: string) => void;
  errorAt: (pointer: string) => string | undefined;
}) {
  return (
    <fieldset className="field stack-tight">
      <legend className="field-label">
        Demand, error in percent of {basis === "full-scale" ? "full scale" : "reading"}
      </legend>
      {demandRows(form.demand).map((reading, index) => {
        const judged = evaluation?.demand?.[index];
        const refusalOf = (field: DemandField) =>
          evaluation?.refusals.find((refusal) => refusal.demandIndex === index && refusal.field === field)
            ?.reason;
        return (
          <fieldset key={index} className="demand-reading">
            <legend className="quiet small">Reading {index + 1}</legend>
            {demandFieldsOf(basis).map((field) => (
              <div key={field} data-stop={stop(index === 0)}>
                <DecimalField
                  label={demandFieldNames[field] ?? field}
                  unit={field === "loadPercent" ? "% of TA" : "kW"}
                  id={fieldId(demandPointer(pass, index, field))}
                  value={reading[field]}
                  onChange={(text) => onField(index, field, text)}
                  error={errorAt(demandPointer(pass, index, field)) ?? refusalOf(field)}
                />
              </div>
            ))}
            {judged === undefined ? null : (
              <output className="demand-verdict">
                <JudgementMark verdict={judged.verdict} />
                <span className="small">{judged.reason}</span>
              </output>
            )}
          </fieldset>
        );
      })}
    </fieldset>
  );
}
