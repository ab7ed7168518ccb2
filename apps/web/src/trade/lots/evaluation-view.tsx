import type {
  CharacteristicEvaluation,
  LotEvaluation,
} from "@sealbook/metrology/sampling/decision/lot-evaluation-schema";
import { samplingCharacteristicNames } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { DataTable } from "../../ui/data-table.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { ErrorBoundary } from "../../ui/error-boundary.tsx";
import { Notice } from "../../ui/notice.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { figureText } from "./figure-text.ts";
import { OutcomeMark } from "./outcome-mark.tsx";
import { ReadingCharts } from "./reading-charts.tsx";

/** What a lot's results say, with all arithmetic: the running tally and the decision show the same. */
export function EvaluationView({ evaluation }: { evaluation: LotEvaluation }) {
  return (
    <div className="stack">
      <p>
        <OutcomeMark outcome={evaluation.outcome} /> <strong>{evaluation.sentence}</strong>
      </p>
      {evaluation.characteristics.map((one) => (
        <CharacteristicPart key={one.characteristic} part={one} />
      ))}
    </div>
  );
}

function CharacteristicPart({ part }: { part: CharacteristicEvaluation }) {
  const name = samplingCharacteristicNames[part.characteristic];
  return (
    <section className="stack-tight" aria-label={name}>
      <h3>{name}</h3>
      <p>
        <OutcomeMark outcome={part.outcome} /> {part.sentence}
      </p>
      {part.cautions.length === 0 ? null : (
        <Notice tone="warn" title="Weigh this before the lot is decided">
          <ul>
            {part.cautions.map((caution) => (
              <li key={caution}>{caution}</li>
            ))}
          </ul>
        </Notice>
      )}
      {part.criteria.length === 0 ? null : (
        <DataTable
          caption={`What decides on ${name.toLowerCase()}`}
          rows={part.criteria}
          rowKey={(criterion) => criterion.text}
          columns={[
            { heading: "Criterion", isRowHeader: true, cell: (criterion) => criterion.text },
            { heading: "Found", cell: (criterion) => figureText(criterion.value), isNumeric: true },
            {
              heading: "Accepts",
              cell: (criterion) =>
                `${criterion.comparison === "at-most" ? "at most" : "at least"} ${figureText(criterion.bound)}`,
              isNowrap: true,
            },
            {
              heading: "Holds",
              cell: (criterion) =>
                criterion.holds && part.waiting > 0 ? (
                  <StatusMark tone="neutral">so far</StatusMark>
                ) : (
                  <StatusMark tone={criterion.holds ? "good" : "bad"}>
                    {criterion.holds ? "yes" : "no"}
                  </StatusMark>
                ),
            },
          ]}
        />
      )}
      <DefinitionList items={figuresOf(part)} />
      <ErrorBoundary>
        <ReadingCharts part={part} />
      </ErrorBoundary>
    </section>
  );
}

function figuresOf(part: CharacteristicEvaluation) {
  const { fraction, lot, estimate, normality, outlier, limits } = part;
  const percent = (value: number) => `${figureText(100 * value)} %`;
  return [
    ...(limits === null
      ? []
      : [{ term: "Limits", value: `${limits.minPercent} to ${limits.maxPercent} %, ${limits.source}` }]),
    { term: "Results that count", value: `${part.counted} of ${part.places}` },
    { term: "Nonconforming", value: part.nonconforming },
    ...(part.waiting === 0 ? [] : [{ term: "Waiting", value: part.waiting }]),
    ...(part.leftOut === 0 ? [] : [{ term: "Left out", value: part.leftOut }]),
    ...(part.untestable === 0 ? [] : [{ term: "No test possible", value: part.untestable }]),
    ...(part.mean === null ? [] : [{ term: "Mean", value: `${figureText(part.mean)} %` }]),
    ...(part.s === null ? [] : [{ term: "Standard deviation s", value: `${figureText(part.s)} %` }]),
    ...(part.least === null
      ? []
      : [
          {
            term: "Least to greatest",
            value: `${readingText(part.least)} to ${readingText(part.greatest ?? part.least)} %`,
          },
        ]),
    ...(estimate === null
      ? []
      : [
          { term: "Quality index, lower", value: figureText(estimate.qLower) },
          { term: "Quality index, upper", value: figureText(estimate.qUpper) },
          { term: "Estimated below the lower limit", value: `${figureText(estimate.pLower)} %` },
          { term: "Estimated above the upper limit", value: `${figureText(estimate.pUpper)} %` },
          { term: "Estimated percent nonconforming", value: `${figureText(estimate.p)} %` },
        ]),
    ...(fraction === null
      ? []
      : [
          {
            term: "Observed, with exact 95 % limits",
            value: `${percent(fraction.fraction)}, ${percent(fraction.lower)} to ${percent(fraction.upper)}`,
          },
        ]),
    ...(lot === null
      ? []
      : [{ term: "Nonconforming in the lot, 95 %", value: `${lot.lower} to ${lot.upper}` }]),
    ...(normality === null
      ? []
      : [
          {
            term: "Normality (Anderson-Darling)",
            value: `A² ${figureText(normality.statistic)}, p ${normality.pValue < 0.0005 ? "below 0.001" : normality.pValue.toFixed(3)}`,
          },
        ]),
    ...(outlier === null
      ? []
      : [
          {
            term: "Farthest reading (Grubbs)",
            value: `place ${outlier.place}, ${figureText(outlier.value)} %: ${figureText(outlier.statistic)} against ${figureText(outlier.criticalValue)}${outlier.exceeds ? ", stands out" : ""}`,
          },
        ]),
  ];
}

/** A reading as a figure: an average made from others may carry more decimals than anybody reads. */
function readingText(reading: string): string {
  return (reading.split(".")[1] ?? "").length > 6 ? figureText(Number(reading)) : reading;
}
