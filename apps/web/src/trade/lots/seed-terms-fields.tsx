import { seedSourceNames, seedSources } from "@sealbook/contract/sampling";
import { useShop } from "../../api/use-shop.ts";
import { DateTimeField } from "../../ui/date-time-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import type { SeedDraft } from "./seed-terms.ts";

/** Asks where the seed will come from, before it exists. */
export function SeedTermsFields({
  draft,
  onChange,
  errorAt,
}: {
  draft: SeedDraft;
  onChange: (changes: Partial<SeedDraft>) => void;
  errorAt: (pointer: string) => string | undefined;
}) {
  const { timeZone } = useShop();
  return (
    <>
      <RadioGroup
        label="Where the seed will come from"
        id={fieldId("/seed/source")}
        value={draft.source}
        onChange={(source) => onChange({ source })}
        options={seedSources.map((source) => ({ value: source, label: seedSourceNames[source] }))}
        error={errorAt("/seed/source")}
      />
      {draft.source === "announced-number" ? (
        <div className="row-fields">
          <TextArea
            label="The number, named beforehand"
            hint="Which number, published by whom and when, so that nobody can choose it"
            id={fieldId("/seed/announcement")}
            value={draft.announcement}
            onChange={(announcement) => onChange({ announcement })}
            error={errorAt("/seed/announcement")}
            rows={2}
            maxLength={500}
          />
          <DateTimeField
            label="Not before"
            optional
            timeZone={timeZone}
            id={fieldId("/seed/notBefore")}
            value={draft.notBefore}
            onChange={(notBefore) => onChange({ notBefore })}
            error={errorAt("/seed/notBefore")}
          />
        </div>
      ) : null}
    </>
  );
}
