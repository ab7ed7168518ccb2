import type { Account } from "@sealbook/contract/people";
import { StatusMark } from "../../ui/status-mark.tsx";

/** What stands in place of the name of a person who was forgotten; nothing is left to change of such an account. */
export const erased = "erased";

/** Whether an account opens anything. */
export function PersonStateMark({ person }: { person: Account }) {
  return person.active ? (
    <StatusMark tone="good">active</StatusMark>
  ) : (
    <StatusMark tone="neutral">closed</StatusMark>
  );
}
