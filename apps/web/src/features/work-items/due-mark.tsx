import { StatusMark } from "../../ui/status-mark.tsx";

/** When a test is due, as the shop's calendar stands today; ISO dates compare as text. */
export function DueMark({ dueOn, today }: { dueOn: string | null; today: string }) {
  if (dueOn === null) return <span className="quiet">no date</span>;
  if (dueOn < today) return <StatusMark tone="bad">{dueOn}, late</StatusMark>;
  if (dueOn === today) return <StatusMark tone="warn">{dueOn}, today</StatusMark>;
  return <>{dueOn}</>;
}
