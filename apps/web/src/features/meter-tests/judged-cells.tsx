import type { Judgement } from "@sealbook/metrology/judgement/judgement-terms";
import { ErrorPercent } from "../../trade/error-percent.tsx";
import { RegistrationPercent } from "../../trade/registration-percent.tsx";
import { JudgementMark } from "./judgement-mark.tsx";

/** Mean, error, limits, margin and verdict of one row, and the way to how they came about. */
export function JudgedCells({
  judged,
  mean,
  error,
  places,
  hasRepeats,
  storyId,
  storyLabel,
  isOpen,
  onToggle,
}: {
  /** Null while nothing can be judged. */
  judged: Pick<Judgement, "verdict" | "limits" | "marginPercent"> | null;
  mean: string | null;
  error: string | null;
  places: number;
  hasRepeats: boolean;
  storyId: string;
  storyLabel: string;
  isOpen: boolean;
  onToggle: () => void;
}) {
  return (
    <div className="point-judged">
      {hasRepeats ? (
        <output className="point-cell">
          <span className="point-cell-label">Mean %</span>
          <RegistrationPercent value={mean} places={places} />
        </output>
      ) : null}
      <output className="point-cell">
        <span className="point-cell-label">Error %</span>
        <ErrorPercent value={error} places={places} />
      </output>
      <span className="point-cell">
        <span className="point-cell-label">Limits %</span>
        {judged?.limits == null ? (
          <span className="quiet">{judged === null ? "–" : "none"}</span>
        ) : (
          <span title={judged.limits.source}>
            {judged.limits.minPercent} to {judged.limits.maxPercent}
          </span>
        )}
      </span>
      <output className="point-cell">
        <span className="point-cell-label">Margin %</span>
        <RegistrationPercent value={judged?.marginPercent ?? null} places={places} />
      </output>
      <output className="point-verdict">
        {judged === null ? <span className="quiet">–</span> : <JudgementMark verdict={judged.verdict} />}
      </output>
      <button
        type="button"
        className="button button-quiet point-how"
        aria-expanded={isOpen}
        aria-controls={storyId}
        aria-label={storyLabel}
        title={`${storyLabel} (Alt+H)`}
        onClick={onToggle}
      >
        How
      </button>
    </div>
  );
}
