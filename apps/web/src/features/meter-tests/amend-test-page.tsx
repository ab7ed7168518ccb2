import {
  amendMeterTest,
  getMeterTest,
  type MeterTest,
  prepareMeterTest,
  type TestPreparation,
} from "@sealbook/contract/meter-tests";
import { useQueryClient, useSuspenseQuery } from "@tanstack/react-query";
import { Link, useNavigate } from "@tanstack/react-router";
import { useEffect, useMemo, useRef, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { operationOptions } from "../../api/operation-options.ts";
import { useAccount } from "../../api/use-account.ts";
import { useShop } from "../../api/use-shop.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { Button } from "../../ui/button.tsx";
import { Empty } from "../../ui/empty.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { useHotkey } from "../../ui/use-hotkey.ts";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { AmendedFirst } from "./amended-first.tsx";
import { DatedNote } from "./dated-note.tsx";
import { DraftNote } from "./draft-note.tsx";
import { enterMovesOn } from "./enter-moves-on.ts";
import { formFromTest } from "./form-from-test.ts";
import { mayAmend } from "./may-amend.ts";
import { focusFirstOpen } from "./move-on.ts";
import { RestoredNote } from "./restored-note.tsx";
import { SignFields } from "./sign-fields.tsx";
import { testBody } from "./test-body.ts";
import { TestErrors } from "./test-errors.tsx";
import { TestSheet } from "./test-sheet.tsx";
import type { TestSubject } from "./test-subject.ts";
import { UnusualQuestion } from "./unusual-question.tsx";
import { type DatedPreparation, useDatedPreparation } from "./use-dated-preparation.ts";
import { useFormErrors } from "./use-form-errors.ts";
import { useTestDraft } from "./use-test-draft.ts";
import { useUnusual } from "./use-unusual.ts";

/** Amends a test: the same sheet with everything as recorded, and a reason. The first record stays readable. */
export function AmendTestPage() {
  const testId = useRouteParam("testId");
  const account = useAccount();
  const { data: test } = useSuspenseQuery({
    ...operationOptions(getMeterTest, { params: { id: testId } }),
    refetchOnWindowFocus: false,
  });
  if (!mayAmend(account, test)) {
    return (
      <div className="stack">
        <PageHeader title={`Amend the test of meter ${test.utilityNumber}`} />
        <Empty title="A technician amends their own tests.">
          Ask a supervisor or a quality engineer to amend this one.{" "}
          <Link to={paths.test(test.id)}>Back to the test</Link>
        </Empty>
      </div>
    );
  }
  return <Prepared key={test.id} test={test} />;
}

function Prepared({ test }: { test: MeterTest }) {
  const { data: preparation } = useSuspenseQuery({
    ...operationOptions(prepareMeterTest, { params: { id: test.meterId }, query: { amends: test.id } }),
    refetchOnWindowFocus: false,
    gcTime: 0,
  });
  return <AmendTest test={test} preparation={preparation} />;
}

function AmendTest({ test, preparation }: { test: MeterTest; preparation: TestPreparation }) {
  const { timeZone } = useShop();
  const account = useAccount();
  const navigate = useNavigate();
  const queryClient = useQueryClient();
  const sheet = useRef<HTMLFormElement>(null);
  const [reason, setReason] = useState("");
  const [pin, setPin] = useState("");
  const draft = useTestDraft(test.id, test.plan.id, () => formFromTest(test, newId(), timeZone));
  const { form } = draft;
  const dated = useDatedPreparation(form, {
    opened: preparation,
    openedOn: test.performedOn,
    amends: test.id,
  });
  const { judgedBy } = dated;
  const subject = useMemo(() => subjectOf(test, preparation, judgedBy), [test, preparation, judgedBy]);
  const submission = useSubmission(amendMeterTest, { touches: ["meters", "workItems"] });
  const errors = useFormErrors(submission);
  const unusual = useUnusual(form, subject);
  const { leaveDialog, release } = useLeaveGuard(draft.isDirty || reason !== "");
  const isOwn = test.tester?.id === account.id;
  useEffect(() => document.getElementById(fieldId("/amendmentReason"))?.focus(), []);

  const save = async (isSigned: boolean) => {
    if (submission.pending) return;
    const made = testBody(form, {
      meterId: test.meterId,
      planId: test.plan.id,
      reasons: form.reasons,
      timeZone,
      plan: test.plan.body,
      amended: test,
    });
    const noReason =
      reason.trim().length < 5
        ? [{ pointer: "/amendmentReason", detail: "Say in a few words why the record is amended." }]
        : [];
    if (errors.refuseOpen(made, isSigned ? pin : null, [...noReason, ...unusual.ask()])) return;
    const saved = await submission.submit({
      params: { id: test.id },
      body: {
        ...made.body,
        ...unusual.answer(),
        amendmentReason: reason.trim(),
        signature: isSigned ? { pin } : null,
      },
    });
    if (saved === null) return;
    queryClient.setQueryData(["meterTests", "meterTests.get", { id: saved.id }, null], saved);
    draft.drop();
    release();
    await navigate({ to: paths.test(saved.id) });
  };
  useHotkey("Control+Enter", () => void save(isOwn));
  useHotkey("Alt+s", () => void save(false));

  return (
    <form
      ref={sheet}
      className="stack"
      onSubmit={(event) => event.preventDefault()}
      onKeyDown={(event) => enterMovesOn(event, event.currentTarget)}
    >
      <PageHeader
        title={`Amend the test of meter ${test.utilityNumber}`}
        note={
          <>
            Performed <LocalInstant instant={test.performedAt} /> · plan {test.plan.code} revision{" "}
            {test.plan.revision} · judged by {judgedBy.profile.title}, version {judgedBy.profile.version}
          </>
        }
        actions={<Link to={paths.test(test.id)}>Back to the test</Link>}
      />
      {test.supersededById === null ? null : (
        <Notice tone="warn" title="This record has been superseded already">
          <p>
            <Link to={paths.amendTest(test.supersededById)}>Amend the newer record instead</Link>.
          </p>
        </Notice>
      )}
      {draft.isRestored ? <RestoredNote onStartAfresh={draft.startAfresh} /> : null}
      {submission.problem?.slug === "already-amended" ? (
        <AmendedFirst detail={submission.problem.detail} current={submission.problem.current} />
      ) : (
        <TestErrors
          submission={submission}
          lines={errors.lines}
          points={test.plan.body.points}
          testId={form.id}
        />
      )}
      <TextArea
        label="Reason for the amendment"
        hint="It stands on the record for ever, beside the first one."
        id={fieldId("/amendmentReason")}
        value={reason}
        onChange={setReason}
        error={errors.errorAt("/amendmentReason")}
        rows={2}
        maxLength={500}
      />
      <DatedNote dated={dated} />
      <TestSheet
        form={form}
        setForm={draft.setForm}
        subject={subject}
        outcomes={["tested", "no-test-possible", "withdrawn"]}
        hasCaution={false}
        standardHabit={(standardId) =>
          standardId === test.standardInUse?.id && test.errorAppliedByBench !== null
            ? test.errorAppliedByBench
              ? "yes"
              : "no"
            : ""
        }
        onAnsweredByKey={() => setTimeout(() => sheet.current !== null && focusFirstOpen(sheet.current))}
        errorAt={errors.errorAt}
      />
      <UnusualQuestion unusual={unusual} error={errors.errorAt("/confirmedUnusual")} />
      <Panel title={isOwn ? "Sign" : "Save"}>
        {isOwn ? (
          <SignFields
            pin={pin}
            onPin={setPin}
            error={errors.errorAt("/signature/pin")}
            pending={submission.pending}
            isWithdrawal={form.outcome === "withdrawn"}
            onSave={(isSigned) => void save(isSigned)}
          />
        ) : (
          <>
            <p>
              {test.tester?.name ?? "The tester"} performed this test; the signature under the amended record
              is theirs to give.
            </p>
            <div className="row">
              <Button kind="primary" isPending={submission.pending} onClick={() => void save(false)}>
                {submission.pending ? "Saving" : "Save the amendment"}
              </Button>
            </div>
          </>
        )}
        <DraftNote />
      </Panel>
      {leaveDialog}
    </form>
  );
}

/**
 * The test is amended under the plan it was made under, by the version of the rules that judged it, with the calibrations
 * of its date and the type's nameplate as it stands: as the service judges it again.
 */
function subjectOf(
  test: MeterTest,
  preparation: TestPreparation,
  { rules, standards }: DatedPreparation["judgedBy"],
): TestSubject {
  return {
    meterId: test.meterId,
    nameplate: preparation.meter.type,
    plan: test.plan,
    rules,
    standards,
    openWork: [],
  };
}
