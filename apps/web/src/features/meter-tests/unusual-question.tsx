import { Checkbox } from "../../ui/checkbox.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Panel } from "../../ui/panel.tsx";
import type { UnusualFigures } from "./use-unusual.ts";

/** Asks about figures that are seldom true; nothing while none was found. */
export function UnusualQuestion({ unusual, error }: { unusual: UnusualFigures; error: string | undefined }) {
  if (unusual.asked.length === 0) return null;
  return (
    <Panel title="Unusual figures">
      <ul>
        {unusual.asked.map(({ pointer, detail }) => (
          <li key={pointer}>{detail}</li>
        ))}
      </ul>
      <Checkbox
        id={fieldId("/confirmedUnusual")}
        isSelected={unusual.isConfirmed}
        onChange={unusual.onConfirm}
        error={unusual.isConfirmed ? undefined : error}
      >
        I looked at these again: they are right as entered
      </Checkbox>
    </Panel>
  );
}
