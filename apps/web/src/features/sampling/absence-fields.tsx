import { absenceReasonNames, absenceReasons } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { Checkbox } from "../../ui/checkbox.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { TextField } from "../../ui/text-field.tsx";
import type { SchemePart } from "./scheme-part.ts";
import { untestableNames } from "./scheme-words.ts";

/** What becomes of sampled meters that cannot be had, or on which no test is possible. */
export function AbsenceFields({ draft, onChange, errorAt }: SchemePart) {
  const reasonsError = errorAt("/body/replacement/reasons");
  return (
    <>
      <RadioGroup
        label="A meter on which no test is possible counts"
        value={draft.untestableCounts}
        onChange={(untestableCounts) => onChange({ untestableCounts })}
        options={(["nonconforming", "left-out"] as const).map((one) => ({
          value: one,
          label: untestableNames[one],
        }))}
        hint="It never enters a mean. Under a plan by variables a nonconforming one is counted apart, and a person decides."
      />
      <TextField
        label="Why it counts so"
        id={fieldId("/body/untestable/reason")}
        value={draft.untestableReason}
        onChange={(untestableReason) => onChange({ untestableReason })}
        error={errorAt("/body/untestable/reason")}
        maxLength={300}
      />
      <Checkbox
        isSelected={draft.replacementAllowed}
        onChange={(replacementAllowed) => onChange({ replacementAllowed })}
      >
        A spare may take the place of a meter that cannot be had
      </Checkbox>
      {draft.replacementAllowed ? (
        <>
          <div className="row-fields">
            <TextField
              label="Spares, percent of the sample"
              inputMode="numeric"
              id={fieldId("/body/replacement/sparesPercent")}
              value={draft.sparesPercent}
              onChange={(sparesPercent) => onChange({ sparesPercent })}
              error={errorAt("/body/replacement/sparesPercent")}
              maxLength={3}
            />
          </div>
          <fieldset
            className="field"
            aria-describedby={reasonsError === undefined ? undefined : "spare-reasons"}
          >
            <legend className="field-label">Reasons for which a spare is called up</legend>
            <div className="choice-list">
              {absenceReasons.map((reason, place) => (
                <Checkbox
                  key={reason}
                  isSelected={draft.replacementReasons.includes(reason)}
                  {...(place === 0 ? { id: fieldId("/body/replacement/reasons") } : {})}
                  onChange={(isChosen) =>
                    onChange({
                      replacementReasons: absenceReasons.filter((one) =>
                        one === reason ? isChosen : draft.replacementReasons.includes(one),
                      ),
                    })
                  }
                >
                  {absenceReasonNames[reason]}
                </Checkbox>
              ))}
            </div>
            {reasonsError === undefined ? null : (
              <div id="spare-reasons" className="field-error">
                {reasonsError}
              </div>
            )}
          </fieldset>
        </>
      ) : null}
    </>
  );
}
