import "./sign-in-page.css";
import { getWelcome, openSession } from "@sealbook/contract/people";
import { roleNames } from "@sealbook/contract/permissions";
import { useQuery, useQueryClient } from "@tanstack/react-query";
import { useNavigate } from "@tanstack/react-router";
import { type FormEvent, useEffect, useRef, useState } from "react";
import { operationOptions } from "../api/operation-options.ts";
import { sessionOptions } from "../api/session-options.ts";
import { useSubmission } from "../api/use-submission.ts";
import { paths } from "../paths.ts";
import { ProblemNotice } from "../trade/problem-notice.tsx";
import { SubmissionSummary } from "../trade/submission-summary.tsx";
import { Button } from "../ui/button.tsx";
import { DataTable } from "../ui/data-table.tsx";
import { fieldId } from "../ui/field-id.ts";
import { TextField } from "../ui/text-field.tsx";
import { useDocumentTitle } from "../ui/use-document-title.ts";
import { useSearchText } from "../ui/use-search-text.ts";

const names = { "/username": "Name", "/password": "Password" };

/** The door: name and password, and in the demo the sign-ins to try it with. */
export function SignInPage() {
  useDocumentTitle("Sign in");
  const welcome = useQuery(operationOptions(getWelcome, {}));
  const submission = useSubmission(openSession);
  const queryClient = useQueryClient();
  const navigate = useNavigate();
  const [search] = useSearchText();
  const [username, setUsername] = useState("");
  const [password, setPassword] = useState("");
  const passwordInput = useRef<HTMLInputElement>(null);
  const isRefused = submission.problem?.slug === "sign-in-refused";
  // The summary above has taken the focus; a wrong password is most often typed once more.
  useEffect(() => {
    if (!isRefused || submission.pending) return;
    passwordInput.current?.focus();
    passwordInput.current?.select();
  }, [isRefused, submission.pending]);
  const signIn = async (as: { username: string; password: string }) => {
    const session = await submission.submit({ body: as });
    if (session === null) return;
    // Nothing that the person before has seen may stay.
    queryClient.clear();
    queryClient.setQueryData(sessionOptions.queryKey, session);
    await navigate({ href: ownAddress(search.from) });
  };
  const submit = (event: FormEvent) => {
    event.preventDefault();
    void signIn({ username: username.trim(), password });
  };
  return (
    <main className="sign-in">
      <div>
        <h1>Sealbook</h1>
        <p className="quiet">
          {welcome.data === undefined
            ? "The meter shop's book of record"
            : `The meter shop's book of record · ${welcome.data.shopName}`}
        </p>
      </div>
      {welcome.error === null ? null : (
        <ProblemNotice error={welcome.error} onRetry={() => void welcome.refetch()} />
      )}
      <form className="stack" onSubmit={submit} aria-label="Sign in">
        <SubmissionSummary submission={submission} names={names} />
        <TextField
          label="Name"
          autoComplete="username"
          autoFocus
          id={fieldId("/username")}
          value={username}
          onChange={setUsername}
          error={submission.errorAt("/username")}
        />
        <TextField
          label="Password"
          type="password"
          autoComplete="current-password"
          id={fieldId("/password")}
          inputRef={passwordInput}
          value={password}
          onChange={setPassword}
          error={submission.errorAt("/password")}
        />
        <div>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            {submission.pending ? "Signing in" : "Sign in"}
          </Button>
        </div>
      </form>
      {welcome.data === undefined || welcome.data.demo.length === 0 ? null : (
        <div className="stack-tight">
          <h2>Sign-ins of the demo shop</h2>
          <p className="quiet">An invented shop with invented people. Choose whose day to look at.</p>
          <DataTable
            caption="Sign-ins of the demo shop"
            rows={welcome.data.demo}
            rowKey={(one) => one.username}
            columns={[
              { heading: "Person", isRowHeader: true, cell: (one) => one.name, isNowrap: true },
              { heading: "Role", cell: (one) => roleNames[one.role], isNowrap: true },
              { heading: "Name", cell: (one) => <code>{one.username}</code>, isNarrowHidden: true },
              {
                heading: "Password",
                cell: (one) => <code>{one.password}</code>,
                isNarrowHidden: true,
                isNowrap: true,
              },
              { heading: "Signing PIN", cell: (one) => <code>{one.pin}</code>, isNarrowHidden: true },
              {
                heading: "Open the book",
                cell: (one) => (
                  <Button
                    kind="quiet"
                    onClick={() => void signIn({ username: one.username, password: one.password })}
                    isPending={submission.pending}
                  >
                    Sign in<span className="visually-hidden"> as {one.name}</span>
                  </Button>
                ),
              },
            ]}
          />
        </div>
      )}
    </main>
  );
}

/** Where to go after signing in: an address of this client only. */
function ownAddress(from: string | undefined): string {
  return from !== undefined && /^\/(?![/\\])/.test(from) && !from.startsWith(paths.signIn())
    ? from
    : paths.home();
}
