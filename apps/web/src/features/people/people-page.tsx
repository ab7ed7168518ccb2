import { type Account, listPeople } from "@sealbook/contract/people";
import { roleNames, roles } from "@sealbook/contract/permissions";
import { useState } from "react";
import { useAccount } from "../../api/use-account.ts";
import { useMay } from "../../api/use-may.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
import { Button } from "../../ui/button.tsx";
import type { Column } from "../../ui/data-table.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Select } from "../../ui/select.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { ChangePersonDialog } from "./change-person-dialog.tsx";
import { ForgetPersonDialog } from "./forget-person-dialog.tsx";
import { OpenAccountDialog } from "./open-account-dialog.tsx";
import { ResetPasswordDialog } from "./reset-password-dialog.tsx";

/** What stands in place of the name of a person who was forgotten; nothing is left to change of such an account. */
const erased = "erased";

type Task = { kind: "open" } | { kind: "change" | "password" | "forget"; person: Account };

/** The people of the shop; an administrator opens, changes and closes their accounts here. */
export function PeoplePage() {
  const [search, change] = useSearchText();
  const mayManage = useMay("person.manage");
  const self = useAccount();
  const [task, setTask] = useState<Task | null>(null);
  const role = roles.find((one) => one === search.role);
  const end = () => setTask(null);
  const deeds: Column<Account>[] = mayManage
    ? [
        {
          heading: "Account",
          cell: (person) =>
            person.name === erased ? null : (
              <div className="row">
                <Button kind="quiet" onClick={() => setTask({ kind: "change", person })}>
                  Change<span className="visually-hidden"> {person.name}</span>
                </Button>
                <Button kind="quiet" onClick={() => setTask({ kind: "password", person })}>
                  New password<span className="visually-hidden"> for {person.name}</span>
                </Button>
                {person.active || person.id === self.id ? null : (
                  <Button kind="quiet" onClick={() => setTask({ kind: "forget", person })}>
                    Forget<span className="visually-hidden"> {person.name}</span>
                  </Button>
                )}
              </div>
            ),
        },
      ]
    : [];
  return (
    <div className="stack">
      <PageHeader
        title="People"
        actions={
          mayManage ? <Button onClick={() => setTask({ kind: "open" })}>Open an account</Button> : undefined
        }
      />
      <div className="row-fields">
        <Select
          label="Role"
          value={role ?? ""}
          onChange={(next) => change({ role: next })}
          placeholder="Any role"
          options={roles.map((one) => ({ value: one, label: roleNames[one] }))}
        />
      </div>
      <PagedTable
        operation={listPeople}
        input={{ query: { role } }}
        caption="People of the shop"
        noun={["person", "people"]}
        rowKey={(person) => person.id}
        isQuiet={(person) => !person.active}
        columns={[
          { heading: "Person", isRowHeader: true, cell: (person) => person.name },
          { heading: "Role", cell: (person) => roleNames[person.role], isNowrap: true },
          { heading: "Sign-in name", cell: (person) => <code>{person.username}</code>, isMediumHidden: true },
          {
            heading: "State",
            cell: (person) =>
              person.active ? (
                <StatusMark tone="good">active</StatusMark>
              ) : (
                <StatusMark tone="neutral">closed</StatusMark>
              ),
          },
          {
            heading: "Signing PIN",
            cell: (person) => (person.hasPin ? "set" : "not set"),
            isMediumHidden: true,
          },
          ...deeds,
        ]}
        empty={<Empty title="Nobody has this role." />}
      />
      {task === null ? null : task.kind === "open" ? (
        <OpenAccountDialog onDone={end} />
      ) : task.kind === "change" ? (
        <ChangePersonDialog person={task.person} onDone={end} />
      ) : task.kind === "password" ? (
        <ResetPasswordDialog person={task.person} onDone={end} />
      ) : (
        <ForgetPersonDialog person={task.person} onDone={end} />
      )}
    </div>
  );
}
