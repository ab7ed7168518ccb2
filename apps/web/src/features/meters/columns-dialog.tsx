import { type MeterColumn, meterColumnNames, meterColumns } from "@sealbook/contract/meter-list";
import { useState } from "react";
import { Button } from "../../ui/button.tsx";
import { Checkbox } from "../../ui/checkbox.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { usualColumns } from "./list-search.ts";

/** Chooses the columns of the list. The number stays: it is the way to the meter. */
export function ColumnsDialog({
  columns,
  onChoose,
  onClose,
}: {
  columns: readonly MeterColumn[];
  onChoose: (columns: readonly MeterColumn[]) => void;
  onClose: () => void;
}) {
  const [chosen, setChosen] = useState<ReadonlySet<MeterColumn>>(new Set(columns));
  const toggle = (column: MeterColumn, isOn: boolean) => {
    const next = new Set(chosen);
    if (isOn) next.add(column);
    else next.delete(column);
    setChosen(next);
  };
  return (
    <Dialog
      title="Columns of the list"
      onClose={onClose}
      buttons={
        <>
          <Button onClick={onClose}>Cancel</Button>
          <Button onClick={() => setChosen(new Set(usualColumns))}>The usual ones</Button>
          <Button
            kind="primary"
            onClick={() => onChoose(meterColumns.filter((column) => chosen.has(column)))}
          >
            Show these columns
          </Button>
        </>
      }
    >
      <fieldset className="field">
        <legend className="visually-hidden">Columns</legend>
        <div className="meter-columns">
          {meterColumns.map((column) => (
            <Checkbox
              key={column}
              isSelected={chosen.has(column)}
              isDisabled={column === "utilityNumber"}
              onChange={(isOn) => toggle(column, isOn)}
            >
              {meterColumnNames[column]}
            </Checkbox>
          ))}
        </div>
      </fieldset>
    </Dialog>
  );
}
