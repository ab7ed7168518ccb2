import { useEffect, useRef } from "react";
import { Button } from "../ui/button.tsx";
import { DataTable } from "../ui/data-table.tsx";
import { Notice } from "../ui/notice.tsx";

/** One field of a record: as it was opened, as one wants it, and as somebody else has saved it since. */
export interface ClashLine {
  label: string;
  /** Left out where the form does not keep what it was opened with. */
  opened?: string;
  mine: string;
  theirs: string;
}

/** Shown when somebody saved a newer version while a form was open: both versions, and the two ways on. */
export function ClashNotice({
  lines,
  onKeepMine,
  onTakeTheirs,
}: {
  /** Every field; `mine` is what saving on top of the newer version would leave. Fields that agree are not shown. */
  lines: readonly ClashLine[];
  /** Goes on with one's own changes, on top of the newer version. */
  onKeepMine: () => void;
  /** Puts the newer version into the form. */
  onTakeTheirs: () => void;
}) {
  const notice = useRef<HTMLDivElement>(null);
  // The button that met the clash may stand far below: the notice comes into sight and takes the keyboard.
  useEffect(() => notice.current?.focus(), []);
  const different = lines.filter(
    ({ opened, mine, theirs }) => mine !== theirs || (opened !== undefined && theirs !== opened),
  );
  return (
    <div ref={notice} tabIndex={-1} role="alert">
      <Notice tone="warn" title="Someone saved a newer version while you were editing">
        {different.length === 0 ? (
          <p>The newer version says the same as yours. Save again to add your reason.</p>
        ) : (
          <DataTable
            caption="Where the versions differ"
            rows={different}
            rowKey={(line) => line.label}
            columns={[
              { heading: "Field", isRowHeader: true, cell: (line) => line.label },
              { heading: "When you opened it", cell: (line) => line.opened ?? "–", isNarrowHidden: true },
              { heading: "On record now", cell: (line) => line.theirs },
              { heading: "With your changes", cell: (line) => line.mine },
            ]}
          />
        )}
        <div className="row">
          <Button onClick={onKeepMine}>Put my changes on top and save</Button>
          <Button onClick={onTakeTheirs}>Drop my changes</Button>
        </div>
      </Notice>
    </div>
  );
}
