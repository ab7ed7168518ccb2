import { occasionNames } from "@sealbook/contract/test-plans";
import type { RuleProfile } from "@sealbook/metrology/profiles/profile-schema";
import { DataTable } from "../../ui/data-table.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { Empty } from "../../ui/empty.tsx";
import { Panel } from "../../ui/panel.tsx";
import {
  creepWords,
  decisionRuleWords,
  demandWords,
  judgedNames,
  limitedNames,
  phaseNames,
  startingLoadWords,
} from "./profile-words.ts";

/** How a profile judges a test: limits, averages, loads, creep, decision rule. */
export function ProfileJudging({ profile }: { profile: RuleProfile }) {
  return (
    <>
      <Panel title="Limits">
        {profile.limits.length === 0 ? (
          <Empty title="The text read gives no limits for a single meter." />
        ) : (
          <DataTable
            caption="Limits in percent registration, inclusive"
            rows={profile.limits}
            rowKey={(rule) => JSON.stringify(rule)}
            columns={[
              { heading: "Of", isRowHeader: true, cell: (rule) => limitedNames[rule.of] },
              {
                heading: "On",
                cell: (rule) => rule.occasions.map((occasion) => occasionNames[occasion]).join(", "),
              },
              {
                heading: "Accuracy class",
                cell: (rule) => rule.accuracyClass ?? "every class",
                isNarrowHidden: true,
              },
              { heading: "From %", decimal: (rule) => rule.limits.minPercent },
              { heading: "To %", decimal: (rule) => rule.limits.maxPercent },
              {
                heading: "Source",
                cell: (rule) => <span className="profile-source">{rule.limits.source}</span>,
                isNarrowHidden: true,
              },
            ]}
          />
        )}
        <p>
          {profile.judged.length === 0
            ? "A single meter is not judged by this profile."
            : `Judged: ${profile.judged.map((one) => judgedNames[one]).join(", ")}.`}
        </p>
      </Panel>
      <Panel title="Average">
        {profile.averages.length === 0 ? (
          <Empty title="The text read gives no way to make an average." />
        ) : (
          <DataTable
            caption="Ways to make the average"
            rows={profile.averages}
            rowKey={(average) => `${average.key} ${average.phases}`}
            columns={[
              { heading: "Name", isRowHeader: true, cell: (average) => average.rule.label },
              { heading: "For", cell: (average) => phaseNames[average.phases] },
              {
                heading: "Weights",
                cell: (average) =>
                  average.rule.weights
                    .map(({ role, weight }) => `${weight} × ${limitedNames[role].toLowerCase()}`)
                    .join(", "),
              },
              {
                heading: "Source",
                cell: (average) => <span className="profile-source">{average.rule.source}</span>,
                isNarrowHidden: true,
              },
            ]}
          />
        )}
      </Panel>
      <Panel title="How a value is judged">
        <DefinitionList
          items={[
            { term: "Decision rule", value: decisionRuleWords(profile.decisionRule) },
            { term: "Creep", value: creepWords(profile.creep) },
            { term: "Starting load", value: startingLoadWords(profile.startingLoad) },
            { term: "Demand", value: demandWords(profile.demand) },
            { term: "Rounding", value: profile.rounding },
            {
              term: "Outside the standard's certified range",
              value:
                profile.outsideCertifiedRange.policy === "refuse"
                  ? "The point is refused."
                  : "The point is taken, marked as uncorrected.",
            },
          ]}
        />
        <p className="profile-source">
          Decision rule: {profile.decisionRule.source}
          {profile.creep === null ? "" : ` · Creep: ${profile.creep.source}`}
          {profile.startingLoad === undefined ? "" : ` · Starting load: ${profile.startingLoad.source}`}
          {profile.demand === undefined
            ? ""
            : ` · Demand: ${profile.demand.map(({ source }) => source).join(", ")}`}
          {` · Certified range: ${profile.outsideCertifiedRange.source}`}
        </p>
      </Panel>
      {profile.loads.length === 0 ? null : (
        <Panel title="Loads">
          <DataTable
            caption="What the rule means by its loads"
            rows={profile.loads}
            rowKey={(load) => JSON.stringify(load)}
            columns={[
              { heading: "Load", isRowHeader: true, cell: (load) => limitedNames[load.role] },
              { heading: "From % of TA", decimal: (load) => load.minPercentOfTestAmperes },
              { heading: "To % of TA", decimal: (load) => load.maxPercentOfTestAmperes },
              { heading: "Power factor", decimal: (load) => load.powerFactor },
              {
                heading: "Source",
                cell: (load) => <span className="profile-source">{load.source}</span>,
                isNarrowHidden: true,
              },
            ]}
          />
        </Panel>
      )}
    </>
  );
}
