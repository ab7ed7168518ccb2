import { lotKindNames } from "@sealbook/contract/lot-terms";
import type { Lot } from "@sealbook/contract/sampling";
import { Link } from "@tanstack/react-router";
import { useEffect, useRef, useState } from "react";
import { useMay } from "../../api/use-may.ts";
import { Button } from "../../ui/button.tsx";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { EntriesLink } from "../entries-link.tsx";
import { lotPath } from "./lot-path.ts";
import { LotStateMark } from "./lot-state-mark.tsx";
import { OutcomeMark } from "./outcome-mark.tsx";
import { presentStep } from "./present-step.ts";
import { WithdrawLotDialog } from "./withdraw-lot-dialog.tsx";

/** The heading of a lot's page: what it is, where it stands, and what it has to do with other lots. */
export function LotHeader({ lot }: { lot: Lot }) {
  const mayWithdraw = useMay("sampling.run") && ["forming", "planned", "listed"].includes(lot.state);
  const step = presentStep(lot);
  const [isWithdrawing, setIsWithdrawing] = useState(false);
  const shown = useRef(lot.state);
  const stepNumber = step?.number;
  useEffect(() => {
    if (shown.current === lot.state) return;
    shown.current = lot.state;
    // The form of the step that was done is gone, and the focus with it: it goes on at the step that comes next.
    if (stepNumber !== undefined && document.activeElement === document.body) goToStep(stepNumber);
  }, [lot.state, stepNumber]);
  return (
    <>
      <PageHeader
        title={`${lotKindNames[lot.kind]} ${lot.number}`}
        note={
          <span className="row">
            <span>{lot.title}</span>
            <LotStateMark state={lot.state} />
            {lot.outcome === null ? null : <OutcomeMark outcome={lot.outcome} />}
          </span>
        }
        actions={
          <>
            {step === null ? null : (
              <a
                href={`#step-${step.number}`}
                onClick={(event) => {
                  event.preventDefault();
                  goToStep(step.number);
                }}
              >
                Next, step {step.number}: {step.title}
              </a>
            )}
            <EntriesLink subjectId={lot.id} />
            {mayWithdraw ? (
              <Button kind="danger" onClick={() => setIsWithdrawing(true)}>
                Give the lot up
              </Button>
            ) : null}
          </>
        }
      />
      {lot.resubmitsId === null ? null : (
        <Notice>
          <p>
            Screened and resubmitted: it goes back to{" "}
            <Link to={lotPath({ id: lot.resubmitsId, kind: lot.kind })}>the lot that was not accepted</Link>{" "}
            and does not count for switching.
          </p>
        </Notice>
      )}
      {lot.resubmittedById === null ? null : (
        <Notice>
          <p>
            What screening left of it was resubmitted as{" "}
            <Link to={lotPath({ id: lot.resubmittedById, kind: lot.kind })}>another lot</Link>.
          </p>
        </Notice>
      )}
      {isWithdrawing ? <WithdrawLotDialog lot={lot} onDone={() => setIsWithdrawing(false)} /> : null}
    </>
  );
}

function goToStep(number: number) {
  const target = document.getElementById(`step-${number}`);
  target?.scrollIntoView();
  target?.focus({ preventScroll: true });
}
