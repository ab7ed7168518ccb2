import type { MeterTest } from "@sealbook/contract/meter-tests";
import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { Panel } from "../../ui/panel.tsx";
import { PassGrounds } from "./pass-grounds.tsx";
import { PassMark } from "./pass-mark.tsx";
import { PassTable } from "./pass-table.tsx";
import { RecordedDemand } from "./recorded-demand.tsx";
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
    <Panel title={title} actions={<PassMark verdict={evaluation.verdict} />}>
      <PassTable
        pass={pass}
        form={form}
        points={test.plan.body.points}
        nameplate={{ ...test.meter, circuitFactors: {} }}
        evaluation={evaluation}
        onField={null}
        errorAt={noError}
      />
      <PassGrounds evaluation={evaluation} />
      {evaluation.reasons.some(({ about }) => about === "creep") ? null : (
        <p className="small">{evaluation.creep.reason}</p>
      )}
      {evaluation.startingLoad === null ||
      evaluation.reasons.some(({ about }) => about === "starting-load") ? null : (
        <p className="small">{evaluation.startingLoad.reason}</p>
      )}
      {evaluation.demand === null || evaluation.demand.length === 0 ? null : (
        <RecordedDemand demand={evaluation.demand} />
      )}
    </Panel>
  );
}

function noError() {
  return undefined;
}
