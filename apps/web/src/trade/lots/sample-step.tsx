import { type DrawEvent, type DrawUnit, listDrawUnits, recordDrawEvents } from "@sealbook/contract/follow-up";
import type { Lot } from "@sealbook/contract/sampling";
import type { AbsenceReason } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { useQuery } from "@tanstack/react-query";
import { type KeyboardEvent, useEffect, useRef, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { operationOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { Button } from "../../ui/button.tsx";
import { Empty } from "../../ui/empty.tsx";
import { KeyHint } from "../../ui/key-hint.tsx";
import { Notice } from "../../ui/notice.tsx";
import { Waiting } from "../../ui/waiting.tsx";
import { ProblemNotice } from "../problem-notice.tsx";
import { SubmissionSummary } from "../submission-summary.tsx";
import { FollowUpDialog } from "./follow-up-dialog.tsx";
import { canFollowUp, type FollowUpKind, followUps, rowAfterKey } from "./follow-up-keys.ts";
import { LotStep } from "./lot-step.tsx";
import { SampleTable, type ShownLoad } from "./sample-table.tsx";
import { TakeBackDialog } from "./take-back-dialog.tsx";
import { useRefreshOnClash } from "./use-refresh-on-clash.ts";

/** Results arrive from the bench while the page stands open. */
const pollMilliseconds = 15_000;

/** The sample: followed up until each place has a result. */
export function SampleStep({ lot, number }: { lot: Lot; number: number }) {
  const isDrawn = lot.lists.at(-1)?.draw != null;
  const units = useQuery({
    ...operationOptions(listDrawUnits, { params: { id: lot.id } }),
    enabled: isDrawn,
    refetchInterval: lot.state === "drawn" ? pollMilliseconds : false,
  });
  return (
    <LotStep number={number} title="Sample" isAhead={!isDrawn}>
      {!isDrawn ? (
        <Empty title="The sample is known once it is drawn." />
      ) : units.data !== undefined ? (
        <>
          {units.error === null ? null : (
            <ProblemNotice error={units.error} onRetry={() => void units.refetch()} />
          )}
          <Sample lot={lot} units={units.data.rows} />
        </>
      ) : units.error !== null ? (
        <ProblemNotice error={units.error} onRetry={() => void units.refetch()} />
      ) : (
        <Waiting what="the sample" />
      )}
    </LotStep>
  );
}

function Sample({ lot, units }: { lot: Lot; units: readonly DrawUnit[] }) {
  const mayFollow = useMay("sampling.follow") && lot.state === "drawn";
  const mayLog = useMay("meterTest.record") && lot.state === "drawn";
  const [chosen, setChosen] = useState<ReadonlySet<number>>(new Set());
  const [asked, setAsked] = useState<{
    kind: FollowUpKind;
    label: string;
    units: readonly DrawUnit[];
  } | null>(null);
  const [takenBack, setTakenBack] = useState<{ unit: DrawUnit; event: DrawEvent } | null>(null);
  const [said, setSaid] = useState("");
  const submission = useSubmission(recordDrawEvents, { touches: ["groups", "workItems"] });
  useRefreshOnClash(submission.problem);
  const table = useRef<HTMLDivElement>(null);
  const lastRow = useRef<number | null>(null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: rows that change are what takes a tick, and its focus, away.
  useEffect(() => {
    if (lastRow.current === null || document.activeElement !== document.body) return;
    const ticks = [...(table.current?.querySelectorAll<HTMLInputElement>("input[data-row]") ?? [])];
    const from = lastRow.current;
    (ticks.find((tick) => Number(tick.dataset.row) >= from) ?? ticks.at(-1))?.focus();
  }, [units]);
  const open = units.filter(canFollowUp);

  const send = async (
    kind: FollowUpKind,
    about: readonly DrawUnit[],
    reason: AbsenceReason | null,
    note: string,
  ) => {
    setSaid("");
    const reply = await submission.submit({
      params: { id: lot.id },
      body: { events: about.map((unit) => ({ id: newId(), position: unit.position, kind, reason, note })) },
    });
    if (reply === null) return;
    setChosen(new Set());
    setSaid(wordsOf(about.length, reply));
  };

  const act = (kind: FollowUpKind, focused: DrawUnit | null) => {
    const about =
      chosen.size > 0 ? open.filter((unit) => chosen.has(unit.position)) : focused === null ? [] : [focused];
    const followUp = followUps.find((one) => one.kind === kind);
    if (about.length === 0 || followUp === undefined || submission.pending) return;
    if (followUp.needsReason) setAsked({ kind, label: followUp.label, units: about });
    else void send(kind, about, null, "");
  };

  const handleKey = (event: KeyboardEvent<HTMLInputElement>, row: number) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    lastRow.current = row;
    const unit = units[row];
    const followUp = followUps.find((one) => one.key === event.key);
    if (followUp !== undefined) {
      event.preventDefault();
      act(followUp.kind, unit ?? null);
      return;
    }
    // Rows with a tick only; the others have nothing to choose.
    const rows = open.map((one) => units.indexOf(one));
    const next = rowAfterKey(event.key, rows.indexOf(row), rows.length);
    if (next === null) return;
    event.preventDefault();
    event.currentTarget
      .closest("table")
      ?.querySelector<HTMLInputElement>(`input[data-row="${rows[next]}"]`)
      ?.focus();
  };

  return (
    <>
      <SubmissionSummary submission={submission} names={{}} />
      {mayFollow && open.length > 0 ? (
        <div className="stack-tight">
          <div className="row">
            <Button
              onClick={() =>
                setChosen(
                  chosen.size === open.length ? new Set() : new Set(open.map((unit) => unit.position)),
                )
              }
            >
              {chosen.size === open.length ? "Tick none" : "Tick all"}
            </Button>
            {followUps.map((followUp) => (
              <Button
                key={followUp.kind}
                onClick={() => act(followUp.kind, null)}
                disabled={chosen.size === 0}
                isPending={submission.pending}
              >
                {followUp.label} <KeyHint keys={followUp.key.toUpperCase()} />
              </Button>
            ))}
          </div>
          <p className="quiet small">
            Space ticks a row, the arrows move between them, a letter acts on the ticked rows or on the one in
            focus. A logged test finishes its row by itself.
          </p>
        </div>
      ) : null}
      {said === "" ? null : <Notice title={said} isAnnounced />}
      <div ref={table} className="stack-tight">
        <SampleTable
          units={units}
          inService={lot.kind === "in-service"}
          loads={loadsOf(lot)}
          mayLog={mayLog}
          chosen={mayFollow ? chosen : null}
          onToggle={(position) =>
            setChosen((now) => {
              const next = new Set(now);
              if (!next.delete(position)) next.add(position);
              return next;
            })
          }
          onKey={handleKey}
          onTakeBack={mayFollow ? (unit, event) => setTakenBack({ unit, event }) : null}
        />
      </div>
      {takenBack === null ? null : (
        <TakeBackDialog
          lot={lot}
          unit={takenBack.unit}
          event={takenBack.event}
          onClose={() => setTakenBack(null)}
          onDone={() => {
            setTakenBack(null);
            setSaid(`Taken back for meter ${takenBack.unit.utilityNumber}.`);
          }}
        />
      )}
      {asked === null ? null : (
        <FollowUpDialog
          kind={asked.kind}
          label={asked.label}
          units={asked.units}
          onClose={() => setAsked(null)}
          onSay={(reason, note) => {
            setAsked(null);
            void send(asked.kind, asked.units, reason, note);
          }}
        />
      )}
    </>
  );
}

/** The loads that the scheme judges; where it judges the verdict alone, the two that every test has. */
function loadsOf(lot: Lot): ShownLoad[] {
  const judged = lot.schemeBody.characteristics.map((one) => one.characteristic);
  const loads = judged.filter((one) => one !== "verdict");
  return loads.length === 0 ? ["full-load", "light-load"] : loads;
}

function wordsOf(
  count: number,
  reply: { calledUp: readonly { utilityNumber: string }[]; withoutSpare: readonly number[] },
): string {
  const parts = [`On record for ${count} ${count === 1 ? "meter" : "meters"}.`];
  if (reply.calledUp.length > 0) {
    const numbers = reply.calledUp.map((unit) => unit.utilityNumber).join(", ");
    parts.push(`${reply.calledUp.length === 1 ? "Spare" : "Spares"} called up: ${numbers}.`);
  }
  if (reply.withoutSpare.length > 0) {
    parts.push(
      `Without a spare: ${reply.withoutSpare.length === 1 ? "place" : "places"} ${reply.withoutSpare.join(", ")}.`,
    );
  }
  return parts.join(" ");
}
