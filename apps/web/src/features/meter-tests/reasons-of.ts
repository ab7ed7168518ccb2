import { type TestReason, testReasons, type WorkItem } from "@sealbook/contract/work-items";
import type { TestForm } from "./test-form.ts";

/** Every reason of the test, once, in the contract's order: those ticked by hand and those of the open work it answers. */
export function reasonsOf(
  form: Pick<TestForm, "reasons" | "workItemIds">,
  openWork: readonly Pick<WorkItem, "id" | "reason">[],
): TestReason[] {
  const fromWork = openWork.filter(({ id }) => form.workItemIds.includes(id)).map(({ reason }) => reason);
  const chosen = new Set([...form.reasons, ...fromWork]);
  return testReasons.filter((reason) => chosen.has(reason));
}
