import type { MeterTest } from "@sealbook/contract/meter-tests";
import type { Account } from "@sealbook/contract/people";

/** Whether this person may amend this test: a technician amends only their own. The service decides again. */
export function mayAmend(account: Pick<Account, "id" | "role">, test: Pick<MeterTest, "tester">): boolean {
  return account.role !== "technician" || test.tester?.id === account.id;
}
