import { type FormEvent, type ReactNode, useState } from "react";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextArea } from "../../ui/text-area.tsx";

/** Asks for the reason of something that an administrator does to somebody's account. */
export function ReasonDialog({
  title,
  deed,
  children,
  summary,
  error,
  isPending,
  onSubmit,
  onDone,
}: {
  title: string;
  /** What the button says. */
  deed: string;
  children: ReactNode;
  summary: ReactNode;
  error: string | undefined;
  isPending: boolean;
  onSubmit: (reason: string) => void;
  onDone: () => void;
}) {
  const [reason, setReason] = useState("");
  const submit = (event: FormEvent) => {
    event.preventDefault();
    onSubmit(reason.trim());
  };
  return (
    <Dialog title={title} onClose={onDone}>
      <form className="stack" onSubmit={submit}>
        {summary}
        {children}
        <TextArea
          label="Reason"
          id={fieldId("/reason")}
          value={reason}
          onChange={setReason}
          error={error}
          rows={2}
          maxLength={500}
        />
        <div className="dialog-buttons">
          <Button onClick={onDone}>Cancel</Button>
          <Button type="submit" kind="danger" isPending={isPending}>
            {deed}
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
