import { normalPlot } from "@sealbook/metrology/sampling/evaluation/normal-plot";

/** Registrations of a sample with the limits they are held against. */
export interface ChartedSample {
  values: readonly number[];
  lower: number;
  upper: number;
  mean: number;
  /** Sample standard deviation; null for a single value. */
  s: number | null;
}

const width = 250;
const height = 130;
const margin = { left: 6, right: 6, top: 6, bottom: 18 };
const ink = "#1d2a33";
const faint = "#9aa5ac";
const font = `font-family="Libertinus Serif" font-size="8" fill="${ink}"`;

/** Histogram of a sample with its limits, as SVG for a printed sheet. */
export function histogramSvg(sample: ChartedSample): string {
  const { values } = sample;
  const { from, to, x } = registrationAxis(sample);
  const bins = Math.max(5, Math.min(20, Math.ceil(Math.sqrt(values.length))));
  const counts = Array.from({ length: bins }, () => 0);
  for (const value of values) {
    const bin = Math.min(bins - 1, Math.floor(((value - from) / (to - from)) * bins));
    counts[bin] = (counts[bin] ?? 0) + 1;
  }
  const most = Math.max(...counts);
  const bars = counts.map((count, bin) => {
    const left = x(from + ((to - from) * bin) / bins);
    const right = x(from + ((to - from) * (bin + 1)) / bins);
    const tall = ((height - margin.top - margin.bottom) * count) / most;
    return `<rect x="${left.toFixed(2)}" y="${(height - margin.bottom - tall).toFixed(2)}" width="${(right - left - 0.5).toFixed(2)}" height="${tall.toFixed(2)}" fill="#5f7682"/>`;
  });
  return svg([...bars, axis(), ...limitLines(sample, x)]);
}

/** Normal probability plot of a sample with its limits: readings to the right, normal medians upwards. */
export function normalPlotSvg(sample: ChartedSample): string {
  const points = normalPlot(sample.values);
  const { x } = registrationAxis(sample);
  const reach = Math.max(...points.map(({ quantile }) => Math.abs(quantile)), 0.5) * 1.05;
  const y = (quantile: number) =>
    margin.top + ((reach - quantile) / (2 * reach)) * (height - margin.top - margin.bottom);
  const dots = points.map(
    ({ quantile, value }) =>
      `<circle cx="${x(value).toFixed(2)}" cy="${y(quantile).toFixed(2)}" r="1.3" fill="${ink}"/>`,
  );
  const { mean, s } = sample;
  const line =
    s === null || s === 0
      ? []
      : [
          `<clipPath id="in"><rect x="${margin.left}" y="${margin.top}" width="${width - margin.left - margin.right}" height="${height - margin.top - margin.bottom}"/></clipPath>`,
          `<line clip-path="url(#in)" x1="${x(mean - reach * s).toFixed(2)}" y1="${y(-reach).toFixed(2)}" x2="${x(mean + reach * s).toFixed(2)}" y2="${y(reach).toFixed(2)}" stroke="${faint}" stroke-width="0.8"/>`,
        ];
  return svg([...line, ...dots, axis(), ...limitLines(sample, x)]);
}

function registrationAxis({ values, lower, upper }: ChartedSample) {
  const least = Math.min(lower, ...values);
  const greatest = Math.max(upper, ...values);
  const room = (greatest - least || 1) * 0.04;
  const [from, to] = [least - room, greatest + room];
  const x = (value: number) =>
    margin.left + ((value - from) / (to - from)) * (width - margin.left - margin.right);
  return { from, to, x };
}

function axis(): string {
  const y = height - margin.bottom;
  return `<line x1="${margin.left}" y1="${y}" x2="${width - margin.right}" y2="${y}" stroke="${ink}" stroke-width="0.6"/>`;
}

function limitLines({ lower, upper }: ChartedSample, x: (value: number) => number): string[] {
  return [lower, upper].flatMap((limit) => [
    `<line x1="${x(limit).toFixed(2)}" y1="${margin.top}" x2="${x(limit).toFixed(2)}" y2="${height - margin.bottom + 3}" stroke="${ink}" stroke-width="0.8" stroke-dasharray="3 2"/>`,
    `<text x="${x(limit).toFixed(2)}" y="${height - 6}" text-anchor="middle" ${font}>${limit}</text>`,
  ]);
}

function svg(parts: readonly string[]): string {
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}">${parts.join("")}</svg>`;
}
