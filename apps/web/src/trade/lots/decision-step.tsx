import { lotOutcomeNames } from "@sealbook/contract/lot-terms";
import {
  type Decision,
  decideLot,
  evaluateLot,
  getDecisionSheet,
  type Lot,
} from "@sealbook/contract/sampling";
import { useQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { operationOptions } from "../../api/operation-options.ts";
import { operationUrl } from "../../api/operation-url.ts";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { Button } from "../../ui/button.tsx";
import { Checkbox } from "../../ui/checkbox.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { Empty } from "../../ui/empty.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { Waiting } from "../../ui/waiting.tsx";
import { LocalInstant } from "../local-instant.tsx";
import { PersonName } from "../person-name.tsx";
import { ProblemNotice } from "../problem-notice.tsx";
import { SubmissionSummary } from "../submission-summary.tsx";
import { EvaluationView } from "./evaluation-view.tsx";
import { LotStep } from "./lot-step.tsx";
import { OutcomeMark } from "./outcome-mark.tsx";
import { useRefreshOnClash } from "./use-refresh-on-clash.ts";

const names = {
  "/outcome": "Decision",
  "/reason": "Reason",
  "/steady": "Steady rate",
  "/reducedApproved": "Reduced inspection",
};

/** The decision on a lot: computed from its results, or left to a person with a reason. */
export function DecisionStep({ lot, number }: { lot: Lot; number: number }) {
  const mayDecide = useMay("sampling.decide");
  const { decision } = lot;
  return (
    <LotStep
      number={number}
      title="Decision"
      isAhead={decision === null && lot.state !== "drawn"}
      actions={
        decision === null ? undefined : (
          <a href={operationUrl(getDecisionSheet, { id: lot.id })} target="_blank" rel="noreferrer">
            Decision sheet (PDF)
          </a>
        )
      }
    >
      {decision !== null ? (
        <DecisionView decision={decision} />
      ) : lot.state !== "drawn" ? (
        <Empty title="It comes once every place of the sample has an outcome." />
      ) : mayDecide ? (
        <DecisionPart lot={lot} />
      ) : (
        <Empty title="A quality engineer or a supervisor decides once every place has an outcome." />
      )}
    </LotStep>
  );
}

function DecisionPart({ lot }: { lot: Lot }) {
  const tally = useQuery(operationOptions(evaluateLot, { params: { id: lot.id } }));
  if (tally.data === undefined) {
    if (tally.error === null) return <Waiting what="the tally" />;
    return <ProblemNotice error={tally.error} onRetry={() => void tally.refetch()} />;
  }
  const { waiting, outcome, sentence } = tally.data;
  if (outcome === "open" || waiting > 0) {
    return (
      <Empty title={`${waiting} of ${tally.data.sampleSize} places have no outcome yet.`}>
        Each must be tested, found untestable, or left out with a reason before the lot is decided.
      </Empty>
    );
  }
  return <DecisionForm lot={lot} isOpen={outcome === "person-decides"} sentence={sentence} />;
}

/** The form; `isOpen` where the arithmetic leaves the outcome to a person. */
function DecisionForm({ lot, isOpen, sentence }: { lot: Lot; isOpen: boolean; sentence: string }) {
  const [id] = useState(newId);
  const [outcome, setOutcome] = useState<"accepted" | "not-accepted" | "">("");
  const [reason, setReason] = useState("");
  const [steady, setSteady] = useState(false);
  const [reducedApproved, setReducedApproved] = useState(false);
  const submission = useSubmission(decideLot, { touches: ["groups"] });
  useRefreshOnClash(submission.problem);
  const save = (event: FormEvent) => {
    event.preventDefault();
    const missing = [
      ...(isOpen && outcome === "" ? [{ pointer: "/outcome", detail: "Decide one way or the other." }] : []),
      ...(isOpen && reason.trim() === ""
        ? [{ pointer: "/reason", detail: "Say what the decision rests on." }]
        : []),
    ];
    if (missing.length > 0) {
      submission.refuse(missing);
      return;
    }
    void submission.submit({
      params: { id: lot.id },
      body: {
        id,
        outcome: isOpen && outcome !== "" ? outcome : null,
        reason: reason.trim(),
        steady,
        reducedApproved,
      },
    });
  };
  return (
    <form className="stack" onSubmit={save}>
      <SubmissionSummary submission={submission} names={names} />
      <p>{sentence}</p>
      {isOpen ? (
        <RadioGroup
          label="Decision"
          hint="The arithmetic alone does not decide here; the cautions above say why."
          id={fieldId("/outcome")}
          value={outcome}
          onChange={setOutcome}
          options={[
            { value: "accepted", label: "Accept the lot" },
            { value: "not-accepted", label: "Do not accept the lot" },
          ]}
          error={submission.errorAt("/outcome")}
        />
      ) : null}
      <TextArea
        label={isOpen ? "Reason" : "Remark"}
        optional={!isOpen}
        id={fieldId("/reason")}
        value={reason}
        onChange={setReason}
        error={submission.errorAt("/reason")}
        rows={2}
        maxLength={2000}
      />
      {lot.schemeBody.switching ? (
        <fieldset className="field">
          <legend className="field-label">For the next lot's inspection</legend>
          <Checkbox isSelected={steady} onChange={setSteady} id={fieldId("/steady")}>
            Production, or what stands for it, is at a steady rate
          </Checkbox>
          <Checkbox
            isSelected={reducedApproved}
            onChange={setReducedApproved}
            id={fieldId("/reducedApproved")}
          >
            The responsible authority approves reduced inspection
          </Checkbox>
        </fieldset>
      ) : null}
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Deciding" : "Put the decision on record"}
        </Button>
      </div>
    </form>
  );
}

function DecisionView({ decision }: { decision: Decision }) {
  const further = decision.tests.filter((test) => !test.counted);
  const amended = decision.tests.filter((test) => test.supersededById !== null);
  return (
    <div className="stack">
      <p>
        <OutcomeMark outcome={decision.outcome} /> decided <LocalInstant instant={decision.decidedAt} /> by{" "}
        <PersonName person={decision.decidedBy} />,{" "}
        <Link to={paths.ledgerEntry(decision.entryId)}>ledger entry</Link>
      </p>
      {decision.reason === "" ? null : (
        <p>
          {decision.byPerson
            ? `The arithmetic left it to a person, who decided “${lotOutcomeNames[decision.outcome].toLowerCase()}”: `
            : "Remark: "}
          {decision.reason}
        </p>
      )}
      <EvaluationView evaluation={decision.evaluation} />
      {further.length === 0 ? null : (
        <p className="quiet">
          Further tests, shown and not counted:{" "}
          {further.map((test, index) => (
            <span key={test.testId}>
              {index === 0 ? "" : ", "}
              <Link to={paths.test(test.testId)}>{test.utilityNumber}</Link>
            </span>
          ))}
        </p>
      )}
      {amended.length === 0 ? null : (
        <p>
          Amended after the decision, which stands on what was on record then:{" "}
          {amended.map((test, index) => (
            <span key={test.testId}>
              {index === 0 ? "" : ", "}
              <Link to={paths.test(test.testId)}>{test.utilityNumber}</Link>
            </span>
          ))}
        </p>
      )}
      <details>
        <summary>The tests behind it</summary>
        <DataTable
          caption="Tests behind the decision"
          rows={decision.tests}
          rowKey={(test) => test.testId}
          isQuiet={(test) => !test.counted}
          columns={[
            { heading: "Place", cell: (test) => test.place, isNumeric: true },
            {
              heading: "Meter",
              isRowHeader: true,
              cell: (test) => <Link to={paths.test(test.testId)}>{test.utilityNumber}</Link>,
            },
            { heading: "Performed", cell: (test) => <LocalInstant instant={test.performedAt} /> },
            { heading: "Tester", cell: (test) => <PersonName person={test.tester} /> },
            { heading: "Counts", cell: (test) => (test.counted ? "yes" : "no") },
          ]}
        />
      </details>
    </div>
  );
}
