import { useEffect, useState } from "react";
import { dropDraft, keepDraft, readDraft } from "./draft.ts";
import type { TestForm } from "./test-form.ts";

/**
 * The state of a test's form, kept on this device while it differs from how it opened. Leaving the page by a link,
 * which asks first, drops the draft; a reload keeps it.
 *
 * @param subjectId  the meter, or the test that is amended
 * @param fresh      the form as it opens without a draft
 */
export function useTestDraft(subjectId: string, planId: string, fresh: () => TestForm) {
  const [opened, setOpened] = useState(() => ({
    blank: fresh(),
    draft: readDraft(localStorage, subjectId, planId),
  }));
  const [form, setForm] = useState<TestForm>(opened.draft ?? opened.blank);
  const isDirty = form !== opened.blank;
  useEffect(() => {
    if (isDirty) keepDraft(localStorage, subjectId, planId, form);
  }, [form, isDirty, subjectId, planId]);
  useEffect(() => {
    const address = location.pathname;
    return () => {
      if (location.pathname !== address) dropDraft(localStorage, subjectId);
    };
  }, [subjectId]);
  return {
    form,
    setForm,
    isDirty,
    isRestored: opened.draft !== null,
    startAfresh: () => {
      const blank = fresh();
      dropDraft(localStorage, subjectId);
      setOpened({ blank, draft: null });
      setForm(blank);
    },
    drop: () => dropDraft(localStorage, subjectId),
  };
}
