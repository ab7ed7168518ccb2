import { getTestPlan } from "@sealbook/contract/test-plans";
import { useSuspenseQuery } from "@tanstack/react-query";
import { operationOptions } from "../../api/operation-options.ts";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { PlanForm } from "./plan-form.tsx";

/** Writes the next revision of a plan, beginning with what the present one says. */
export function ReviseTestPlanPage() {
  const planId = useRouteParam("planId");
  const { data: plan } = useSuspenseQuery(operationOptions(getTestPlan, { params: { id: planId } }));
  return <PlanForm revised={plan} />;
}
