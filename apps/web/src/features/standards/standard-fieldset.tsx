import { standardRanks } from "@sealbook/contract/standards";
import { fieldId } from "../../ui/field-id.ts";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { rankNames } from "./rank-names.ts";
import { type StandardDraft, standardFieldNames } from "./standard-draft.ts";

const texts = [
  { key: "designation", longest: 40 },
  { key: "maker", longest: 80 },
  { key: "model", longest: 80 },
  { key: "serial", longest: 80 },
  { key: "place", longest: 80 },
] as const;

/** The particulars of a standard. */
export function StandardFieldset({
  draft,
  onChange,
  errorAt,
}: {
  draft: StandardDraft;
  onChange: (changes: Partial<StandardDraft>) => void;
  errorAt: (pointer: string) => string | undefined;
}) {
  return (
    <div className="row-fields">
      {texts.map(({ key, longest }, index) => (
        <TextField
          key={key}
          label={standardFieldNames[`/${key}`] ?? key}
          hint={key === "designation" ? "What the shop calls it" : undefined}
          id={fieldId(`/${key}`)}
          value={draft[key]}
          onChange={(text) => onChange({ [key]: text })}
          error={errorAt(`/${key}`)}
          maxLength={longest}
          autoFocus={index === 0}
        />
      ))}
      <RadioGroup
        label="Rank"
        id={fieldId("/rank")}
        value={draft.rank}
        onChange={(rank) => onChange({ rank })}
        options={standardRanks.map((rank) => ({ value: rank, label: rankNames[rank] }))}
        error={errorAt("/rank")}
      />
    </div>
  );
}
