import {
  changeImportMapping,
  createImportMapping,
  type Import,
  type ImportMapping,
  importMappingSchema,
} from "@sealbook/contract/imports";
import type { Standard } from "@sealbook/contract/standards";
import type { TestPlan } from "@sealbook/contract/test-plans";
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
import { rebasedMapping } from "./rebased-mapping.ts";
import { useMappingDraft } from "./use-mapping-draft.ts";

type NamedMapping = Pick<ImportMapping, "name" | "body">;

/** Makes a mapping before a file, or changes a saved one; a change that somebody else saved first is shown beside. */
export function EditMapping({
  of,
  changed,
  fresh,
  plans,
  standards,
  onSaved,
  onClose,
}: {
  of: Import;
  /** The mapping to change; null makes a new one. */
  changed: ImportMapping | null;
  /** The form as it opens. */
  fresh: () => MappingForm;
  plans: readonly TestPlan[];
  standards: readonly Standard[];
  onSaved: (mapping: ImportMapping, then: "check" | "stay") => Promise<void>;
  onClose: () => void;
}) {
  const [id] = useState(newId);
  const draft = useMappingDraft(of.id, changed, fresh);
  const { form, setForm, isDirty, base } = draft;
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
  const newer = problem?.slug === "stale" ? newerVersion(problem.current) : null;
  const made = mappingBody(form);
  const merged =
    newer === null || base === null || made.kind === "open"
      ? null
      : rebasedMapping(base, { name: form.name.trim(), body: made.body }, newer);

  const send = async (named: NamedMapping, then: "check" | "stay", version: number | null) => {
    const reply =
      changed === null || version === null
        ? await creation.submit({ body: { id, ...named } })
        : await change.submit({ params: { id: changed.id }, version, body: named });
    if (reply === null) return;
    release();
    await onSaved(reply, then);
  };
  const save = async (then: "check" | "stay") => {
    const made = mappingBody(form);
    setSent(form);
    if (made.kind === "open") refuse(made.open);
    else await send({ name: form.name.trim(), body: made.body }, then, base?.version ?? null);
  };
  const submit = (event: FormEvent) => {
    event.preventDefault();
    void save("check");
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
      {merged !== null && newer !== null && base !== null ? (
        <ClashNotice
          lines={clashLines(base, merged, newer)}
          onKeepMine={() => {
            draft.setBase(newer);
            setForm(formFromMapping(merged, of.headings));
            void send(merged, "stay", newer.version);
          }}
          onTakeTheirs={() => {
            draft.setBase(newer);
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
      <MappingFields
        form={form}
        sample={of.sample}
        plans={plans}
        standards={standards}
        onChange={setForm}
        lines={lines}
      />
      <div className="row">
        <Button type="submit" kind="primary" isPending={pending}>
          {pending ? "Saving" : "Save and start the dry run"}
        </Button>
        <Button isPending={pending} onClick={() => void save("stay")}>
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
