import type { ImportProblem } from "@sealbook/contract/imports";
import type { MappingForm } from "./mapping-form.ts";
import { withUnknownWords } from "./with-column-field.ts";

/** The form with the words listed for which rows were set aside, as the mapping did not know them. */
export function withWordsSetAside(
  form: MappingForm,
  problems: readonly Pick<ImportProblem, "code" | "column" | "value">[],
): MappingForm {
  let filled = form;
  for (const { code, column, value } of problems) {
    if (code !== "unknown-reason" && code !== "unknown-word") continue;
    const field = form.columns.find(({ heading }) => heading === column)?.field ?? "";
    filled = withUnknownWords(filled, field, [value]);
  }
  return filled;
}
