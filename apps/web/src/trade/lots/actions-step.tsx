import type { CorrectiveAction } from "@sealbook/contract/corrective-actions";
import type { Lot } from "@sealbook/contract/sampling";
import { type ReactNode, useState } from "react";
import { useMay } from "../../api/use-may.ts";
import { useShop } from "../../api/use-shop.ts";
import { Button } from "../../ui/button.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { Empty } from "../../ui/empty.tsx";
import { actionColumns } from "./action-columns.tsx";
import { AddActionForm } from "./add-action-form.tsx";
import { ChangeActionDialog } from "./change-action-dialog.tsx";
import { LotStep } from "./lot-step.tsx";

/** What follows from the decision: corrective actions, and before them whatever the kind of lot has of its own. */
export function ActionsStep({
  lot,
  number,
  children,
}: {
  lot: Lot;
  number: number;
  /** What becomes of a shipment, or the end of a group. */
  children?: ReactNode;
}) {
  const { today } = useShop();
  const mayAct = useMay("sampling.decide") && lot.decision !== null && lot.disposition !== "corrected";
  const [isAdding, setIsAdding] = useState(false);
  const [changed, setChanged] = useState<CorrectiveAction | null>(null);
  return (
    <LotStep
      number={number}
      title="What follows"
      isAhead={lot.decision === null}
      actions={
        mayAct && !isAdding ? (
          <Button onClick={() => setIsAdding(true)}>Set a corrective action</Button>
        ) : undefined
      }
    >
      {children}
      {lot.decision === null ? (
        <Empty title="Actions with an owner and a due date follow the decision." />
      ) : lot.actions.length === 0 ? (
        isAdding ? null : (
          <Empty title="No corrective action has been set." />
        )
      ) : (
        <DataTable
          caption={`Corrective actions on lot ${lot.number}`}
          rows={lot.actions}
          rowKey={(action) => action.id}
          isQuiet={(action) => action.doneOn !== null}
          columns={[
            ...actionColumns(today),
            ...(mayAct
              ? [
                  {
                    heading: "Change",
                    cell: (action: CorrectiveAction) => (
                      <Button kind="quiet" onClick={() => setChanged(action)}>
                        Change<span className="visually-hidden"> the action due on {action.dueOn}</span>
                      </Button>
                    ),
                  },
                ]
              : []),
          ]}
        />
      )}
      {isAdding ? <AddActionForm lot={lot} onDone={() => setIsAdding(false)} /> : null}
      {changed === null ? null : <ChangeActionDialog action={changed} onDone={() => setChanged(null)} />}
    </LotStep>
  );
}
