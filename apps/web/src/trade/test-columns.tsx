import type { TestRow } from "@sealbook/contract/meters";
import { testReasonNames } from "@sealbook/contract/work-items";
import { Link } from "@tanstack/react-router";
import { paths } from "../paths.ts";
import type { Column } from "../ui/data-table.tsx";
import { LocalInstant } from "./local-instant.tsx";
import { PersonName } from "./person-name.tsx";
import { RegistrationPercent } from "./registration-percent.tsx";
import { VerdictMark } from "./verdict-mark.tsx";

/** Columns of a list of tests; the meter's number is left out on the meter's own page. */
export function testColumns({ hasMeter }: { hasMeter: boolean }): Column<TestRow>[] {
  const meter: Column<TestRow>[] = hasMeter
    ? [
        {
          heading: "Meter",
          cell: (row) => <Link to={paths.meter(row.meterId)}>{row.utilityNumber}</Link>,
          isNowrap: true,
        },
      ]
    : [];
  return [
    {
      heading: "Performed",
      isRowHeader: true,
      cell: (row) => (
        <>
          <Link to={paths.test(row.id)}>
            <LocalInstant instant={row.performedAt} />
          </Link>
          <span className="quiet"> {standingOf(row)}</span>
        </>
      ),
    },
    ...meter,
    {
      heading: "Reason",
      cell: (row) => row.reasons.map((reason) => <div key={reason}>{testReasonNames[reason]}</div>),
      isNarrowHidden: true,
    },
    { heading: "As found", cell: (row) => <VerdictMark verdict={row.asFound} /> },
    {
      heading: "As left",
      cell: (row) =>
        row.asLeft === null ? <span className="quiet">–</span> : <VerdictMark verdict={row.asLeft} />,
      isMediumHidden: true,
    },
    {
      heading: "FL %",
      isShortFor: "Full load, percent registration as found",
      cell: (row) => <RegistrationPercent value={row.fullLoadAsFound} />,
      isNumeric: true,
    },
    {
      heading: "LL %",
      isShortFor: "Light load, percent registration as found",
      cell: (row) => <RegistrationPercent value={row.lightLoadAsFound} />,
      isNumeric: true,
    },
    {
      heading: "PF %",
      isShortFor: "Power factor, percent registration as found",
      cell: (row) => <RegistrationPercent value={row.powerFactorAsFound} />,
      isNumeric: true,
      isMediumHidden: true,
    },
    {
      heading: "Average %",
      cell: (row) => <RegistrationPercent value={row.averageAsFound} />,
      isNumeric: true,
    },
    {
      heading: "Tester",
      cell: (row) => <PersonName person={row.tester} />,
      isMediumHidden: true,
      isNowrap: true,
    },
    {
      heading: "Standard",
      cell: (row) => row.standard ?? "–",
      isWideOnly: hasMeter,
      isMediumHidden: true,
      isNowrap: true,
    },
  ];
}

/** How the record stands, where that is worth a word. */
function standingOf(row: TestRow): string {
  if (row.supersededById !== null) return "superseded";
  if (row.supersedesId !== null) return row.signed ? "amendment" : "amendment, unsigned";
  return row.signed ? "" : "unsigned";
}
