import { type CorrectiveAction, correctiveActionNames } from "@sealbook/contract/corrective-actions";
import type { Column } from "../../ui/data-table.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { PersonName } from "../person-name.tsx";

/** Columns that every list of corrective actions has. */
export function actionColumns(today: string): Column<CorrectiveAction>[] {
  return [
    {
      heading: "Action",
      isRowHeader: true,
      cell: (action) => correctiveActionNames[action.kind],
      isNowrap: true,
    },
    { heading: "What is to be done", cell: (action) => action.detail },
    { heading: "Owner", cell: (action) => <PersonName person={action.owner} /> },
    {
      heading: "Due",
      isNowrap: true,
      cell: (action) =>
        action.doneOn === null && action.dueOn < today ? (
          <StatusMark tone="bad">{action.dueOn}, overdue</StatusMark>
        ) : (
          action.dueOn
        ),
    },
    {
      heading: "Done",
      cell: (action) =>
        action.doneOn === null ? (
          <StatusMark tone="neutral">open</StatusMark>
        ) : (
          <>
            <StatusMark tone="good">{action.doneOn}</StatusMark> {action.doneNote}
          </>
        ),
    },
  ];
}
