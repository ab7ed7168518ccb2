import "./test-sheet.css";
import { listMeterTests, signMeterTests } from "@sealbook/contract/meter-tests";
import { useInfiniteQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { useState } from "react";
import { newId } from "../../api/new-id.ts";
import { pagesOptions } from "../../api/operation-options.ts";
import { useAccount } from "../../api/use-account.ts";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { testColumns } from "../../trade/test-columns.tsx";
import { Button } from "../../ui/button.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { Checkbox } from "../../ui/checkbox.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { Empty } from "../../ui/empty.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { KeyHint } from "../../ui/key-hint.tsx";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Pager } from "../../ui/pager.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { useHotkey } from "../../ui/use-hotkey.ts";
import { Waiting } from "../../ui/waiting.tsx";

const columns = testColumns({ hasMeter: true });

/** As many as one signature may cover. */
const mostAtOnce = 200;

/** More than this is not looked through at a glance: then each test is chosen by hand, or all of them on purpose. */
const mostPreselected = 20;

/** One's own tests that wait for a signature: choose them, type the PIN once. */
export function TrayPage() {
  const maySign = useMay("meterTest.sign");
  return (
    <div className="stack">
      <PageHeader title="Tray to sign" note="Your own tests that wait for your signature, newest first." />
      {maySign ? <Tray /> : <Empty title="Your role signs no tests." />}
    </div>
  );
}

function Tray() {
  const account = useAccount();
  const list = useInfiniteQuery(
    pagesOptions(listMeterTests, { query: { unsignedByMe: "true", limit: mostAtOnce } }),
  );
  /** Null until something is ticked by hand. */
  const [ticked, setTicked] = useState<readonly string[] | null>(null);
  const [pin, setPin] = useState("");
  const [key, setKey] = useState(newId);
  const [signed, setSigned] = useState(0);
  const submission = useSubmission(signMeterTests);
  const rows = list.data?.pages.flatMap((page) => page.rows) ?? [];
  const chosenIds = ticked ?? (rows.length > mostPreselected ? [] : rows.map((row) => row.id));
  const chosen = rows.filter((row) => chosenIds.includes(row.id)).slice(0, mostAtOnce);
  const isAll = rows.length > 0 && rows.every((row) => chosenIds.includes(row.id));
  const withdrawn = chosen.filter((row) => row.asFound === "withdrawn").length;
  const failed = chosen.filter((row) => row.asFound === "fail").length;

  const sign = async () => {
    if (submission.pending) return;
    if (chosen.length === 0) {
      submission.refuse([{ pointer: "/testIds", detail: "Choose at least one test." }]);
      return;
    }
    const reply = await submission.submit({ body: { testIds: chosen.map((row) => row.id), pin }, key });
    if (reply === null) return;
    setKey(newId());
    setSigned(reply.signed);
    setPin("");
    setTicked(null);
  };
  // Another choice or another PIN is another intent; the same one keeps its key, so that a retry signs nothing twice.
  const choose = (next: readonly string[]) => {
    setTicked(next);
    setKey(newId());
  };
  const toggleAll = () => choose(isAll ? [] : rows.map((row) => row.id));
  useHotkey("Alt+a", toggleAll);
  useHotkey("Control+Enter", () => void sign());

  if (list.data === undefined) {
    if (list.error !== null) return <ProblemNotice error={list.error} onRetry={() => void list.refetch()} />;
    return <Waiting what="your tray" />;
  }
  if (rows.length === 0) {
    return (
      <>
        {signed === 0 ? null : <SignedNotice count={signed} />}
        <Empty title="Your tray is empty: everything you tested is signed.">
          <ButtonLink to={paths.log()}>Log a test</ButtonLink>
        </Empty>
      </>
    );
  }
  return (
    <form className="stack" onSubmit={(event) => event.preventDefault()}>
      {signed === 0 ? null : <SignedNotice count={signed} />}
      <SubmissionSummary submission={submission} names={{ "/pin": "PIN", "/testIds": "Tests" }} />
      <Checkbox isSelected={isAll} onChange={toggleAll} id={fieldId("/testIds")}>
        All {rows.length} {list.hasNextPage ? "shown" : ""} <KeyHint keys="Alt+A" />
      </Checkbox>
      <DataTable
        caption="Tests that wait for your signature"
        rows={rows}
        rowKey={(row) => row.id}
        columns={[
          {
            heading: "Sign",
            cell: (row) => (
              <Checkbox
                isSelected={chosenIds.includes(row.id)}
                onChange={(isChosen) =>
                  choose(isChosen ? [...chosenIds, row.id] : chosenIds.filter((id) => id !== row.id))
                }
              >
                <span className="visually-hidden">Sign the test of meter {row.utilityNumber}</span>
              </Checkbox>
            ),
          },
          ...columns.filter(({ heading }) => heading !== "Tester"),
        ]}
      />
      <Pager
        shown={rows.length}
        noun={["test", "tests"]}
        hasMore={list.hasNextPage}
        isFetching={list.isFetchingNextPage}
        onMore={() => void list.fetchNextPage()}
      />
      {failed === 0 ? null : (
        <p>
          <StatusMark tone="bad">
            {failed} of the {chosen.length} chosen {failed === 1 ? "was" : "were"} outside limits as found
          </StatusMark>
        </p>
      )}
      {withdrawn === 0 ? null : (
        <p>
          {withdrawn} of the {chosen.length} chosen {withdrawn === 1 ? "withdraws a test" : "withdraw tests"}:
          your signature confirms the withdrawal, not a test.
        </p>
      )}
      {account.hasPin ? (
        <div className="sign-row">
          <TextField
            label={`PIN of ${account.name}`}
            type="password"
            inputMode="numeric"
            id={fieldId("/pin")}
            value={pin}
            onChange={(text) => {
              setPin(text.trim());
              setKey(newId());
            }}
            maxLength={8}
            error={submission.errorAt("/pin")}
            onKeyDown={(event) => {
              if (event.key !== "Enter" || event.ctrlKey) return;
              event.preventDefault();
              void sign();
            }}
          />
          <div>
            <Button kind="primary" isPending={submission.pending} onClick={() => void sign()}>
              {submission.pending
                ? "Signing"
                : `Sign ${chosen.length} ${chosen.length === 1 ? "test" : "tests"}`}{" "}
              <KeyHint keys="Ctrl+Enter" />
            </Button>
          </div>
        </div>
      ) : (
        <Notice tone="warn">
          <p>
            You have no signing PIN yet. Set one under <Link to={paths.account()}>your name</Link>.
          </p>
        </Notice>
      )}
    </form>
  );
}

function SignedNotice({ count }: { count: number }) {
  return (
    <Notice isAnnounced>
      <p>
        {count} {count === 1 ? "test" : "tests"} signed.
      </p>
    </Notice>
  );
}
