import {
  getMeterMove,
  listMovedMeters,
  type MeterMove,
  takeBackMeterMove,
} from "@sealbook/contract/meter-events";
import { meterEventNames } from "@sealbook/contract/meters";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link, useNavigate } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { operationOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PagedTable } from "../../trade/paged-table.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { placeName } from "../../trade/place-name.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { Empty } from "../../ui/empty.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { touchedByMoves } from "./touched-by-moves.ts";

/** One move and its meters; while nothing leans on it, it can be taken back whole. */
export function MeterMovePage() {
  const moveId = useRouteParam("moveId");
  const { data: move } = useSuspenseQuery(operationOptions(getMeterMove, { params: { id: moveId } }));
  const [isTakingBack, setTakingBack] = useState(false);
  const mayTakeBack =
    useMay("meter.move") && move.takenBackById === null && !["take-back", "receive"].includes(move.kind);
  return (
    <div className="stack">
      <PageHeader
        title={`${meterEventNames[move.kind]}: ${move.meters} ${move.meters === 1 ? "meter" : "meters"}`}
        actions={
          mayTakeBack ? <Button onClick={() => setTakingBack(true)}>Take this move back</Button> : undefined
        }
      />
      {move.takenBackById === null ? null : (
        <Notice title="Taken back">
          <p>
            This move was taken back by <Link to={paths.meterMove(move.takenBackById)}>a counter-move</Link>.
          </p>
        </Notice>
      )}
      <DefinitionList
        items={[
          { term: "When", value: <LocalInstant instant={move.performedAt} /> },
          { term: "Recorded", value: <LocalInstant instant={move.recordedAt} /> },
          { term: "By", value: <PersonName person={move.recordedBy} /> },
          ...(move.place === null ? [] : [{ term: "Where to", value: placeName(move.place) }]),
          ...(move.reason === "" ? [] : [{ term: "Reason", value: move.reason }]),
          ...(move.takesBackId === null
            ? []
            : [{ term: "Takes back", value: <Link to={paths.meterMove(move.takesBackId)}>that move</Link> }]),
          { term: "On record by", value: <Link to={paths.ledgerEntry(move.entryId)}>one ledger entry</Link> },
        ]}
      />
      <PagedTable
        operation={listMovedMeters}
        input={{ params: { id: move.id }, query: {} }}
        caption="Meters of this move"
        noun={["meter", "meters"]}
        rowKey={(row) => row.eventId}
        isQuiet={(row) => row.takenBack}
        columns={[
          {
            heading: "Number",
            isRowHeader: true,
            isNowrap: true,
            cell: (row) => <Link to={paths.meter(row.meterId)}>{row.utilityNumber}</Link>,
          },
          { heading: "Serial", cell: (row) => row.serial, isNowrap: true },
          { heading: "Reading", decimal: (row) => row.registerReading },
          {
            heading: "",
            isShortFor: "State",
            cell: (row) => (row.takenBack ? <StatusMark tone="neutral">Taken back</StatusMark> : null),
          },
        ]}
        empty={<Empty title="This move has no meters." />}
      />
      {isTakingBack ? <TakeBackMoveDialog move={move} onClose={() => setTakingBack(false)} /> : null}
    </div>
  );
}

function TakeBackMoveDialog({ move, onClose }: { move: MeterMove; onClose: () => void }) {
  const navigate = useNavigate();
  const [id] = useState(newId);
  const [reason, setReason] = useState("");
  const submission = useSubmission(takeBackMeterMove, { touches: touchedByMoves });
  const submit = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({ params: { id: move.id }, body: { id, reason: reason.trim() } });
    if (reply === null) return;
    onClose();
    await navigate({ to: paths.meterMove(reply.id) });
  };
  return (
    <Dialog title="Take the whole move back" onClose={onClose}>
      <form className="stack" onSubmit={submit}>
        <SubmissionSummary submission={submission} names={{ "/reason": "Reason" }} />
        <p>Each meter goes back to where it was before. The move stays on record, with your reason.</p>
        <TextArea
          label="Reason"
          id={fieldId("/reason")}
          value={reason}
          onChange={setReason}
          error={submission.errorAt("/reason")}
          rows={2}
          maxLength={500}
        />
        <div className="dialog-buttons">
          <Button onClick={onClose}>Leave it as it is</Button>
          <Button type="submit" kind="danger" isPending={submission.pending}>
            Take it back
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
