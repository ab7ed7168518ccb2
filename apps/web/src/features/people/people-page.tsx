import { listPeople } from "@sealbook/contract/people";
import { roleNames, roles } from "@sealbook/contract/permissions";
import { Link } from "@tanstack/react-router";
import { useState } from "react";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
import { Button } from "../../ui/button.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Select } from "../../ui/select.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { ForgetCalibratorDialog } from "./forget-calibrator-dialog.tsx";
import { OpenAccountDialog } from "./open-account-dialog.tsx";
import { PersonStateMark } from "./person-state-mark.tsx";
import { placesText } from "./places-text.ts";

type Task = "open" | "forget-calibrator";

/** The people of the shop; an administrator opens, changes and closes their accounts here. */
export function PeoplePage() {
  const [search, change] = useSearchText();
  const mayManage = useMay("person.manage");
  const [task, setTask] = useState<Task | null>(null);
  const role = roles.find((one) => one === search.role);
  const end = () => setTask(null);
  return (
    <div className="stack">
      <PageHeader
        title="People"
        actions={
          mayManage ? (
            <>
              <Button onClick={() => setTask("forget-calibrator")}>Forget a calibrator</Button>
              <Button kind="primary" onClick={() => setTask("open")}>
                Open an account
              </Button>
            </>
          ) : undefined
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
          {
            heading: "Person",
            isRowHeader: true,
            cell: (person) => <Link to={paths.person(person.id)}>{person.name}</Link>,
          },
          { heading: "Role", cell: (person) => roleNames[person.role], isNowrap: true },
          { heading: "Sign-in name", cell: (person) => <code>{person.username}</code>, isMediumHidden: true },
          {
            heading: "State",
            cell: (person) => <PersonStateMark person={person} />,
          },
          { heading: "Places", cell: placesText, isNarrowHidden: true },
          {
            heading: "Signing PIN",
            cell: (person) => (person.hasPin ? "set" : "not set"),
            isMediumHidden: true,
          },
        ]}
        empty={<Empty title="Nobody has this role." />}
      />
      {task === "open" ? <OpenAccountDialog onDone={end} /> : null}
      {task === "forget-calibrator" ? <ForgetCalibratorDialog onDone={end} /> : null}
    </div>
  );
}
