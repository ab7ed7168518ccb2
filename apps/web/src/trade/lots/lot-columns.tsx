import { dispositionNames } from "@sealbook/contract/lot-terms";
import type { LotRow } from "@sealbook/contract/sampling";
import { Link } from "@tanstack/react-router";
import type { Column } from "../../ui/data-table.tsx";
import { LocalInstant } from "../local-instant.tsx";
import { lotPath } from "./lot-path.ts";
import { LotStateMark } from "./lot-state-mark.tsx";
import { OutcomeMark } from "./outcome-mark.tsx";
import { severityWords } from "./severity-words.ts";

/** Columns of a list of lots over time, with the inspection state each was planned under. */
export function lotColumns(): Column<LotRow>[] {
  return [
    {
      heading: "Lot",
      isRowHeader: true,
      isNowrap: true,
      cell: (lot) => <Link to={lotPath(lot)}>{lot.number}</Link>,
    },
    { heading: "What it is", cell: (lot) => lot.title },
    {
      heading: "Opened",
      cell: (lot) => <LocalInstant instant={lot.createdAt} />,
      isMediumHidden: true,
      isNowrap: true,
    },
    { heading: "Meters", cell: (lot) => lot.counts.members, isNumeric: true },
    {
      heading: "Sample",
      cell: (lot) => (lot.counts.sample === 0 ? "–" : `${lot.counts.done} of ${lot.counts.sample}`),
      isNumeric: true,
    },
    { heading: "Inspection", cell: (lot) => severityWords(lot.severities), isNarrowHidden: true },
    { heading: "State", cell: (lot) => <LotStateMark state={lot.state} />, isNowrap: true },
    {
      heading: "Outcome",
      cell: (lot) =>
        lot.outcome === null ? <span className="quiet">–</span> : <OutcomeMark outcome={lot.outcome} />,
    },
    {
      heading: "Followed by",
      cell: (lot) =>
        [
          lot.disposition === null ? "" : dispositionNames[lot.disposition],
          lot.resubmitsId === null ? "" : "a resubmission",
          lot.secondTryOfId === null ? "" : "a second try",
          lot.openActions === 0
            ? ""
            : `${lot.openActions} open ${lot.openActions === 1 ? "action" : "actions"}`,
        ]
          .filter((part) => part !== "")
          .join(", "),
      isNarrowHidden: true,
    },
  ];
}
