import { DataTable } from "../data-table.tsx";
import { chartAxis } from "./chart-axis.ts";
import { ChartFigure } from "./chart-figure.tsx";
import { type ChartLimits, isBeyond, rangeWithLimits } from "./chart-limits.ts";
import { histogramBins } from "./histogram-bins.ts";
import { PlotArea } from "./plot-area.tsx";

/** How values are spread, in classes of equal width, with the limits. */
export function HistogramChart({
  label,
  valueName,
  countName,
  values,
  limits,
}: {
  label: string;
  /** What the values are, with their unit. */
  valueName: string;
  /** What is counted. */
  countName: string;
  /** One at least. */
  values: readonly number[];
  limits: ChartLimits;
}) {
  const bins = histogramBins(values);
  const edges = bins.flatMap((bin) => [bin.from, bin.to]);
  const [from, to] = rangeWithLimits(edges, limits);
  const most = Math.max(...bins.map((bin) => bin.count));
  const x = chartAxis(valueName, from, to, 8);
  const y = chartAxis(countName, 0, most * 1.1, Math.min(6, most + 1));
  return (
    <ChartFigure
      caption={`${values.length} values in classes; the lower end belongs to its class.`}
      table={
        <DataTable
          caption={label}
          rows={bins}
          rowKey={(bin) => String(bin.from)}
          columns={[
            { heading: "From", isRowHeader: true, cell: (bin) => String(bin.from), isNumeric: true },
            { heading: "To below", cell: (bin) => String(bin.to), isNumeric: true },
            { heading: "Count", cell: (bin) => bin.count, isNumeric: true },
          ]}
        />
      }
    >
      <PlotArea label={label} x={x} y={y}>
        {(place) => (
          <>
            {bins.map((bin) =>
              bin.count === 0 ? null : (
                <rect
                  key={bin.from}
                  className={
                    isBeyond(bin.from, limits) && isBeyond(bin.to, limits) ? "plot-bar-outside" : "plot-bar"
                  }
                  x={place.x(bin.from)}
                  width={Math.max(1, place.x(bin.to) - place.x(bin.from))}
                  y={place.y(bin.count)}
                  height={place.bottom - place.y(bin.count)}
                />
              ),
            )}
            {[limits.lower, limits.upper].map((limit) =>
              limit === null ? null : (
                <g key={limit}>
                  <line
                    className="plot-limit"
                    x1={place.x(limit)}
                    x2={place.x(limit)}
                    y1={place.top}
                    y2={place.bottom}
                  />
                  <text
                    className="plot-limit-text"
                    x={place.x(limit) + (limit === limits.lower ? 4 : -4)}
                    y={place.top - 4}
                    textAnchor={limit === limits.lower ? "start" : "end"}
                  >
                    {limit}
                  </text>
                </g>
              ),
            )}
          </>
        )}
      </PlotArea>
    </ChartFigure>
  );
}
