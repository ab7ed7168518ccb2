import { type CorrectiveAction, listCorrectiveActions } from "@sealbook/contract/corrective-actions";
import { Link } from "@tanstack/react-router";
import { useState } from "react";
import { useMay } from "../../api/use-may.ts";
import { useShop } from "../../api/use-shop.ts";
import { actionColumns } from "../../trade/lots/action-columns.tsx";
import { ChangeActionDialog } from "../../trade/lots/change-action-dialog.tsx";
import { lotPath } from "../../trade/lots/lot-path.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
import { Button } from "../../ui/button.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Select } from "../../ui/select.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";

/** Corrective actions of all lots by due date, the open ones first asked for. */
export function CorrectiveActionsPage() {
  const { today } = useShop();
  const [search, change] = useSearchText();
  const mayAct = useMay("sampling.decide");
  const [changed, setChanged] = useState<CorrectiveAction | null>(null);
  const state = search.state === "all" ? undefined : search.state === "done" ? "done" : "open";
  return (
    <div className="stack">
      <PageHeader title="Corrective actions" note="What decided lots ask for, with owner and due date." />
      <div className="row-fields">
        <Select
          label="Actions"
          value={state ?? "all"}
          onChange={(next) => change({ state: next === "open" ? "" : next })}
          options={[
            { value: "open", label: "Open" },
            { value: "done", label: "Done" },
            { value: "all", label: "All" },
          ]}
        />
      </div>
      <PagedTable
        operation={listCorrectiveActions}
        input={{ query: { state } }}
        caption="Corrective actions by due date"
        noun={["action", "actions"]}
        rowKey={(action) => action.id}
        isQuiet={(action) => action.doneOn !== null}
        columns={[
          {
            heading: "Lot",
            isNowrap: true,
            cell: (action) => (
              <Link to={lotPath({ id: action.lotId, kind: action.lotKind })}>{action.lotNumber}</Link>
            ),
          },
          { heading: "What it is", cell: (action) => action.lotTitle, isNarrowHidden: true },
          ...actionColumns(today),
          ...(mayAct
            ? [
                {
                  heading: "Change",
                  cell: (action: CorrectiveAction) => (
                    <Button kind="quiet" onClick={() => setChanged(action)}>
                      Change<span className="visually-hidden"> the action on lot {action.lotNumber}</span>
                    </Button>
                  ),
                },
              ]
            : []),
        ]}
        empty={
          state === "open" ? (
            <Empty title="No action is open.">They are set on a decided lot's own page.</Empty>
          ) : (
            <Empty title="No action is on record here." />
          )
        }
      />
      {changed === null ? null : <ChangeActionDialog action={changed} onDone={() => setChanged(null)} />}
    </div>
  );
}
