import { listTestPlans } from "@sealbook/contract/test-plans";
import { Link } from "@tanstack/react-router";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PagedTable } from "../../trade/paged-table.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";

/** Test plans, each in its current revision. */
export function TestPlanListPage() {
  const mayManage = useMay("testPlan.manage");
  return (
    <div className="stack">
      <PageHeader
        title="Test plans"
        note="Which points a meter is tested at, and what is asked of the tester. A plan never changes: a change is a new revision."
        actions={mayManage ? <ButtonLink to={paths.newPlan()}>Add a plan</ButtonLink> : undefined}
      />
      <PagedTable
        operation={listTestPlans}
        input={{}}
        caption="Test plans, current revisions"
        noun={["plan", "plans"]}
        rowKey={(plan) => plan.id}
        columns={[
          {
            heading: "Code",
            isRowHeader: true,
            isNowrap: true,
            cell: (plan) => <Link to={paths.plan(plan.id)}>{plan.code}</Link>,
          },
          { heading: "Name", cell: (plan) => plan.name },
          { heading: "Revision", cell: (plan) => plan.revision, isNumeric: true },
          {
            heading: "Points",
            cell: (plan) => plan.body.points.map((point) => point.key).join(", "),
          },
          {
            heading: "Creep",
            cell: (plan) => (plan.body.creep === "asked" ? "asked" : "not asked"),
            isNarrowHidden: true,
            isNowrap: true,
          },
          {
            heading: "On record since",
            cell: (plan) => <LocalInstant instant={plan.recordedAt} />,
            isNarrowHidden: true,
          },
        ]}
        empty={<Empty title="No test plan is on record yet.">{mayManage ? "Add one." : null}</Empty>}
      />
    </div>
  );
}
