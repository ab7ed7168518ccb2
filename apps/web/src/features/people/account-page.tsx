import { roleNames } from "@sealbook/contract/permissions";
import { Link } from "@tanstack/react-router";
import { useAccount } from "../../api/use-account.ts";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { OwnSessions } from "./own-sessions.tsx";
import { OwnTokens } from "./own-tokens.tsx";
import { PasswordForm } from "./password-form.tsx";
import { PinForm } from "./pin-form.tsx";
import { placesText } from "./places-text.ts";

/** The signed-in person's own account: signing PIN, password, sessions and API tokens. */
export function AccountPage() {
  const account = useAccount();
  const maySign = useMay("meterTest.sign");
  const mayOwnTokens = useMay("token.own");
  const mayReadLedger = useMay("ledger.read");
  return (
    <div className="stack">
      <PageHeader title={account.name} note="Your account" />
      <DefinitionList
        items={[
          { term: "Sign-in name", value: account.username },
          { term: "Role", value: roleNames[account.role] },
          { term: "Places", value: placesText(account) },
          ...(maySign ? [{ term: "Signing PIN", value: account.hasPin ? "set" : "not set yet" }] : []),
          ...(mayReadLedger
            ? [
                {
                  term: "In the ledger",
                  value: (
                    <Link to={paths.ledger()} search={{ actorId: account.id }}>
                      What you did
                    </Link>
                  ),
                },
              ]
            : []),
        ]}
      />
      <div className="columns">
        {maySign ? (
          <Panel title="Signing PIN">
            <PinForm hasPin={account.hasPin} />
          </Panel>
        ) : null}
        <Panel title="Password">
          <PasswordForm />
        </Panel>
      </div>
      <Panel title="Where you are signed in">
        <OwnSessions />
      </Panel>
      {mayOwnTokens ? <OwnTokens /> : null}
    </div>
  );
}
