import type { InspectionSeverity } from "@sealbook/metrology/sampling/sampling-terms";
import { useMemo } from "react";
import { Protection } from "../../trade/lots/protection.tsx";
import { severityNames } from "../../trade/lots/severity-names.ts";
import { DecimalField } from "../../ui/decimal-field.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { ErrorBoundary } from "../../ui/error-boundary.tsx";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { Select } from "../../ui/select.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { choiceName, chosenPlan } from "./chosen-plan.ts";
import { planStandards, readPlanChoice, standardOf } from "./plan-standards.ts";
import { SchemeChoice } from "./scheme-choice.tsx";

/** Chooses a sampling plan and shows what it protects. Nothing is stored: the address holds the choice. */
export function PlanChooserPage() {
  const [search, change] = useSearchText();
  const choice = readPlanChoice(search);
  const standard = standardOf(choice.standard);
  const isWhole = /^\d{1,7}$/.test(choice.lotSize);
  const percentText = choice.percent === "" ? (choice.aql === "" ? "1" : choice.aql) : choice.percent;
  const isPercent = /^\d{1,2}(\.\d{1,6})?$/.test(percentText) && Number(percentText) > 0;
  const { standard: key, lotSize, level, aql, severity } = choice;
  const plan = useMemo(
    () => (isWhole ? chosenPlan({ standard: key, lotSize, level, aql, severity, percent: "" }) : null),
    [isWhole, key, lotSize, level, aql, severity],
  );
  return (
    <div className="stack">
      <PageHeader
        title="Choose a plan"
        note="For trying out what a plan asks for and what it protects. Nothing is stored; the address holds the choice."
      />
      <div className="row-fields">
        <TextField
          label="Lot size"
          hint="Meters judged together"
          inputMode="numeric"
          value={choice.lotSize}
          onChange={(text) => change({ lotSize: text.trim() })}
          error={isWhole ? undefined : "Write a whole number of meters."}
          maxLength={7}
        />
        <SchemeChoice code={search.scheme ?? ""} onChoose={change} />
        <Select
          label="Tables"
          value={choice.standard}
          onChange={(next) => change({ standard: next, scheme: "" })}
          options={planStandards.map((one) => ({ value: one.key, label: one.name }))}
        />
        {standard.levels.length === 0 ? null : (
          <>
            <Select
              label="Inspection level"
              value={choice.level}
              onChange={(next) => change({ level: next, scheme: "" })}
              options={standard.levels.map((one) => ({ value: one, label: one }))}
            />
            <Select
              label="AQL, percent nonconforming"
              value={choice.aql}
              onChange={(next) => change({ aql: next, scheme: "" })}
              options={standard
                .aqls(choice.severity)
                .map((one) => ({ value: String(one), label: String(one) }))}
            />
          </>
        )}
        <Select<InspectionSeverity>
          label="Inspection"
          value={choice.severity}
          onChange={(next) => change({ severity: next })}
          options={standard.severities.map((one) => ({ value: one, label: severityNames[one] }))}
        />
        <DecimalField
          label="Suppose nonconforming"
          unit="%"
          value={percentText}
          onChange={(text) => change({ percent: text })}
          error={isPercent ? undefined : "Write a percent above 0 and below 100."}
        />
      </div>
      {plan === null ? null : plan.kind === "refused" ? (
        <Notice tone="warn" title="No plan">
          <p>{plan.sentence}</p>
        </Notice>
      ) : (
        <div className="columns">
          <Panel title="The plan">
            <DefinitionList items={plan.facts} />
            {plan.notes.length === 0 ? null : (
              <ul>
                {plan.notes.map((note) => (
                  <li key={note}>{note}</li>
                ))}
              </ul>
            )}
          </Panel>
          <Panel title="What it protects">
            {plan.law === null ? (
              <p>This plan accepts every lot, whatever its sample shows: it protects nothing.</p>
            ) : (
              <ErrorBoundary key={choiceName(choice) + lotSize}>
                <Protection
                  name={choiceName(choice)}
                  law={plan.law}
                  percent={isPercent ? Number(percentText) : 1}
                  lotSize={Number(lotSize)}
                />
              </ErrorBoundary>
            )}
          </Panel>
        </div>
      )}
    </div>
  );
}
