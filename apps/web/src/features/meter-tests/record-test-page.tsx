import { prepareMeterTest, recordMeterTest, type TestPreparation } from "@sealbook/contract/meter-tests";
import { meterStateNames } from "@sealbook/contract/meters";
import { useQueryClient, useSuspenseQuery } from "@tanstack/react-query";
import { Link, useNavigate } from "@tanstack/react-router";
import { useEffect, useMemo, useRef, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { operationOptions } from "../../api/operation-options.ts";
import { useShop } from "../../api/use-shop.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { placeName } from "../../trade/place-name.ts";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { useHotkey } from "../../ui/use-hotkey.ts";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { DatedNote } from "./dated-note.tsx";
import { DraftNote } from "./draft-note.tsx";
import { enterMovesOn } from "./enter-moves-on.ts";
import { keepHabits, readHabits } from "./habits.ts";
import { LastTest } from "./last-test.tsx";
import { meterLine } from "./meter-line.ts";
import { focusFirstOpen } from "./move-on.ts";
import { newTestForm } from "./new-test-form.ts";
import { reasonsOf } from "./reasons-of.ts";
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

/** Logs a test of one meter, all on one screen. */
export function RecordTestPage() {
  const meterId = useRouteParam("meterId");
  const { data } = useSuspenseQuery({
    ...operationOptions(prepareMeterTest, { params: { id: meterId }, query: {} }),
    // The form stands on what was fetched when it opened; the service judges again when it is saved.
    refetchOnWindowFocus: false,
    refetchOnReconnect: false,
    gcTime: 0,
  });
  return <RecordTest key={meterId} preparation={data} />;
}

function RecordTest({ preparation }: { preparation: TestPreparation }) {
  const { meter, plan, openWork } = preparation;
  const { timeZone, today } = useShop();
  const navigate = useNavigate();
  const queryClient = useQueryClient();
  const sheet = useRef<HTMLFormElement>(null);
  const [habits] = useState(() => readHabits(localStorage));
  const [pin, setPin] = useState("");
  const draft = useTestDraft(meter.id, plan.id, () =>
    newTestForm(preparation, habits, { id: newId(), now: new Date().toISOString(), timeZone, today }),
  );
  const { form } = draft;
  const [openedOn] = useState(today);
  const dated = useDatedPreparation(form, { opened: preparation, openedOn });
  const { judgedBy } = dated;
  const subject = useMemo(() => subjectOf(preparation, judgedBy), [preparation, judgedBy]);
  const submission = useSubmission(recordMeterTest, { touches: ["meters", "workItems"] });
  const errors = useFormErrors(submission);
  const unusual = useUnusual(form, subject);
  const { leaveDialog, release } = useLeaveGuard(draft.isDirty);

  const focusOpen = () => {
    if (sheet.current !== null) focusFirstOpen(sheet.current);
  };
  useEffect(focusOpen, []);

  const save = async (isSigned: boolean) => {
    if (submission.pending) return;
    const reasons = reasonsOf(form, openWork);
    const made = testBody(form, { meterId: meter.id, planId: plan.id, reasons, timeZone, plan: plan.body });
    const { outcome } = made.body;
    if (outcome.kind === "withdrawn") throw new RangeError("a test that is not recorded cannot be withdrawn");
    if (errors.refuseOpen(made, isSigned ? pin : null, unusual.ask())) return;
    const saved = await submission.submit({
      body: { ...made.body, ...unusual.answer(), outcome, signature: isSigned ? { pin } : null },
    });
    if (saved === null) return;
    const first = form.asFound.points[0]?.runs[0];
    keepHabits(localStorage, {
      standardId: form.standardId === "" ? habits.standardId : form.standardId,
      errorAppliedByBench:
        form.standardId === "" || form.errorAppliedByBench === ""
          ? habits.errorAppliedByBench
          : { ...habits.errorAppliedByBench, [form.standardId]: form.errorAppliedByBench },
      entryKind: first?.kind ?? habits.entryKind,
      reasons: openWork.length === 0 ? form.reasons : habits.reasons,
    });
    queryClient.setQueryData(["meterTests", "meterTests.get", { id: saved.id }, null], saved);
    draft.drop();
    release();
    await navigate({ to: paths.log(), search: { saved: saved.id } });
  };
  useHotkey("Control+Enter", () => void save(true));
  useHotkey("Alt+s", () => void save(false));

  return (
    <form
      ref={sheet}
      className="stack test-sheet"
      onSubmit={(event) => event.preventDefault()}
      onKeyDown={(event) => enterMovesOn(event, event.currentTarget)}
    >
      <PageHeader
        title={`Test of meter ${meter.utilityNumber}`}
        note={
          <>
            {meterLine(meter.type)}
            <br />
            Serial {meter.serial} · {meterStateNames[meter.state]}, {placeName(meter.place)} · plan{" "}
            {plan.code} revision {plan.revision} · {judgedBy.profile.title}, version{" "}
            {judgedBy.profile.version}
          </>
        }
        actions={<Link to={paths.meter(meter.id)}>Meter’s page</Link>}
      />
      <LastTest test={preparation.lastTest} />
      {draft.isRestored ? <RestoredNote onStartAfresh={draft.startAfresh} /> : null}
      <TestErrors submission={submission} lines={errors.lines} points={plan.body.points} testId={form.id} />
      <DatedNote dated={dated} />
      <TestSheet
        form={form}
        setForm={draft.setForm}
        subject={subject}
        outcomes={["tested", "no-test-possible"]}
        hasCaution
        standardHabit={(standardId) => habits.errorAppliedByBench[standardId] ?? ""}
        onAnsweredByKey={() => setTimeout(focusOpen)}
        errorAt={errors.errorAt}
      />
      <UnusualQuestion unusual={unusual} error={errors.errorAt("/confirmedUnusual")} />
      <Panel title="Sign">
        <SignFields
          pin={pin}
          onPin={setPin}
          error={errors.errorAt("/signature/pin")}
          pending={submission.pending}
          onSave={(isSigned) => void save(isSigned)}
        />
        <DraftNote />
      </Panel>
      {leaveDialog}
    </form>
  );
}

function subjectOf(
  { meter, plan, openWork }: TestPreparation,
  { rules, standards }: DatedPreparation["judgedBy"],
): TestSubject {
  return { meterId: meter.id, nameplate: meter.type, plan, rules, standards, openWork };
}
