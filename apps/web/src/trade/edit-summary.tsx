import type { Operation } from "@sealbook/contract/operation";
import type { Submission } from "../api/use-submission.ts";
import { type ClashLine, ClashNotice } from "./clash-notice.tsx";
import { SubmissionSummary } from "./submission-summary.tsx";
import type { Clash } from "./use-versioned-form.ts";

/** What stands against an edit of a record: a newer version, with the two ways on, or any other refusal. */
export function EditSummary<O extends Operation, Form>({
  submission,
  names,
  clash,
  linesOf,
  onSave,
}: {
  submission: Submission<O>;
  /** Names of fields by pointer, as SubmissionSummary takes them. */
  names: Readonly<Record<string, string>>;
  clash: Clash<Form> | null;
  linesOf: (opened: Form, mine: Form, theirs: Form) => readonly ClashLine[];
  /** Saves one's changes, put on top of the newer version of this number. */
  onSave: (form: Form, version: number) => void;
}) {
  if (clash === null) return <SubmissionSummary submission={submission} names={names} />;
  return (
    <ClashNotice
      lines={linesOf(clash.opened, clash.mine, clash.theirs)}
      onKeepMine={() => {
        clash.keepMine();
        onSave(clash.mine, clash.version);
      }}
      onTakeTheirs={() => {
        clash.takeTheirs();
        submission.clear();
      }}
    />
  );
}
