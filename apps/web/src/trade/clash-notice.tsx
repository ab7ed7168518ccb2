import { Button } from "../ui/button.tsx";
import { DataTable } from "../ui/data-table.tsx";
import { Notice } from "../ui/notice.tsx";

/** One field of a record as two people want it. */
export interface ClashLine {
  label: string;
  mine: string;
  theirs: string;
}

/** Shown when somebody saved a newer version while a form was open: both versions, and the two ways on. */
export function ClashNotice({
  lines,
  onKeepMine,
  onTakeTheirs,
}: {
  /** Every field; those that agree are not shown. */
  lines: readonly ClashLine[];
  /** Goes on with what is typed, on top of the newer version. */
  onKeepMine: () => void;
  /** Puts the newer version into the form. */
  onTakeTheirs: () => void;
}) {
  const different = lines.filter((line) => line.mine !== line.theirs);
  return (
    <Notice tone="warn" title="Someone saved a newer version while you were editing" isAnnounced>
      {different.length === 0 ? (
        <p>The newer version says the same as yours. Save again to add your reason.</p>
      ) : (
        <DataTable
          caption="Where the two versions differ"
          rows={different}
          rowKey={(line) => line.label}
          columns={[
            { heading: "Field", isRowHeader: true, cell: (line) => line.label },
            { heading: "Yours", cell: (line) => line.mine },
            { heading: "On record now", cell: (line) => line.theirs },
          ]}
        />
      )}
      <div className="row">
        <Button onClick={onKeepMine}>Keep mine and save again</Button>
        <Button onClick={onTakeTheirs}>Take the version on record</Button>
      </div>
    </Notice>
  );
}
