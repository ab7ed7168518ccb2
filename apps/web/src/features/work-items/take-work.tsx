import type { DueRow } from "@sealbook/contract/due";
import { assignWork, openWorkItem } from "@sealbook/contract/work-items";
import { useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useAccount } from "../../api/use-account.ts";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { PersonName } from "../../trade/person-name.tsx";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { Select } from "../../ui/select.tsx";
import { useTesterOptions } from "./due-filters.tsx";

/** Who has taken a piece of work, and the step to take it, give it back or hand it on. */
export function TakeWork({ row, ownId }: { row: DueRow; ownId: string }) {
  const { role } = useAccount();
  const mayTake = useMay("workItem.assign");
  const handsOver = role === "supervisor" || role === "quality-engineer";
  const [isHanding, setHanding] = useState(false);
  const assigning = useAssigning(row);
  if (row.kind === "standard") return null;
  const owner = row.assignee;
  const isOwn = owner?.id === ownId;
  return (
    <span className="row">
      {owner === null ? null : <PersonName person={owner} />}
      {mayTake && owner === null ? (
        <Button kind="quiet" isPending={assigning.pending} onClick={() => void assigning.assign(ownId)}>
          Take<span className="visually-hidden"> {row.name}</span>
        </Button>
      ) : null}
      {mayTake && isOwn ? (
        <Button kind="quiet" isPending={assigning.pending} onClick={() => void assigning.assign(null)}>
          Give back<span className="visually-hidden"> {row.name}</span>
        </Button>
      ) : null}
      {handsOver ? (
        <Button kind="quiet" onClick={() => setHanding(true)}>
          Hand to<span className="visually-hidden"> somebody: {row.name}</span>
        </Button>
      ) : null}
      {assigning.problem === null || isHanding ? null : (
        <span className="field-error" role="alert">
          {assigning.problem.message}
        </span>
      )}
      {isHanding ? <HandDialog row={row} assigning={assigning} onClose={() => setHanding(false)} /> : null}
    </span>
  );
}

type Assigning = ReturnType<typeof useAssigning>;

/** A periodic test becomes a piece of work with the one who takes it; other work changes hands. */
function useAssigning(row: DueRow) {
  const opening = useSubmission(openWorkItem, { touches: ["due", "meters"] });
  const handing = useSubmission(assignWork, { touches: ["due", "meters"] });
  return {
    pending: opening.pending || handing.pending,
    problem: opening.problem ?? handing.problem,
    async assign(assigneeId: string | null): Promise<boolean> {
      if (row.kind === "periodic" && row.meterId !== null) {
        const body = {
          id: newId(),
          meterId: row.meterId,
          reason: "periodic" as const,
          dueOn: row.dueOn,
          note: row.note.slice(0, 500),
          assigneeId,
        };
        return (await opening.submit({ body })) !== null;
      }
      if (row.version === null) return false;
      return (
        (await handing.submit({ params: { id: row.id }, version: row.version, body: { assigneeId } })) !==
        null
      );
    },
  };
}

function HandDialog({ row, assigning, onClose }: { row: DueRow; assigning: Assigning; onClose: () => void }) {
  const testers = useTesterOptions();
  const [to, setTo] = useState(row.assignee?.id ?? "");
  const hand = async () => {
    if (await assigning.assign(to === "" ? null : to)) onClose();
  };
  return (
    <Dialog
      title={`Who tests meter ${row.name}?`}
      onClose={onClose}
      buttons={
        <>
          <Button onClick={onClose}>Cancel</Button>
          <Button kind="primary" isPending={assigning.pending} onClick={() => void hand()}>
            Hand over
          </Button>
        </>
      }
    >
      {assigning.problem === null ? null : <ProblemNotice error={assigning.problem} />}
      <Select label="Person" value={to} onChange={setTo} placeholder="Nobody yet" options={testers} />
    </Dialog>
  );
}
