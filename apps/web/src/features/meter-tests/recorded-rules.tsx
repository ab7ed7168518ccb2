import type { MeterTest } from "@sealbook/contract/meter-tests";
import { Link } from "@tanstack/react-router";
import { paths } from "../../paths.ts";
import { DefinitionList } from "../../ui/definition-list.tsx";

/** Under which rules a test was judged: profile, average, decision rule, and the source of every limit. */
export function RecordedRules({ test }: { test: Pick<MeterTest, "profile" | "evaluation" | "plan"> }) {
  const { evaluation, plan, profile } = test;
  const passes = [evaluation.asFound, evaluation.asLeft].filter((pass) => pass !== null);
  const limits = passes.flatMap((pass) => [
    ...pass.points.flatMap((point) => (point.limits === null ? [] : [point.limits])),
    ...(pass.average?.limits == null ? [] : [pass.average.limits]),
  ]);
  const sources = [
    ...new Set(limits.map((one) => `${one.minPercent} % to ${one.maxPercent} %: ${one.source}`)),
  ];
  const average = passes[0]?.average ?? null;
  return (
    <div className="stack-tight">
      <DefinitionList
        items={[
          {
            term: "Rule profile",
            value: (
              <>
                <Link to={paths.rule(profile.id)}>{profile.title}</Link>, version {profile.version}
              </>
            ),
          },
          {
            term: "Test plan",
            value: (
              <>
                <Link to={paths.plan(plan.id)}>{plan.code}</Link> revision {plan.revision}, {plan.name}
              </>
            ),
          },
          ...(average === null
            ? []
            : [
                {
                  term: "Average",
                  value: `${average.averageRule.label} (${average.averageRule.source})`,
                },
                { term: "Decision rule", value: average.rule.source },
              ]),
          { term: "Arithmetic", value: `version ${evaluation.engineVersion}` },
        ]}
      />
      {sources.length === 0 ? null : (
        <>
          <h3>Limits and their sources</h3>
          <ul>
            {sources.map((source) => (
              <li key={source}>{source}</li>
            ))}
          </ul>
        </>
      )}
      <p className="quiet small">{profile.caution}</p>
    </div>
  );
}
