import type { MeterTest } from "@sealbook/contract/meter-tests";
import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { Panel } from "../../ui/panel.tsx";
import { PassTable } from "./pass-table.tsx";
import { PassVerdict } from "./pass-verdict.tsx";
import type { FormPass, PassForm } from "./test-form.ts";

/** One pass of a recorded test: what was entered, every figure with its story, the verdict and its grounds. */
export function RecordedPass({
  title,
  pass,
  form,
  test,
  evaluation,
}: {
  title: string;
  pass: FormPass;
  form: PassForm;
  test: MeterTest;
  evaluation: PassEvaluation;
}) {
  return (
    <Panel title={title} actions={<PassVerdict evaluation={{ ...evaluation, reasons: [] }} />}>
      <PassTable
        pass={pass}
        form={form}
        points={test.plan.body.points}
        nameplate={{ ...test.meter, circuitFactors: {} }}
        evaluation={evaluation}
        onField={null}
        errorAt={noError}
      />
      <ul className="small">
        {evaluation.reasons.map((reason) => (
          <li key={`${reason.about} ${reason.pointKey ?? ""} ${reason.reason}`}>{reason.reason}</li>
        ))}
        {evaluation.reasons.some(({ about }) => about === "creep") ? null : (
          <li>{evaluation.creep.reason}</li>
        )}
      </ul>
    </Panel>
  );
}

function noError() {
  return undefined;
}
