import { DataTable } from "../data-table.tsx";
import type { ChartAxis } from "./chart-axis.ts";
import { ChartFigure } from "./chart-figure.tsx";
import { PlotArea, type PlotPlace } from "./plot-area.tsx";

export interface CurvePoint {
  x: number;
  y: number;
}

/** A point of the curve that is pointed out, with the words that stand beside it. */
export interface MarkedPoint extends CurvePoint {
  text: string;
}

/** A falling or rising curve with some of its points pointed out. */
export function CurveChart({
  label,
  caption,
  x,
  y,
  curve,
  marked,
  rows,
}: {
  label: string;
  caption: string;
  x: ChartAxis;
  y: ChartAxis;
  /** Points in order of x, close enough to be joined by straight lines. */
  curve: readonly CurvePoint[];
  marked: readonly MarkedPoint[];
  /** The figures of the table, as they are to be read. */
  rows: readonly { x: string; y: string }[];
}) {
  return (
    <ChartFigure
      caption={caption}
      table={
        <DataTable
          caption={label}
          rows={rows}
          rowKey={(row) => row.x}
          columns={[
            { heading: x.label, isRowHeader: true, cell: (row) => row.x, isNumeric: true },
            { heading: y.label, cell: (row) => row.y, isNumeric: true },
          ]}
        />
      }
    >
      <PlotArea label={label} x={x} y={y}>
        {(place) => (
          <>
            <polyline
              className="plot-line"
              points={curve.map((point) => `${place.x(point.x)},${place.y(point.y)}`).join(" ")}
            />
            {marked.map((point) => (
              <Mark key={point.text} point={point} place={place} />
            ))}
          </>
        )}
      </PlotArea>
    </ChartFigure>
  );
}

function Mark({ point, place }: { point: MarkedPoint; place: PlotPlace }) {
  const [x, y] = [place.x(point.x), place.y(point.y)];
  // The words stand to the right, above a curve that falls, and no further than the end of the drawing.
  const textX = Math.min(x + 8, place.right - point.text.length * 6.5);
  return (
    <g>
      <path className="plot-guide" d={`M${place.left} ${y}H${x}V${place.bottom}`} />
      <circle className="plot-point" cx={x} cy={y} r={4} />
      <text className="plot-mark-text" x={textX} y={y - 8}>
        {point.text}
      </text>
    </g>
  );
}
