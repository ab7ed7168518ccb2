import { DataTable } from "../data-table.tsx";
import { chartAxis } from "./chart-axis.ts";
import { ChartFigure } from "./chart-figure.tsx";
import { type ChartLimits, isBeyond, rangeWithLimits } from "./chart-limits.ts";
import { PlotArea } from "./plot-area.tsx";

/** One value with the place that it would have in a normal distribution. */
export interface NormalChartPoint {
  quantile: number;
  value: number;
  /** What the value belongs to. */
  name: string;
}

/** Values against normal medians: those of a normal distribution lie along the straight line. */
export function NormalChart({
  label,
  valueName,
  pointName,
  points,
  line,
  limits,
}: {
  label: string;
  valueName: string;
  /** What a value belongs to. */
  pointName: string;
  /** In rising order, one at least. */
  points: readonly NormalChartPoint[];
  /** The normal distribution with the sample's mean and spread; null where there is no spread. */
  line: { mean: number; standardDeviation: number } | null;
  limits: ChartLimits;
}) {
  const [low, high] = rangeWithLimits(
    points.map((point) => point.value),
    limits,
  );
  const end = Math.max(1, ...points.map((point) => Math.abs(point.quantile))) * 1.08;
  const x = chartAxis("Normal quantile", -end, end, 8);
  const y = chartAxis(valueName, low, high, 7);
  return (
    <ChartFigure
      caption="A normal sample lies along the line; a bend, a step or a few strays say that it is not."
      table={
        <DataTable
          caption={label}
          rows={points}
          rowKey={(point) => point.name}
          columns={[
            { heading: pointName, isRowHeader: true, cell: (point) => point.name },
            { heading: "Normal quantile", cell: (point) => point.quantile.toFixed(3), isNumeric: true },
            { heading: valueName, cell: (point) => String(point.value), isNumeric: true },
          ]}
        />
      }
    >
      <PlotArea label={label} x={x} y={y}>
        {(place) => (
          <>
            {[limits.lower, limits.upper].map((limit) =>
              limit === null ? null : (
                <g key={limit}>
                  <line
                    className="plot-limit"
                    x1={place.left}
                    x2={place.right}
                    y1={place.y(limit)}
                    y2={place.y(limit)}
                  />
                  {/* Low values stand to the left, high ones to the right: the words stand across from them. */}
                  <text
                    className="plot-limit-text"
                    x={limit === limits.lower ? place.right : place.left + 4}
                    y={place.y(limit) - 4}
                    textAnchor={limit === limits.lower ? "end" : "start"}
                  >
                    {limit}
                  </text>
                </g>
              ),
            )}
            {line === null ? null : (
              <line
                className="plot-line plot-line-thin"
                x1={place.x(-end)}
                x2={place.x(end)}
                y1={place.y(line.mean - end * line.standardDeviation)}
                y2={place.y(line.mean + end * line.standardDeviation)}
              />
            )}
            {points.map((point) => {
              const [pointX, pointY] = [place.x(point.quantile), place.y(point.value)];
              const title = <title>{`${point.name}: ${point.value}`}</title>;
              return isBeyond(point.value, limits) ? (
                <rect
                  key={point.name}
                  className="plot-point-outside"
                  x={pointX - 4}
                  y={pointY - 4}
                  width={8}
                  height={8}
                >
                  {title}
                </rect>
              ) : (
                <circle key={point.name} className="plot-point" cx={pointX} cy={pointY} r={2.5}>
                  {title}
                </circle>
              );
            })}
          </>
        )}
      </PlotArea>
    </ChartFigure>
  );
}
