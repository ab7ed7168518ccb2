import {
  addOutlet,
  changeOutlet,
  listOutlets,
  mostOutlets,
  type Outlet,
  sendHead,
} from "@sealbook/contract/log-heads";
import { useSuspenseQuery } from "@tanstack/react-query";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { operationOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { Empty } from "../../ui/empty.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Select } from "../../ui/select.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";

const kinds = [
  { value: "folder" as const, label: "Folder of the server" },
  { value: "address" as const, label: "Address, https" },
];

const refreshEvery = 15_000;

/** Where signed heads are sent, what arrived and what is overdue; an administrator names the places. */
export function LogOutlets() {
  const { data } = useSuspenseQuery({
    ...operationOptions(listOutlets, {}),
    refetchInterval: refreshEvery,
  });
  const mayManage = useMay("log.manage");
  const [isAdding, setAdding] = useState(false);
  const [changing, setChanging] = useState<Outlet | null>(null);
  const active = data.rows.filter((row) => row.active).length;
  return (
    <div className="stack">
      <p>
        Each new head is sent within five minutes to every place below. A place outside the reach of whoever
        runs this database makes the log believable. A database that was put back behind a head that has left
        is found out at its next start; nothing is recorded in it until an administrator signs what happened.
      </p>
      {data.rows.length === 0 ? (
        <Empty title="Heads are sent nowhere yet. Until one has left, the log proves nothing against whoever owns the database." />
      ) : (
        <DataTable
          caption="Places that heads are sent to"
          rows={data.rows}
          rowKey={(row) => row.id}
          isQuiet={(row) => !row.active}
          columns={[
            {
              heading: "Place",
              isRowHeader: true,
              cell: (row) => <code className="ledger-text">{row.target}</code>,
            },
            {
              heading: "Last head that arrived",
              cell: ({ delivered }) =>
                delivered === null ? (
                  <span className="quiet">none yet</span>
                ) : (
                  <>
                    {delivered.size.toLocaleString("en-US")} entries, <LocalInstant instant={delivered.at} />
                  </>
                ),
            },
            { heading: "State", cell: (row) => <OutletState outlet={row} /> },
            ...(mayManage
              ? [
                  {
                    heading: "Actions",
                    cell: (row: Outlet) => (
                      <span className="log-outlet-actions">
                        {row.active ? <SendNow outlet={row} /> : null}
                        <Button onClick={() => setChanging(row)}>
                          {row.active ? "Stop sending" : "Begin again"}
                        </Button>
                      </span>
                    ),
                  },
                ]
              : []),
          ]}
        />
      )}
      {mayManage && active < mostOutlets ? (
        <div>
          <Button onClick={() => setAdding(true)}>Send heads to one more place</Button>
        </div>
      ) : null}
      {isAdding ? <AddDialog onClose={() => setAdding(false)} /> : null}
      {changing === null ? null : <ChangeDialog outlet={changing} onClose={() => setChanging(null)} />}
    </div>
  );
}

function OutletState({ outlet }: { outlet: Outlet }) {
  const { active, delivered, failed, overdue } = outlet;
  if (!active) return <StatusMark tone="neutral">Not in use</StatusMark>;
  return (
    <>
      {overdue ? (
        <StatusMark tone="bad">Overdue: a newer head has waited for over ten minutes</StatusMark>
      ) : failed !== null ? (
        <StatusMark tone="warn">The last attempt failed</StatusMark>
      ) : delivered === null ? (
        <StatusMark tone="neutral">Waits for its first head</StatusMark>
      ) : (
        <StatusMark tone="good">Up to date</StatusMark>
      )}
      {failed === null ? null : (
        <div className="small">
          {failed.sentence} Tried <LocalInstant instant={failed.at} />.
        </div>
      )}
    </>
  );
}

function SendNow({ outlet }: { outlet: Outlet }) {
  const submission = useSubmission(sendHead);
  const [isAsked, setAsked] = useState(false);
  return (
    <>
      <Button
        isPending={submission.pending}
        onClick={async () => {
          if ((await submission.submit({ params: { id: outlet.id } })) !== null) setAsked(true);
        }}
      >
        Send now
      </Button>
      {submission.problem === null ? null : <ProblemNotice error={submission.problem} />}
      {isAsked ? (
        <span className="small quiet" role="status">
          Asked for; look again in a moment.
        </span>
      ) : null}
    </>
  );
}

const names = { "/kind": "Kind", "/target": "Place", "/reason": "Reason" };

function AddDialog({ onClose }: { onClose: () => void }) {
  const [id] = useState(newId);
  const [kind, setKind] = useState<"folder" | "address">("folder");
  const [target, setTarget] = useState("");
  const [reason, setReason] = useState("");
  const submission = useSubmission(addOutlet);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      body: { id, kind, target: target.trim(), reason: reason.trim() },
    });
    if (reply !== null) onClose();
  };
  return (
    <Dialog title="Send heads to one more place" onClose={onClose}>
      <form className="stack" onSubmit={save}>
        <SubmissionSummary submission={submission} names={names} />
        <Select
          label="Kind"
          id={fieldId("/kind")}
          value={kind}
          onChange={(value) => setKind(value === "" ? "folder" : value)}
          options={kinds}
          error={submission.errorAt("/kind")}
        />
        <TextField
          label={kind === "folder" ? "Folder" : "Address"}
          id={fieldId("/target")}
          value={target}
          onChange={setTarget}
          error={submission.errorAt("/target")}
          hint={
            kind === "folder"
              ? "A whole path that exists on the server, best on another machine's disk"
              : "Gets each head by POST, with the proof that it goes on from the one before (C2SP tlog-witness)"
          }
          maxLength={500}
        />
        <TextArea
          label="Reason"
          id={fieldId("/reason")}
          value={reason}
          onChange={setReason}
          error={submission.errorAt("/reason")}
          hint="Who holds it, and what for"
          rows={2}
          maxLength={500}
        />
        <div className="dialog-buttons">
          <Button onClick={onClose}>Cancel</Button>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            Send heads there
          </Button>
        </div>
      </form>
    </Dialog>
  );
}

function ChangeDialog({ outlet, onClose }: { outlet: Outlet; onClose: () => void }) {
  const [reason, setReason] = useState("");
  const submission = useSubmission(changeOutlet);
  const title = outlet.active ? "Stop sending heads there" : "Begin again to send heads there";
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      params: { id: outlet.id },
      version: outlet.version,
      body: { active: !outlet.active, reason: reason.trim() },
    });
    if (reply !== null) onClose();
  };
  return (
    <Dialog title={title} onClose={onClose}>
      <form className="stack" onSubmit={save}>
        <SubmissionSummary submission={submission} names={names} />
        <p>
          <code className="ledger-text">{outlet.target}</code>
        </p>
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
          <Button onClick={onClose}>Cancel</Button>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            {outlet.active ? "Stop sending" : "Begin again"}
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
