import "./test-sheet.css";
import { useMemo } from "react";
import { Panel } from "../../ui/panel.tsx";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { Select } from "../../ui/select.tsx";
import { useHotkey } from "../../ui/use-hotkey.ts";
import { AsLeftFields } from "./as-left-fields.tsx";
import { AskedFields } from "./asked-fields.tsx";
import { evaluateForm } from "./evaluate-form.ts";
import { FinishingFields } from "./finishing-fields.tsx";
import { judgeForm } from "./judge-form.ts";
import { judgingContext } from "./judging-context.ts";
import { KeyLegend } from "./key-legend.tsx";
import { withEntryKind, withRunField } from "./pass-form.ts";
import { PassGrounds } from "./pass-grounds.tsx";
import { PassTable } from "./pass-table.tsx";
import { PassVerdict } from "./pass-verdict.tsx";
import { SafetyCaution } from "./safety-caution.tsx";
import { SetupFields } from "./setup-fields.tsx";
import {
  type EntryKind,
  entryKinds,
  type FormPass,
  type PassForm,
  type RunField,
  type TestForm,
} from "./test-form.ts";
import type { TestSubject } from "./test-subject.ts";
import { UntestableFields } from "./untestable-fields.tsx";

const entryKindNames: Record<EntryKind, string> = {
  counts: "Counts and energy",
  revolutions: "Counts and standard’s revolutions",
  registration: "Registration as displayed",
};

const outcomeNames: Record<TestForm["outcome"], string> = {
  tested: "Tested",
  "no-test-possible": "No test possible",
  withdrawn: "Withdraw the record",
};

/** Everything that is entered about one test, judged as it is typed: for a new test and for an amendment. */
export function TestSheet({
  form,
  setForm,
  subject,
  outcomes,
  hasCaution,
  standardHabit,
  onAnsweredByKey,
  errorAt,
}: {
  form: TestForm;
  setForm: (change: (now: TestForm) => TestForm) => void;
  subject: TestSubject;
  /** Results to choose from. */
  outcomes: readonly TestForm["outcome"][];
  /** Whether the caution stands where the plan applies voltage: not over a record that is only corrected. */
  hasCaution: boolean;
  /** What was last said about the bench's correction with a standard. */
  standardHabit: (standardId: string) => TestForm["errorAppliedByBench"];
  /** A key has answered for several fields: the keyboard goes on to the next open one. */
  onAnsweredByKey: () => void;
  errorAt: (pointer: string) => string | undefined;
}) {
  const { body } = subject.plan;
  const change = (changes: Partial<TestForm>) => setForm((now) => ({ ...now, ...changes }));
  const setField = (pass: FormPass) => (pointKey: string, runIndex: number, field: RunField, text: string) =>
    setForm((now) => ({ ...now, [pass]: withRunField(now[pass], pointKey, runIndex, field, text) }));
  const setPass = (pass: FormPass) => (change: (now: PassForm) => PassForm) =>
    setForm((now) => ({ ...now, [pass]: change(now[pass]) }));
  const setKind = (kind: EntryKind) =>
    setForm((now) => ({
      ...now,
      asFound: withEntryKind(now.asFound, kind),
      asLeftPass: withEntryKind(now.asLeftPass, kind),
    }));
  const { asFound, unjudged, asLeft } = useEvaluations(form, subject);
  const isTested = form.outcome === "tested";

  useHotkey("Alt+p", () => change({ preconditionsConfirmed: body.preconditions }));
  useHotkey("Alt+c", () =>
    setForm((now) =>
      // Once it is answered as found, the key answers it as left.
      now.asLeft === "entered" && now.asFound.creep === "none"
        ? { ...now, asLeftPass: { ...now.asLeftPass, creep: "none" } }
        : { ...now, asFound: { ...now.asFound, creep: "none" } },
    ),
  );
  useHotkey("Alt+l", () => {
    change({ outcome: "tested", asLeft: "same" });
    onAnsweredByKey();
  });
  useHotkey("Alt+a", () => {
    change({ outcome: "tested", asLeft: "entered" });
    onAnsweredByKey();
  });
  useHotkey("Alt+n", () => {
    change({ outcome: isTested ? "no-test-possible" : "tested" });
    onAnsweredByKey();
  });

  return (
    <>
      {hasCaution && body.appliesVoltage && isTested ? <SafetyCaution /> : null}
      <KeyLegend />
      <SetupFields
        form={form}
        subject={subject}
        onChange={change}
        onStandard={(standardId) => change({ standardId, errorAppliedByBench: standardHabit(standardId) })}
        errorAt={errorAt}
      >
        <RadioGroup
          label="Result"
          value={form.outcome}
          onChange={(outcome) => change({ outcome })}
          options={outcomes.map((outcome) => ({ value: outcome, label: outcomeNames[outcome] }))}
        />
        {isTested ? (
          <Select
            label="Entered as"
            value={form.asFound.points[0]?.runs[0]?.kind ?? "counts"}
            onChange={(kind) => setKind(kind === "" ? "counts" : kind)}
            options={entryKinds.map((kind) => ({ value: kind, label: entryKindNames[kind] }))}
          />
        ) : null}
      </SetupFields>
      {form.outcome === "no-test-possible" ? (
        <Panel title="No test possible">
          <UntestableFields form={form} onChange={change} errorAt={errorAt} />
        </Panel>
      ) : null}
      {isTested ? (
        <>
          <Panel title="As found" actions={<PassVerdict evaluation={asFound} />}>
            <PassTable
              pass="asFound"
              form={form.asFound}
              points={body.points}
              nameplate={subject.nameplate}
              evaluation={asFound}
              unjudged={unjudged}
              onField={setField("asFound")}
              errorAt={errorAt}
            />
            {form.standardId === "" || form.errorAppliedByBench === "" ? (
              <p className="small">
                The standard’s own error is not in these figures yet: choose the standard and say whether the
                bench has applied its error.
              </p>
            ) : null}
            {asFound === null || asFound.verdict === "pass" ? null : <PassGrounds evaluation={asFound} />}
            <AskedFields
              pass="asFound"
              form={form.asFound}
              asks={body}
              evaluation={asFound}
              onChange={setPass("asFound")}
              errorAt={errorAt}
            />
          </Panel>
          <Panel title="As left">
            <AsLeftFields
              form={form}
              subject={subject}
              evaluation={asLeft}
              onChange={change}
              onField={setField("asLeftPass")}
              onPass={setPass("asLeftPass")}
              errorAt={errorAt}
            />
          </Panel>
        </>
      ) : null}
      {form.outcome === "withdrawn" ? null : (
        <Panel title="Readings, seals, papers">
          <FinishingFields
            form={form}
            onChange={change}
            onFile={(file) => setForm((now) => ({ ...now, files: [...now.files, file] }))}
            errorAt={errorAt}
          />
        </Panel>
      )}
    </>
  );
}

function useEvaluations(form: TestForm, subject: TestSubject) {
  return useMemo(() => {
    const context = judgingContext(form, subject);
    return {
      asFound: judgeForm(form, "asFound", context),
      // What does not depend on the reason; its limits and verdicts are shown nowhere.
      unjudged: evaluateForm(form, "asFound", context, "in-service"),
      asLeft: form.asLeft === "entered" ? judgeForm(form, "asLeftPass", context) : null,
    };
  }, [form, subject]);
}
