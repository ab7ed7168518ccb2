import { circuitNames, getTestPlan, occasionNames, occasions } from "@sealbook/contract/test-plans";
import { useSuspenseQuery } from "@tanstack/react-query";
import { operationOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { conditionNames, directionNames, pointRoleNames, powerFactorWords } from "./point-words.ts";

/** One revision of a test plan. */
export function TestPlanPage() {
  const planId = useRouteParam("planId");
  const { data: plan } = useSuspenseQuery(operationOptions(getTestPlan, { params: { id: planId } }));
  const mayManage = useMay("testPlan.manage");
  const { body } = plan;
  const limits = body.points.flatMap((point) =>
    occasions.flatMap((occasion) => {
      const own = point.limits[occasion];
      return own === undefined ? [] : [{ point, occasion, limits: own }];
    }),
  );
  return (
    <div className="stack">
      <PageHeader
        title={`${plan.code}, revision ${plan.revision}`}
        note={
          <>
            {plan.name} · on record since <LocalInstant instant={plan.recordedAt} />
          </>
        }
        actions={
          mayManage && plan.current ? (
            <ButtonLink to={paths.revisePlan(plan.id)}>Write a new revision</ButtonLink>
          ) : undefined
        }
      />
      {plan.current ? null : <Notice title="A newer revision of this plan is in use." />}
      <Panel title="Points">
        <DataTable
          caption="Points of the plan"
          rows={body.points}
          rowKey={(point) => point.key}
          columns={[
            { heading: "Key", isRowHeader: true, cell: (point) => point.key, isNowrap: true },
            { heading: "Point", cell: (point) => point.label, isNowrap: true },
            { heading: "Load, % of TA", decimal: (point) => point.loadPercent },
            { heading: "Power factor", cell: powerFactorWords, isNowrap: true },
            { heading: "Quantity", cell: (point) => point.quantity, isMediumHidden: true },
            { heading: "Direction", cell: (point) => directionNames[point.direction], isMediumHidden: true },
            {
              heading: "Circuits driven",
              cell: (point) => circuitNames[point.circuits],
              isNarrowHidden: true,
            },
            { heading: "Counts", decimal: (point) => point.counts },
            { heading: "of", cell: (point) => point.countConstant },
            { heading: "Runs", cell: (point) => point.runs, isNumeric: true },
            { heading: "In averages", cell: (point) => pointRoleNames[point.role], isNarrowHidden: true },
          ]}
        />
      </Panel>
      {limits.length === 0 ? null : (
        <Panel title="Limits of the plan's own">
          <DataTable
            caption="Limits of single points, percent registration"
            rows={limits}
            rowKey={(row) => `${row.point.key} ${row.occasion}`}
            columns={[
              { heading: "Point", isRowHeader: true, cell: (row) => row.point.key },
              { heading: "On", cell: (row) => occasionNames[row.occasion] },
              { heading: "From %", decimal: (row) => row.limits.minPercent },
              { heading: "To %", decimal: (row) => row.limits.maxPercent },
              { heading: "Source", cell: (row) => row.limits.source },
            ]}
          />
        </Panel>
      )}
      <Panel title="What the plan asks of the tester">
        <DefinitionList
          items={[
            { term: "Creep", value: body.creep === "asked" ? "checked" : "not asked" },
            { term: "Starting load", value: body.startingLoad === "asked" ? "checked" : "not asked" },
            {
              term: "Demand",
              value:
                body.demand === null
                  ? "not asked"
                  : `checked, error in percent of ${body.demand.basis === "full-scale" ? "full scale" : "reading"}`,
            },
            {
              term: "Conditions written down",
              value:
                body.conditions.length === 0
                  ? "none"
                  : body.conditions.map((condition) => conditionNames[condition]).join(", "),
            },
            {
              term: "Standard",
              value: body.standardRank === "reference" ? "a reference standard" : "any standard",
            },
            { term: "Voltage", value: body.appliesVoltage ? "applied: the caution is shown" : "not applied" },
          ]}
        />
        {body.preconditions.length === 0 ? null : (
          <>
            <h3>Confirmed before the test</h3>
            <ul>
              {body.preconditions.map((precondition) => (
                <li key={precondition}>{precondition}</li>
              ))}
            </ul>
          </>
        )}
      </Panel>
    </div>
  );
}
