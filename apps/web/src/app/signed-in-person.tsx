import { closeSession } from "@sealbook/contract/people";
import { may, roleNames } from "@sealbook/contract/permissions";
import { useMutation } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { call } from "../api/call.ts";
import { useAccount } from "../api/use-account.ts";
import { paths } from "../paths.ts";
import { Button } from "../ui/button.tsx";

/** Who is signed in, as what, and the way out. */
export function SignedInPerson() {
  const account = useAccount();
  const leaving = useMutation({
    mutationFn: () => call(closeSession, {}),
    // The page is loaded anew, so that nothing of this person stays in memory.
    onSettled: () => window.location.assign(paths.signIn()),
  });
  return (
    <>
      <span>
        <Link to={paths.account()}>{account.name}</Link>
        <span className="quiet"> · {roleNames[account.role]}</span>
      </span>
      {account.hasPin || !may(account.role, "meterTest.sign") ? null : (
        <Link to={paths.account()}>Set your signing PIN</Link>
      )}
      <Button kind="quiet" onClick={() => leaving.mutate()} isPending={leaving.isPending}>
        Sign out
      </Button>
    </>
  );
}
