import type { ImportMapping } from "@sealbook/contract/imports";
import { useEffect, useState } from "react";
import { dropDraft, keepDraft, readDraft } from "./mapping-draft.ts";
import type { MappingForm } from "./mapping-form.ts";

/**
 * The state of a mapping's form, kept in this tab while it differs from how it opened. A reload keeps it, with the
 * mapping that it was based on, so that somebody else's change in between still comes out as a clash; leaving the form
 * drops it.
 *
 * @param changed  the mapping that is being changed as it is on record now, null for a new one
 * @param fresh    the form as it opens without a draft
 */
export function useMappingDraft(importId: string, changed: ImportMapping | null, fresh: () => MappingForm) {
  const mappingId = changed?.id ?? "new";
  const [opened] = useState(() => ({
    blank: fresh(),
    draft: readDraft(sessionStorage, importId, mappingId),
  }));
  const [form, setForm] = useState<MappingForm>(opened.draft?.form ?? opened.blank);
  const [base, setBase] = useState(opened.draft?.base ?? changed);
  const isDirty = form !== opened.blank;
  useEffect(() => {
    if (isDirty) keepDraft(sessionStorage, importId, { format: 1, mappingId, base, form });
  }, [form, isDirty, importId, mappingId, base]);
  useEffect(() => () => dropDraft(sessionStorage, importId), [importId]);
  return { form, setForm, isDirty, isRestored: opened.draft !== null, base, setBase };
}
