import type { TestPlanBody } from "@sealbook/contract/test-plans";
import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { CreepField } from "./creep-field.tsx";
import { DemandFields } from "./demand-fields.tsx";
import { withDemandField } from "./demand-form.ts";
import { StartingLoadField } from "./starting-load-field.tsx";
import type { FormPass, PassForm } from "./test-form.ts";

/** What is asked of a pass beside its points: creep, and starting load and demand where the plan has them. */
export function AskedFields({
  pass,
  form,
  asks,
  evaluation,
  onChange,
  errorAt,
}: {
  pass: FormPass;
  form: PassForm;
  asks: Pick<TestPlanBody, "creep" | "startingLoad" | "demand">;
  evaluation: PassEvaluation | null;
  onChange: (change: (now: PassForm) => PassForm) => void;
  errorAt: (pointer: string) => string | undefined;
}) {
  return (
    <>
      <CreepField
        pass={pass}
        value={form.creep}
        onChange={(creep) => onChange((now) => ({ ...now, creep }))}
        isAsked={asks.creep === "asked"}
        errorAt={errorAt}
      />
      {asks.startingLoad === "asked" ? (
        <StartingLoadField
          pass={pass}
          value={form.startingLoad}
          onChange={(startingLoad) => onChange((now) => ({ ...now, startingLoad }))}
          errorAt={errorAt}
        />
      ) : null}
      {asks.demand === null ? null : (
        <DemandFields
          pass={pass}
          form={form}
          basis={asks.demand.basis}
          evaluation={evaluation}
          onField={(index, field, text) => onChange((now) => withDemandField(now, index, field, text))}
          errorAt={errorAt}
        />
      )}
    </>
  );
}
