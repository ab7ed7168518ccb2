import { type LineProblem, type LinesPreview, lineProblemNames } from "@sealbook/contract/meter-events";
import { Button } from "../../ui/button.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { Notice } from "../../ui/notice.tsx";

/** What a list would come to, and below it the one button that does the lines that can be done. */
export function PreviewConfirm({
  preview,
  act,
  done,
  isPending,
  onConfirm,
}: {
  preview: LinesPreview;
  /** The deed as the button says it, such as "Move". */
  act: string;
  /** The deed as what has been done, such as "moved". */
  done: string;
  isPending: boolean;
  onConfirm: () => void;
}) {
  const { ready, problems } = preview;
  return (
    <>
      <PreviewNotice preview={preview} verb={done} />
      {ready === 0 ? null : (
        <div>
          <Button kind="primary" onClick={onConfirm} isPending={isPending}>
            {problems.length === 0
              ? `${act} ${ready} ${ready === 1 ? "meter" : "meters"}`
              : ready === 1
                ? `${act} the good one`
                : `${act} the ${ready} good ones`}
          </Button>
        </div>
      )}
    </>
  );
}

/** What a list would come to: how many lines can be done, and each that cannot, with why. */
function PreviewNotice({ preview, verb }: { preview: LinesPreview; verb: string }) {
  const { ready, problems, notes } = preview;
  const bad = problems.length === 0 ? "" : `, ${problems.length} cannot`;
  return (
    <Notice
      tone={problems.length === 0 ? "plain" : "warn"}
      title={`${ready} of ${ready + problems.length} can be ${verb}${bad}`}
      isAnnounced
    >
      <LineProblems problems={problems} />
      {notes.length === 0 ? null : (
        <ul>
          {notes.slice(0, 20).map((note) => (
            <li key={note.line}>
              Line {note.line}: {note.detail}
            </li>
          ))}
          {notes.length > 20 ? <li>and {notes.length - 20} more of the kind</li> : null}
        </ul>
      )}
    </Notice>
  );
}

/** Lines with a problem, each by its place in the list. */
export function LineProblems({ problems }: { problems: readonly LineProblem[] }) {
  if (problems.length === 0) return null;
  const shown = problems.slice(0, 200);
  return (
    <>
      <DataTable
        caption="Lines that cannot be done, and why"
        rows={shown}
        rowKey={(row) => String(row.line)}
        columns={[
          { heading: "Line", isNumeric: true, cell: (row) => row.line, isNowrap: true },
          { heading: "Number", isRowHeader: true, cell: (row) => row.number, isNowrap: true },
          { heading: "Why", cell: (row) => lineProblemNames[row.code], isNarrowHidden: true },
          { heading: "What was found", cell: (row) => row.detail },
        ]}
      />
      {problems.length > shown.length ? <p>and {problems.length - shown.length} more lines.</p> : null}
    </>
  );
}
