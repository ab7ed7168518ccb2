import { KeptFilesField } from "../../trade/kept-files-field.tsx";
import { DecimalField } from "../../ui/decimal-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextArea } from "../../ui/text-area.tsx";
import { SealField } from "./seal-field.tsx";
import { conditionFields } from "./test-body.ts";
import type { TestForm } from "./test-form.ts";
import type { TestSubject } from "./test-subject.ts";

const conditionLabels = {
  volts: { label: "Test voltage", unit: "V" },
  amperes: { label: "Test current", unit: "A" },
  temperature: { label: "Temperature", unit: "°C" },
} as const;

/** Readings, conditions, seals, remarks and papers of a test. */
export function FinishingFields({
  form,
  subject,
  onChange,
  onFile,
  errorAt,
}: {
  form: TestForm;
  subject: TestSubject;
  onChange: (changes: Partial<TestForm>) => void;
  onFile: (file: { id: string; name: string }) => void;
  errorAt: (pointer: string) => string | undefined;
}) {
  const asked = form.outcome === "tested" ? subject.plan.body.conditions : [];
  return (
    <div className="test-finishing">
      {asked.map((condition) => {
        const field = conditionFields[condition];
        return (
          <div key={condition} data-stop="">
            <DecimalField
              label={conditionLabels[condition].label}
              unit={conditionLabels[condition].unit}
              id={fieldId(`/conditions/${field}`)}
              value={form[field]}
              onChange={(text) => onChange({ [field]: text })}
              error={errorAt(`/conditions/${field}`)}
            />
          </div>
        );
      })}
      <DecimalField
        label="Reading before"
        optional
        id={fieldId("/readingBefore")}
        value={form.readingBefore}
        onChange={(readingBefore) => onChange({ readingBefore })}
        error={errorAt("/readingBefore")}
      />
      <DecimalField
        label="Reading after"
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
