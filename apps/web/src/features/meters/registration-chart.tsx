import "./registration-chart.css";
import { useRef } from "react";
import { niceTicks } from "../../ui/charts/nice-ticks.ts";
import { useElementWidth } from "../../ui/use-element-width.ts";
import { ChartMark } from "./chart-mark.tsx";
import { type Series, type SeriesName, seriesNames } from "./registration-series.ts";

const height = 220;
const edge = { top: 10, right: 14, bottom: 24, left: 46 };
const dayMilliseconds = 86_400_000;

/** Limits in percent registration, and where they come from. */
export interface ChartLimits {
  minPercent: string;
  maxPercent: string;
  source: string;
}

/** The limits that each series is held against; one without limits of its own is not judged alone. */
export type SeriesLimits = Partial<Record<SeriesName, ChartLimits>>;

/** As-found registration over time against its limits. The list of tests holds the same figures as a table. */
export function RegistrationChart({ series, limits }: { series: readonly Series[]; limits: SeriesLimits }) {
  const frame = useRef<HTMLDivElement>(null);
  const width = useElementWidth(frame);
  const band = bandOf(series, limits);
  return (
    <figure className="chart stack-tight">
      <div ref={frame}>
        {width === null ? null : <Plot series={series} limits={limits} band={band} width={width} />}
      </div>
      <figcaption className="chart-legend small quiet">
        {series.map(({ name }) => (
          <span key={name}>
            <svg viewBox="-6 -6 12 12" aria-hidden="true">
              <ChartMark series={name} x={0} y={0} />
            </svg>
            {seriesNames[name]}
          </span>
        ))}
        {band === null ? null : (
          <span>
            Band: {seriesNames[band.of].toLowerCase()}, {band.minPercent} to {band.maxPercent} %,{" "}
            {band.source}
          </span>
        )}
        <span>As found, percent registration. The same figures stand under Tests.</span>
      </figcaption>
    </figure>
  );
}

/** The band to draw: the limits of the first series that has any; the average comes first. */
function bandOf(series: readonly Series[], limits: SeriesLimits): (ChartLimits & { of: SeriesName }) | null {
  for (const { name } of series) {
    const own = limits[name];
    if (own !== undefined) return { ...own, of: name };
  }
  return null;
}

function isOutside(percent: number, limits: ChartLimits | undefined): boolean {
  return limits !== undefined && (percent < Number(limits.minPercent) || percent > Number(limits.maxPercent));
}

function Plot({
  series,
  limits,
  band,
  width,
}: {
  series: readonly Series[];
  limits: SeriesLimits;
  band: ChartLimits | null;
  width: number;
}) {
  const points = series.flatMap((one) => one.points);
  const low = band === null ? null : Number(band.minPercent);
  const high = band === null ? null : Number(band.maxPercent);
  const levels = [
    100,
    ...points.map((point) => point.percent),
    ...[low, high].filter((level) => level !== null),
  ];
  const padding = Math.max(0.1, (Math.max(...levels) - Math.min(...levels)) * 0.08);
  const [bottom, top] = [Math.min(...levels) - padding, Math.max(...levels) + padding];
  const times = points.map((point) => point.time);
  const [from, to] = [Math.min(...times) - 30 * dayMilliseconds, Math.max(...times) + 30 * dayMilliseconds];
  const x = (time: number) => edge.left + ((time - from) / (to - from)) * (width - edge.left - edge.right);
  const y = (percent: number) =>
    edge.top + ((top - percent) / (top - bottom)) * (height - edge.top - edge.bottom);
  const right = width - edge.right;
  const levelTicks = niceTicks(bottom, top, 7);
  const places = Math.max(0, ...levelTicks.map((tick) => String(tick).split(".")[1]?.length ?? 0));
  return (
    <svg viewBox={`0 0 ${width} ${height}`} height={height} role="img" aria-label={summaryOf(series, band)}>
      {low === null || high === null ? null : (
        <>
          <rect
            className="chart-band"
            x={edge.left}
            y={y(high)}
            width={right - edge.left}
            height={y(low) - y(high)}
          />
          <line className="chart-limit" x1={edge.left} x2={right} y1={y(low)} y2={y(low)} />
          <line className="chart-limit" x1={edge.left} x2={right} y1={y(high)} y2={y(high)} />
        </>
      )}
      {levelTicks.map((tick) => (
        <g key={tick}>
          <line
            className={tick === 100 ? "chart-true" : "chart-tick"}
            x1={edge.left}
            x2={right}
            y1={y(tick)}
            y2={y(tick)}
          />
          <text x={edge.left - 6} y={y(tick) + 4} textAnchor="end">
            {tick.toFixed(places)}
          </text>
        </g>
      ))}
      {yearStarts(from, to, Math.max(2, Math.floor(width / 90))).map(({ time, label }) => (
        <g key={label}>
          <line
            className="chart-tick"
            x1={x(time)}
            x2={x(time)}
            y1={height - edge.bottom}
            y2={height - edge.bottom + 4}
          />
          <text x={x(time)} y={height - 6} textAnchor="middle">
            {label}
          </text>
        </g>
      ))}
      {series.map(({ name, points: ofSeries }) => (
        <g key={name}>
          {name === "average" || series.length === 1 ? (
            <polyline
              className="chart-line"
              points={ofSeries.map((point) => `${x(point.time)},${y(point.percent)}`).join(" ")}
            />
          ) : null}
          {ofSeries.map((point) => (
            <ChartMark
              key={point.testId}
              series={name}
              x={x(point.time)}
              y={y(point.percent)}
              isOutside={isOutside(point.percent, limits[name])}
              title={`${point.performedOn}: ${seriesNames[name].toLowerCase()} ${point.percent.toFixed(2)} %`}
            />
          ))}
        </g>
      ))}
    </svg>
  );
}

/** Marks along the time axis: beginnings of years, or of quarters where the tests lie within two years. */
function yearStarts(from: number, to: number, most: number): { time: number; label: string }[] {
  const [first, last] = [new Date(from).getUTCFullYear(), new Date(to).getUTCFullYear()];
  const isShort = to - from < 730 * dayMilliseconds;
  const starts: { time: number; label: string }[] = [];
  for (let year = first; year <= last; year++) {
    for (const month of isShort ? [0, 3, 6, 9] : [0]) {
      const time = Date.UTC(year, month, 1);
      if (time < from || time > to) continue;
      starts.push({ time, label: isShort ? `${year}-${String(month + 1).padStart(2, "0")}` : String(year) });
    }
  }
  const every = Math.ceil(starts.length / most);
  return starts.filter((_, index) => index % every === 0);
}

function summaryOf(series: readonly Series[], band: ChartLimits | null): string {
  const parts = series.map(({ name, points }) => {
    const last = points.at(-1);
    return last === undefined
      ? ""
      : `${seriesNames[name]}: ${points.length} tests, last ${last.percent.toFixed(2)} percent on ${last.performedOn}`;
  });
  const limits = band === null ? "" : ` Limits ${band.minPercent} to ${band.maxPercent} percent.`;
  return `Registration as found over time. ${parts.join(". ")}.${limits}`;
}
