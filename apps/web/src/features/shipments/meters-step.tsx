import type { Lot } from "@sealbook/contract/sampling";
import { addShipmentMeters, shipmentRefusalNames } from "@sealbook/contract/shipments";
import { type FormEvent, useState } from "react";
import type { CallReply } from "../../api/call.ts";
import { newId } from "../../api/new-id.ts";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { LotStep } from "../../trade/lots/lot-step.tsx";
import { MembersTable } from "../../trade/lots/members-table.tsx";
import { useRefreshOnClash } from "../../trade/lots/use-refresh-on-clash.ts";
import { numbersInText } from "../../trade/numbers-in-text.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { TakeInFile } from "../../trade/take-in-file.tsx";
import { Button } from "../../ui/button.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Notice } from "../../ui/notice.tsx";
import { TextArea } from "../../ui/text-area.tsx";

/** The meters of a shipment: taken in from the maker's list or by pasted numbers, until the plan fixes them. */
export function MetersStep({ lot, number }: { lot: Lot; number: number }) {
  const mayReceive = useMay("shipment.receive") && lot.state === "forming";
  const [isShown, setIsShown] = useState(false);
  return (
    <LotStep number={number} title="Meters">
      <DefinitionList
        items={[
          { term: "Meters in the lot", value: lot.counts.members },
          { term: "With results of the maker", value: lot.makerResults },
          { term: "Contract", value: lot.contract === "" ? "–" : lot.contract },
          { term: "Purchase order", value: lot.purchaseOrder === "" ? "–" : lot.purchaseOrder },
          { term: "Received on", value: lot.receivedOn ?? "–" },
          ...(lot.note === "" ? [] : [{ term: "Note", value: lot.note }]),
        ]}
      />
      {mayReceive ? (
        <>
          <TakeInFile
            into={{ kind: "shipment-meters", lotId: lot.id }}
            label="Take in the maker's list"
            hint="It adds meters that are not on record, and keeps the maker's own results."
          />
          <AddMetersForm lot={lot} />
        </>
      ) : null}
      {lot.counts.members === 0 ? null : (
        <div>
          <Button kind="quiet" aria-expanded={isShown} onClick={() => setIsShown(!isShown)}>
            {isShown ? "Put the list of meters away" : "Show the list of meters"}
          </Button>
        </div>
      )}
      {isShown ? <MembersTable lot={lot} /> : null}
    </LotStep>
  );
}

function AddMetersForm({ lot }: { lot: Lot }) {
  const [key, setKey] = useState(newId);
  const [text, setText] = useState("");
  const [reply, setReply] = useState<CallReply<typeof addShipmentMeters> | null>(null);
  const submission = useSubmission(addShipmentMeters, { touches: ["sampling"] });
  useRefreshOnClash(submission.problem);
  const numbers = numbersInText(text);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    if (numbers.length === 0) {
      submission.refuse([{ pointer: "/numbers", detail: "Paste the numbers first." }]);
      return;
    }
    const taken = await submission.submit({ params: { id: lot.id }, body: { numbers }, key });
    if (taken === null) return;
    setReply(taken);
    setText("");
    setKey(newId());
  };
  return (
    <form className="stack" onSubmit={save}>
      <SubmissionSummary submission={submission} names={{ "/numbers": "Numbers" }} />
      {reply === null ? null : <AddedNotice reply={reply} />}
      <p>Or paste the numbers of meters that are on record already.</p>
      <TextArea
        label="Utility numbers or serials"
        hint={
          numbers.length === 0
            ? "One a line, or divided by commas"
            : `${numbers.length} ${numbers.length === 1 ? "number" : "numbers"}`
        }
        id={fieldId("/numbers")}
        value={text}
        onChange={(next) => {
          setText(next);
          // Other numbers are another request; the same ones, sent again, are done once.
          setKey(newId());
        }}
        error={submission.errorAt("/numbers")}
        rows={4}
      />
      <div>
        <Button type="submit" isPending={submission.pending}>
          {submission.pending ? "Taking in" : "Take these meters in"}
        </Button>
      </div>
    </form>
  );
}

function AddedNotice({ reply }: { reply: CallReply<typeof addShipmentMeters> }) {
  return (
    <Notice
      tone={reply.setAside.length === 0 ? "plain" : "warn"}
      title={`${reply.added} taken in, ${reply.already} in the lot already, ${reply.setAside.length} set aside`}
      isAnnounced
    >
      {reply.setAside.length === 0 ? null : (
        <DataTable
          caption="Numbers set aside, and why"
          rows={reply.setAside.map((row, place) => ({ ...row, place }))}
          rowKey={(row) => String(row.place)}
          columns={[
            { heading: "Number", isRowHeader: true, cell: (row) => row.number, isNowrap: true },
            { heading: "Why", cell: (row) => shipmentRefusalNames[row.code] },
            { heading: "What was found", cell: (row) => row.detail },
          ]}
        />
      )}
    </Notice>
  );
}
