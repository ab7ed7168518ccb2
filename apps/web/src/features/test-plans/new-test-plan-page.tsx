import { PlanForm } from "./plan-form.tsx";

/** Adds a test plan. */
export function NewTestPlanPage() {
  return <PlanForm revised={null} />;
}
