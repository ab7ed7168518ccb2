import { z } from "zod";
import { type TestForm, testFormSchema } from "./test-form.ts";

/**
 * The draft of a test on this device, so that a reload loses no reading. Free text is left out because people's names
 * end up in it; the PIN is never part of the form.
 */

const freeText = { remarks: "", untestableNote: "", files: [] } as const satisfies Partial<TestForm>;

const draftSchema = z.object({ format: z.literal(1), planId: z.string(), form: testFormSchema });

/** Where the draft for one meter, or for the amendment of one test, is kept. */
function draftPlace(subjectId: string): string {
  return `sealbook.test-draft.${subjectId}`;
}

export function keepDraft(
  storage: Pick<Storage, "setItem">,
  subjectId: string,
  planId: string,
  form: TestForm,
): void {
  try {
    const draft = { format: 1, planId, form: { ...form, ...freeText } };
    storage.setItem(draftPlace(subjectId), JSON.stringify(draft));
  } catch {
    // Without room or leave to keep it there is no draft; the leave guard still asks before work is lost.
  }
}

/** The draft, or null where there is none, it cannot be read, or it was made under another plan. */
export function readDraft(
  storage: Pick<Storage, "getItem">,
  subjectId: string,
  planId: string,
): TestForm | null {
  try {
    const read = draftSchema.safeParse(JSON.parse(storage.getItem(draftPlace(subjectId)) ?? "null"));
    return read.success && read.data.planId === planId ? read.data.form : null;
  } catch {
    return null;
  }
}

export function dropDraft(storage: Pick<Storage, "removeItem">, subjectId: string): void {
  try {
    storage.removeItem(draftPlace(subjectId));
  } catch {
    // A draft that cannot be removed was never kept.
  }
}
