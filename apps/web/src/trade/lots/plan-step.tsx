import { type Lot, planLot } from "@sealbook/contract/sampling";
import type { CharacteristicPlan } from "@sealbook/metrology/sampling/decision/lot-plan-schema";
import { samplingCharacteristicNames } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { Link } from "@tanstack/react-router";
import { type FormEvent, useMemo, useState } from "react";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { Button } from "../../ui/button.tsx";
import { DateField } from "../../ui/date-field.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { Empty } from "../../ui/empty.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { LocalInstant } from "../local-instant.tsx";
import { PersonName } from "../person-name.tsx";
import { SubmissionSummary } from "../submission-summary.tsx";
import { LotStep } from "./lot-step.tsx";
import { singleLaw, variablesLaw } from "./plan-law.ts";
import { Protection } from "./protection.tsx";
import { severityNames } from "./severity-names.ts";
import { useRefreshOnClash } from "./use-refresh-on-clash.ts";

/** The plan of a lot: how many meters are tested, under which severity and why, and what that protects. */
export function PlanStep({ lot, number }: { lot: Lot; number: number }) {
  const mayRun = useMay("sampling.run");
  const { plan } = lot;
  return (
    <LotStep
      number={number}
      title="Plan"
      isAhead={plan === null && lot.counts.members === 0}
      actions={
        <Link to={paths.series()} search={{ series: lot.series, scheme: lot.scheme.code }}>
          Inspection state of the series
        </Link>
      }
    >
      <p className="quiet">
        <Link to={paths.scheme(lot.scheme.id)}>
          {lot.scheme.code}, revision {lot.scheme.revision}
        </Link>{" "}
        {lot.scheme.name}
      </p>
      {plan === null ? (
        lot.state !== "forming" ? (
          <Empty title="The lot was given up before it had a plan." />
        ) : lot.counts.members === 0 ? (
          <Empty title="Take the meters in first: the plan goes by their number." />
        ) : mayRun ? (
          <PlanForm lot={lot} />
        ) : (
          <Empty title="No plan yet. A quality engineer or a supervisor fixes it." />
        )
      ) : (
        <>
          <DefinitionList
            items={[
              { term: "Lot size", value: plan.lotSize },
              { term: "Sample", value: plan.n },
              { term: "Spares", value: plan.spares },
              { term: "Results due", value: lot.dueOn ?? "no date" },
              {
                term: "Fixed",
                value:
                  lot.plannedAt === null ? (
                    "–"
                  ) : (
                    <>
                      <LocalInstant instant={lot.plannedAt} /> <PersonName person={lot.plannedBy} />
                    </>
                  ),
              },
            ]}
          />
          <div className={plan.characteristics.length > 1 ? "columns" : "stack"}>
            {plan.characteristics.map((one) => (
              <CharacteristicPlanPart key={one.characteristic} part={one} lotSize={plan.lotSize} />
            ))}
          </div>
        </>
      )}
    </LotStep>
  );
}

function CharacteristicPlanPart({ part, lotSize }: { part: CharacteristicPlan; lotSize: number }) {
  const { plan } = part;
  const [isOpen, setIsOpen] = useState(false);
  const law = useMemo(
    () =>
      plan.kind === "variables"
        ? variablesLaw({ n: plan.n, maximumPercent: plan.maximumPercent })
        : singleLaw(plan.n, plan.ac, lotSize),
    [plan, lotSize],
  );
  const name = samplingCharacteristicNames[part.characteristic];
  return (
    <div className="stack-tight">
      <h3>
        {name}: {severityNames[part.severity].toLowerCase()} inspection
      </h3>
      <p>{planWords(part)}</p>
      {part.reasons.length === 0 ? null : (
        <ul>
          {part.reasons.map((reason) => (
            <li key={reason}>{reason}</li>
          ))}
        </ul>
      )}
      {part.protection === null || isOpen ? null : <p>{part.protection.sentence}</p>}
      {part.notes.map((note) => (
        <p key={note} className="quiet">
          {note}
        </p>
      ))}
      {law === null || part.protection === null ? null : (
        <>
          <div>
            <Button kind="quiet" aria-expanded={isOpen} onClick={() => setIsOpen(!isOpen)}>
              {isOpen ? "Put the curve away" : "Show what it protects"}
            </Button>
          </div>
          {isOpen ? (
            <Protection
              name={`the plan for ${name.toLowerCase()}`}
              law={law}
              percent={Number(part.aqlPercent ?? part.protection.acceptedPercent.toPrecision(3))}
              lotSize={lotSize}
            />
          ) : null}
        </>
      )}
    </div>
  );
}

function planWords({ plan, aqlPercent }: CharacteristicPlan): string {
  const aql = aqlPercent === null ? "" : `, AQL ${aqlPercent} %`;
  switch (plan.kind) {
    case "attributes": {
      const letter =
        plan.letter === plan.planLetter ? plan.letter : `${plan.letter}, by the arrow ${plan.planLetter}`;
      return `${plan.edition}${aql}, code letter ${letter}: n ${plan.n}, Ac ${plan.ac}, Re ${plan.re}.`;
    }
    case "variables":
      return `${plan.edition}${aql}, code letter ${plan.letter}: n ${plan.n}, M ${plan.maximumPercent} %.`;
    case "plan-table":
      return `${plan.table}: n ${plan.n}, Ac ${plan.ac}, Re ${plan.re} (${plan.source}).`;
    case "whole-lot":
      return `Every meter is tested: n ${plan.n}, Ac ${plan.ac}, Re ${plan.re}.`;
  }
}

function PlanForm({ lot }: { lot: Lot }) {
  const [dueOn, setDueOn] = useState("");
  const submission = useSubmission(planLot);
  useRefreshOnClash(submission.problem);
  const [isAsking, setAsking] = useState(false);
  const ask = (event: FormEvent) => {
    event.preventDefault();
    setAsking(true);
  };
  const fix = () => {
    setAsking(false);
    void submission.submit({
      params: { id: lot.id },
      version: lot.version,
      body: { dueOn: dueOn.trim() === "" ? null : dueOn.trim() },
    });
  };
  const meters = `${lot.counts.members} ${lot.counts.members === 1 ? "meter" : "meters"}`;
  return (
    <form className="stack" onSubmit={ask}>
      <SubmissionSummary submission={submission} names={{ "/dueOn": "Results due" }} />
      <p>
        {meters} {lot.counts.members === 1 ? "stands" : "stand"} in the lot. Fixing the plan fixes the meters,
        too: none can be added afterwards.
      </p>
      <div className="row-fields">
        <DateField
          label="Results due"
          optional
          id={fieldId("/dueOn")}
          value={dueOn}
          onChange={setDueOn}
          error={submission.errorAt("/dueOn")}
        />
      </div>
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Fixing" : "Fix the plan"}
        </Button>
      </div>
      {isAsking ? (
        <Dialog
          title={`Fix the plan of lot ${lot.number} for good?`}
          onClose={() => setAsking(false)}
          buttons={
            <>
              <Button onClick={() => setAsking(false)}>Not yet</Button>
              <Button kind="primary" onClick={fix}>
                Fix it for good
              </Button>
            </>
          }
        >
          <p>
            The plan is made for {meters} and for the inspection state of the series as it is now. It cannot
            be changed afterwards, and no meter can be added or taken out.
          </p>
        </Dialog>
      ) : null}
    </form>
  );
}
