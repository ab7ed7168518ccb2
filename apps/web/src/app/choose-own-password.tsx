import { useAccount } from "../api/use-account.ts";
import { PasswordForm } from "../features/people/password-form.tsx";
import { PageHeader } from "../ui/page-header.tsx";
import { Panel } from "../ui/panel.tsx";

/** What somebody sees whose password was given by somebody else: the book opens once they have chosen their own. */
export function ChooseOwnPassword() {
  const { name } = useAccount();
  return (
    <div className="stack">
      <PageHeader title="Choose your own password" note={`Welcome, ${name}`} />
      <Panel title="Password">
        <p>
          The password that you signed in with was given to you and opens nothing else. Choose one that only
          you know: a phrase of a few words is good.
        </p>
        <PasswordForm />
      </Panel>
    </div>
  );
}
