import {
  type ExportFormat,
  exportColumns,
  exportFormatNames,
  exportFormats,
  exportMeters,
  type MeterColumn,
} from "@sealbook/contract/meter-list";
import { useState } from "react";
import { operationUrl } from "../../api/operation-url.ts";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { RadioGroup } from "../../ui/radio-group.tsx";
import type { ListSearch } from "./list-search.ts";

/** Takes the filtered meters out as a file. It comes as the browser's own download, however long it is. */
export function TakeOutDialog({ search, onClose }: { search: ListSearch; onClose: () => void }) {
  const [format, setFormat] = useState<ExportFormat>("xlsx");
  const [which, setWhich] = useState<"shown" | "all">("all");
  const columns: readonly (MeterColumn | (typeof exportColumns)[number])[] =
    which === "all" ? exportColumns : search.columns;
  const address = operationUrl(exportMeters, undefined, {
    ...search.filter,
    order: search.order,
    format,
    columns: columns.join(","),
  });
  return (
    <Dialog
      title="Download the list"
      onClose={onClose}
      buttons={
        <>
          <Button onClick={onClose}>Cancel</Button>
          <a className="button button-primary" href={address} download onClick={onClose}>
            Download
          </a>
        </>
      }
    >
      <p>
        Every meter that the filters leave, in the order of the list. The ledger records who downloaded it.
      </p>
      <RadioGroup
        label="Kind of file"
        value={format}
        onChange={setFormat}
        options={exportFormats.map((one) => ({ value: one, label: exportFormatNames[one] }))}
      />
      <RadioGroup
        label="Columns"
        value={which}
        onChange={setWhich}
        options={[
          { value: "all" as const, label: "All that there are, with class, Kh, area and the last average" },
          { value: "shown" as const, label: "Those of the list" },
        ]}
      />
    </Dialog>
  );
}
