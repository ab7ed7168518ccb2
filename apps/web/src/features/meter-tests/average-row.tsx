import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { RegistrationPercent } from "../../trade/registration-percent.tsx";
import { AverageStory } from "./average-story.tsx";
import { JudgedCells } from "./judged-cells.tsx";
import type { FormPass } from "./test-form.ts";

/** The average registration of a pass, under its points. */
export function AverageRow({
  pass,
  average,
  places,
  hasRepeats,
  isOpen,
  onToggle,
}: {
  pass: FormPass | "record";
  average: NonNullable<PassEvaluation["average"]>;
  places: number;
  hasRepeats: boolean;
  isOpen: boolean;
  onToggle: () => void;
}) {
  const storyId = `${pass}-average-story`;
  return (
    // biome-ignore lint/a11y/useSemanticElements: a fieldset cannot be laid out as a row of the grid.
    <div
      className="point-row average-row"
      role="group"
      aria-label="Average"
      data-pass={pass}
      data-row="average"
    >
      <div className="point-name">
        <div>
          <strong>Average</strong>
        </div>
        <div className="quiet small">{average.averageRule.label}</div>
      </div>
      <div className="point-runs">
        <div className="run-row">
          <output className="point-cell run-row-last">
            <span className="point-cell-label">Registration %</span>
            <RegistrationPercent value={average.registrationPercent} places={places} />
          </output>
        </div>
      </div>
      <JudgedCells
        judged={average}
        mean={average.registrationPercent}
        error={average.errorPercent}
        places={places}
        hasRepeats={hasRepeats}
        storyId={storyId}
        storyLabel="How the average came about"
        isOpen={isOpen}
        onToggle={onToggle}
      />
      {isOpen ? (
        <div className="point-story" id={storyId}>
          <AverageStory average={average} />
        </div>
      ) : null}
    </div>
  );
}
