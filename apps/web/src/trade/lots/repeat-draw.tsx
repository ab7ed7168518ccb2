import { listDrawUnits } from "@sealbook/contract/follow-up";
import { type DrawList, getCandidates, type Lot } from "@sealbook/contract/sampling";
import { useMutation } from "@tanstack/react-query";
import { call } from "../../api/call.ts";
import { Button } from "../../ui/button.tsx";
import { Notice } from "../../ui/notice.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { ProblemNotice } from "../problem-notice.tsx";
import { repeatedDraw } from "./repeated-draw.ts";

/** Repeats a draw in the browser, from the published list and the seed, and says whether it comes out the same. */
export function RepeatDraw({
  lot,
  list,
  draw,
  isLast,
}: {
  lot: Lot;
  list: DrawList;
  draw: NonNullable<DrawList["draw"]>;
  /** Only the last list's sample is on the page. */
  isLast: boolean;
}) {
  const repeating = useMutation({
    mutationFn: async () => {
      const [file, units] = await Promise.all([
        call(getCandidates, { params: { id: list.id } }),
        isLast ? call(listDrawUnits, { params: { id: lot.id } }) : null,
      ]);
      const rows = units?.rows.toSorted((a, b) => a.position - b.position) ?? null;
      return repeatedDraw(await file.text(), {
        listHash: list.listHash,
        n: list.n,
        spares: list.spares,
        seed: draw.seed,
        key: draw.key,
        drawn: rows?.map((unit) => unit.utilityNumber) ?? null,
      });
    },
  });
  return (
    <div className="stack-tight">
      <div>
        <Button onClick={() => repeating.mutate()} isPending={repeating.isPending}>
          {repeating.isPending ? "Repeating" : "Repeat the draw here"}
        </Button>
      </div>
      {repeating.error === null ? null : (
        <ProblemNotice error={repeating.error} onRetry={() => repeating.mutate()} />
      )}
      {repeating.data === undefined ? null : (
        <Notice tone={repeating.data.agrees ? "plain" : "bad"} isAnnounced>
          <p>
            <StatusMark tone={repeating.data.agrees ? "good" : "bad"}>
              {repeating.data.agrees ? "The same" : "Not the same"}
            </StatusMark>{" "}
            {repeating.data.sentence}
          </p>
        </Notice>
      )}
    </div>
  );
}
