import type { CharacteristicEvaluation } from "@sealbook/metrology/sampling/decision/lot-evaluation-schema";
import { samplingCharacteristicNames } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { normalPlot } from "@sealbook/metrology/sampling/evaluation/normal-plot";
import { HistogramChart } from "../../ui/charts/histogram-chart.tsx";
import { NormalChart } from "../../ui/charts/normal-chart.tsx";

/** The readings of one characteristic as a histogram and a normal plot, with the limits; nothing below three. */
export function ReadingCharts({ part }: { part: CharacteristicEvaluation }) {
  const readings = part.readings.flatMap((reading) =>
    reading.value === null
      ? []
      : [{ meter: reading.meter, place: reading.place, value: Number(reading.value) }],
  );
  if (readings.length < 3) return null;
  const values = readings.map((reading) => reading.value);
  const limits = {
    lower: part.limits === null ? null : Number(part.limits.minPercent),
    upper: part.limits === null ? null : Number(part.limits.maxPercent),
  };
  const name = samplingCharacteristicNames[part.characteristic].toLowerCase();
  return (
    <div className="columns">
      <HistogramChart
        label={`Histogram of ${readings.length} registrations at ${name}, as found`}
        valueName="Registration, %"
        countName="Meters"
        values={values}
        limits={limits}
      />
      <NormalChart
        label={`Normal plot of ${readings.length} registrations at ${name}, as found`}
        valueName="Registration, %"
        pointName="Meter"
        points={normalPlot(values).map((point) => {
          const reading = readings[point.index];
          return {
            quantile: point.quantile,
            value: point.value,
            name: reading === undefined ? "" : `${reading.meter}, place ${reading.place}`,
          };
        })}
        line={
          part.mean === null || part.s === null || part.s === 0
            ? null
            : { mean: part.mean, standardDeviation: part.s }
        }
        limits={limits}
      />
    </div>
  );
}
