import { type Account, getPerson } from "@sealbook/contract/people";
import { roleNames } from "@sealbook/contract/permissions";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { useState } from "react";
import { operationOptions } from "../../api/operation-options.ts";
import { useAccount } from "../../api/use-account.ts";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { Button } from "../../ui/button.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { ChangePersonDialog } from "./change-person-dialog.tsx";
import { ForgetPersonDialog } from "./forget-person-dialog.tsx";
import { PersonSessions } from "./person-sessions.tsx";
import { erased, PersonStateMark } from "./person-state-mark.tsx";
import { PersonTokens } from "./person-tokens.tsx";
import { placesText } from "./places-text.ts";
import { ResetPasswordDialog } from "./reset-password-dialog.tsx";

/** One person: role, places, what they did; for an administrator their sessions and tokens, too. */
export function PersonPage() {
  const personId = useRouteParam("personId");
  const { data: person } = useSuspenseQuery(operationOptions(getPerson, { params: { id: personId } }));
  const mayManage = useMay("person.manage");
  const isForgotten = person.name === erased;
  return (
    <div className="stack">
      <PageHeader
        title={isForgotten ? "A person who was forgotten" : person.name}
        note={
          <>
            {roleNames[person.role]} · <PersonStateMark person={person} />
          </>
        }
        actions={mayManage && !isForgotten ? <Deeds person={person} /> : undefined}
      />
      <DefinitionList
        items={[
          { term: "Sign-in name", value: <code>{person.username}</code> },
          { term: "Places", value: placesText(person) },
          { term: "Signing PIN", value: person.hasPin ? "set" : "not set" },
          {
            term: "Password",
            value: person.mustChangePassword ? "to be chosen at the next sign-in" : "their own",
          },
          { term: "Account opened", value: <LocalInstant instant={person.createdAt} /> },
          {
            term: "In the ledger",
            value: (
              <>
                <Link to={paths.ledger()} search={{ actorId: person.id }}>
                  What they did
                </Link>
                {", "}
                <Link to={paths.ledger()} search={{ subjectId: person.id }}>
                  what was done to the account
                </Link>
                {person.role === "regulator" ? (
                  <>
                    {", "}
                    <Link to={paths.looks()} search={{ actorId: person.id }}>
                      what they looked at
                    </Link>
                  </>
                ) : null}
              </>
            ),
          },
        ]}
      />
      {mayManage && !isForgotten ? (
        <>
          <PersonSessions person={person} />
          <PersonTokens person={person} />
        </>
      ) : null}
    </div>
  );
}

function Deeds({ person }: { person: Account }) {
  const self = useAccount();
  const [task, setTask] = useState<"change" | "password" | "forget" | null>(null);
  const end = () => setTask(null);
  return (
    <>
      <Button onClick={() => setTask("change")}>Change</Button>
      <Button onClick={() => setTask("password")}>One-time password</Button>
      {person.active || person.id === self.id ? null : (
        <Button kind="danger" onClick={() => setTask("forget")}>
          Forget
        </Button>
      )}
      {task === "change" ? <ChangePersonDialog person={person} onDone={end} /> : null}
      {task === "password" ? <ResetPasswordDialog person={person} onDone={end} /> : null}
      {task === "forget" ? <ForgetPersonDialog person={person} onDone={end} /> : null}
    </>
  );
}
