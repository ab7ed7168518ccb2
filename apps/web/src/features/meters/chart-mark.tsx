import type { SeriesName } from "./registration-series.ts";

/** The mark of a series, 10 units wide about a centre: each series has its own shape. */
export function ChartMark({
  series,
  x,
  y,
  isOutside = false,
  title,
}: {
  series: SeriesName;
  x: number;
  y: number;
  isOutside?: boolean;
  title?: string;
}) {
  const className = `chart-mark chart-mark-${series}${isOutside ? " chart-mark-outside" : ""}`;
  const label = title === undefined ? null : <title>{title}</title>;
  switch (series) {
    case "average":
      return (
        <circle className={className} cx={x} cy={y} r={4}>
          {label}
        </circle>
      );
    case "full-load":
      return (
        <rect className={className} x={x - 3.5} y={y - 3.5} width={7} height={7}>
          {label}
        </rect>
      );
    case "light-load":
      return (
        <path className={className} d={`M${x} ${y - 4.5} ${x + 4.5} ${y + 4} ${x - 4.5} ${y + 4}Z`}>
          {label}
        </path>
      );
    case "power-factor":
      return (
        <path className={className} d={`M${x} ${y - 4.8} ${x + 4.8} ${y} ${x} ${y + 4.8} ${x - 4.8} ${y}Z`}>
          {label}
        </path>
      );
  }
}
