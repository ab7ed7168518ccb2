import {
  changeImportMapping,
  createImportMapping,
  type Import,
  type ImportMapping,
  importMappingSchema,
} from "@sealbook/contract/imports";
import { type FormEvent, useMemo, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { ClashNotice } from "../../trade/clash-notice.tsx";
import { Button } from "../../ui/button.tsx";
import { ErrorSummary } from "../../ui/error-summary.tsx";
import { Notice } from "../../ui/notice.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { formFromMapping } from "./form-from-mapping.ts";
import { mappingBody } from "./mapping-body.ts";
import { MappingFields } from "./mapping-fields.tsx";
import type { MappingForm } from "./mapping-form.ts";
import { clashLines } from "./mapping-lines.ts";
import { mappingFieldName } from "./mapping-names.ts";
import { mappingPointer } from "./mapping-pointer.ts";
import { useMappingDraft } from "./use-mapping-draft.ts";

/** Makes a mapping before a file, or changes a saved one; a change that somebody else saved first is shown beside. */
export function EditMapping({
  of,
  changed,
  fresh,
  onSaved,
  onClose,
}: {
  of: Import;
  /** The mapping to change; null makes a new one. */
  changed: ImportMapping | null;
  /** The form as it opens. */
  fresh: () => MappingForm;
  onSaved: (mapping: ImportMapping, then: "check" | "stay") => Promise<void>;
  onClose: () => void;
}) {
  const [id] = useState(newId);
  const draft = useMappingDraft(of.id, changed?.id ?? "new", changed?.version ?? 0, fresh);
  const { form, setForm, isDirty } = draft;
  const [sent, setSent] = useState(form);
  const creation = useSubmission(createImportMapping);
  const change = useSubmission(changeImportMapping);
  const { leaveDialog, release } = useLeaveGuard(isDirty);
  const { errors, problem, pending, refuse } = changed === null ? creation : change;
  // Places are those of the form as it was sent, and the lines the same as long as nothing new is refused: a summary
  // takes the focus only when they change.
  const lines = useMemo(
    () => errors.map((error) => ({ ...error, pointer: mappingPointer(error.pointer, sent) })),
    [errors, sent],
  );
  const errorAt = (pointer: string) => lines.find((line) => line.pointer === pointer)?.detail;
  const newer = problem?.slug === "stale" ? newerVersion(problem.current) : null;
  const mine = mappingBody(sent);

  const save = async (then: "check" | "stay", version: number) => {
    const made = mappingBody(form);
    setSent(form);
    if (made.kind === "open") {
      refuse(made.open);
      return;
    }
    const named = { name: form.name.trim(), body: made.body };
    const reply =
      changed === null
        ? await creation.submit({ body: { id, ...named } })
        : await change.submit({ params: { id: changed.id }, version, body: named });
    if (reply === null) return;
    release();
    await onSaved(reply, then);
  };
  const submit = (event: FormEvent) => {
    event.preventDefault();
    void save("check", draft.baseVersion);
  };

  return (
    <form
      className="stack"
      onSubmit={submit}
      aria-label={changed === null ? "New mapping" : "Change the mapping"}
    >
      {draft.isRestored ? (
        <Notice title="What was typed before the page was reloaded stands here again" />
      ) : null}
      {newer !== null && mine.kind === "body" ? (
        <ClashNotice
          lines={clashLines({ name: sent.name.trim(), body: mine.body }, newer)}
          onKeepMine={() => {
            draft.setBaseVersion(newer.version);
            void save("stay", newer.version);
          }}
          onTakeTheirs={() => {
            draft.setBaseVersion(newer.version);
            setForm(formFromMapping(newer, of.headings));
            change.clear();
          }}
        />
      ) : problem !== null || lines.length > 0 ? (
        <ErrorSummary
          title={problem === null ? "Not saved yet. Mend these:" : `${problem.title}. ${problem.detail}`}
          lines={lines}
          nameOf={(pointer) => mappingFieldName(pointer, sent)}
        />
      ) : null}
      <MappingFields form={form} sample={of.sample} onChange={setForm} errorAt={errorAt} />
      <div className="row">
        <Button type="submit" kind="primary" isPending={pending}>
          {pending ? "Saving" : "Save and start the dry run"}
        </Button>
        <Button isPending={pending} onClick={() => void save("stay", draft.baseVersion)}>
          Save only
        </Button>
        <Button kind="quiet" onClick={onClose}>
          Leave without saving
        </Button>
      </div>
      {leaveDialog}
    </form>
  );
}

function newerVersion(current: unknown): ImportMapping | null {
  const read = importMappingSchema.safeParse(current);
  return read.success ? read.data : null;
}
