import { KeptFilesField } from "../../trade/kept-files-field.tsx";
import { DecimalField } from "../../ui/decimal-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextArea } from "../../ui/text-area.tsx";
import { SealField } from "./seal-field.tsx";
import type { TestForm } from "./test-form.ts";

/** Readings, seals, remarks and papers of a test. */
export function FinishingFields({
  form,
  onChange,
  onFile,
  errorAt,
}: {
  form: TestForm;
  onChange: (changes: Partial<TestForm>) => void;
  onFile: (file: { id: string; name: string }) => void;
  errorAt: (pointer: string) => string | undefined;
}) {
  return (
    <div className="test-finishing">
      <DecimalField
        label="Reading before"
        unit="kWh"
        optional
        id={fieldId("/readingBefore")}
        value={form.readingBefore}
        onChange={(readingBefore) => onChange({ readingBefore })}
        error={errorAt("/readingBefore")}
      />
      <DecimalField
        label="Reading after"
        unit="kWh"
        optional
        id={fieldId("/readingAfter")}
        value={form.readingAfter}
        onChange={(readingAfter) => onChange({ readingAfter })}
        error={errorAt("/readingAfter")}
      />
      <SealField
        label="Seals removed"
        id={fieldId("/sealsRemoved")}
        seals={form.sealsRemoved}
        onChange={(sealsRemoved) => onChange({ sealsRemoved })}
        error={errorAt("/sealsRemoved")}
      />
      <SealField
        label="Seals applied"
        id={fieldId("/sealsApplied")}
        seals={form.sealsApplied}
        onChange={(sealsApplied) => onChange({ sealsApplied })}
        error={errorAt("/sealsApplied")}
      />
      <TextArea
        label="Remarks"
        optional
        id={fieldId("/remarks")}
        value={form.remarks}
        onChange={(remarks) => onChange({ remarks })}
        error={errorAt("/remarks")}
        rows={2}
        maxLength={2000}
      />
      <KeptFilesField
        label="Photos and papers"
        hint="PNG, JPEG or PDF"
        id={fieldId("/fileIds")}
        files={form.files}
        onAdd={onFile}
        onRemove={(id) => onChange({ files: form.files.filter((file) => file.id !== id) })}
        error={errorAt("/fileIds")}
      />
    </div>
  );
}
