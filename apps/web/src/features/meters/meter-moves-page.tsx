import { listMeterMoves } from "@sealbook/contract/meter-events";
import { meterEventNames } from "@sealbook/contract/meters";
import { Link } from "@tanstack/react-router";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PagedTable } from "../../trade/paged-table.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { placeName } from "../../trade/place-name.ts";
import { ButtonLink } from "../../ui/button-link.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";

/** What was moved lately, newest first; each move can be opened and taken back. */
export function MeterMovesPage() {
  const mayMove = useMay("meter.move");
  const mayReceive = useMay("meter.create");
  return (
    <div className="stack">
      <PageHeader
        title="Moves"
        actions={
          <>
            {mayReceive ? <ButtonLink to={paths.receiveMeters()}>Receive meters</ButtonLink> : null}
            {mayMove ? (
              <ButtonLink kind="primary" to={paths.moveMeters()}>
                Move meters
              </ButtonLink>
            ) : null}
          </>
        }
      />
      <PagedTable
        operation={listMeterMoves}
        input={{ query: {} }}
        caption="Moves, newest first"
        noun={["move", "moves"]}
        rowKey={(move) => move.id}
        isQuiet={(move) => move.takenBackById !== null}
        columns={[
          { heading: "Recorded", isNowrap: true, cell: (move) => <LocalInstant instant={move.recordedAt} /> },
          {
            heading: "What",
            isRowHeader: true,
            cell: (move) => <Link to={paths.meterMove(move.id)}>{meterEventNames[move.kind]}</Link>,
          },
          { heading: "Meters", isNumeric: true, cell: (move) => move.meters },
          { heading: "Where to", cell: (move) => (move.place === null ? "–" : placeName(move.place)) },
          { heading: "By", cell: (move) => <PersonName person={move.recordedBy} />, isNarrowHidden: true },
          {
            heading: "",
            isShortFor: "State",
            cell: (move) =>
              move.takenBackById === null ? null : <StatusMark tone="neutral">Taken back</StatusMark>,
          },
        ]}
        empty={<Empty title="Nothing was moved yet." />}
      />
    </div>
  );
}
