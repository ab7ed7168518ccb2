import { useEffect, useState } from "react";
import { dropDraft, keepDraft, readDraft } from "./mapping-draft.ts";
import type { MappingForm } from "./mapping-form.ts";

/**
 * The state of a mapping's form, kept in this tab while it differs from how it opened. A reload keeps it, with the
 * version that it was based on, so that somebody else's change in between still comes out as a clash; leaving the form
 * drops it.
 *
 * @param mappingId  the mapping that is being changed, or "new"
 * @param version    its version now, 0 for a new one
 * @param fresh      the form as it opens without a draft
 */
export function useMappingDraft(
  importId: string,
  mappingId: string,
  version: number,
  fresh: () => MappingForm,
) {
  const [opened] = useState(() => ({
    blank: fresh(),
    draft: readDraft(sessionStorage, importId, mappingId),
  }));
  const [form, setForm] = useState<MappingForm>(opened.draft?.form ?? opened.blank);
  const [baseVersion, setBaseVersion] = useState(opened.draft?.version ?? version);
  const isDirty = form !== opened.blank;
  useEffect(() => {
    if (isDirty) keepDraft(sessionStorage, importId, { format: 1, mappingId, version: baseVersion, form });
  }, [form, isDirty, importId, mappingId, baseVersion]);
  useEffect(() => () => dropDraft(sessionStorage, importId), [importId]);
  return { form, setForm, isDirty, isRestored: opened.draft !== null, baseVersion, setBaseVersion };
}
