import "./chart.css";
import { type ReactNode, useRef } from "react";
import { useElementWidth } from "../use-element-width.ts";
import type { ChartAxis } from "./chart-axis.ts";

/** Where values stand on the drawing, in its own units (CSS pixels). */
export interface PlotPlace {
  x: (value: number) => number;
  y: (value: number) => number;
  left: number;
  right: number;
  top: number;
  bottom: number;
}

const edge = { top: 22, right: 14, bottom: 38, left: 46 };

/** Two axes with their values, and whatever a chart draws between them. It fills the width it is given. */
export function PlotArea({
  label,
  x,
  y,
  height = 240,
  children,
}: {
  /** What the drawing shows, in a sentence for those who do not see it. */
  label: string;
  x: ChartAxis;
  y: ChartAxis;
  height?: number;
  children: (place: PlotPlace) => ReactNode;
}) {
  const frame = useRef<HTMLDivElement>(null);
  const width = useElementWidth(frame);
  return (
    <div ref={frame}>
      {width === null ? null : (
        <svg viewBox={`0 0 ${width} ${height}`} height={height} role="img" aria-label={label}>
          <Axes x={x} y={y} place={placeIn(width, height, x, y)} height={height} />
          {children(placeIn(width, height, x, y))}
        </svg>
      )}
    </div>
  );
}

function placeIn(width: number, height: number, x: ChartAxis, y: ChartAxis): PlotPlace {
  const [left, right] = [edge.left, Math.max(edge.left + 1, width - edge.right)];
  const [top, bottom] = [edge.top, height - edge.bottom];
  return {
    x: (value) => left + ((value - x.from) / (x.to - x.from)) * (right - left),
    y: (value) => bottom - ((value - y.from) / (y.to - y.from)) * (bottom - top),
    left,
    right,
    top,
    bottom,
  };
}

function Axes({ x, y, place, height }: { x: ChartAxis; y: ChartAxis; place: PlotPlace; height: number }) {
  return (
    <g>
      <text x={0} y={12}>
        {y.label}
      </text>
      {y.ticks.map(({ value, text }) => (
        <g key={text}>
          <line
            className="plot-grid"
            x1={place.left}
            x2={place.right}
            y1={place.y(value)}
            y2={place.y(value)}
          />
          <text x={place.left - 6} y={place.y(value) + 4} textAnchor="end">
            {text}
          </text>
        </g>
      ))}
      <line className="plot-base" x1={place.left} x2={place.right} y1={place.bottom} y2={place.bottom} />
      {x.ticks.map(({ value, text }) => (
        <g key={text}>
          <line
            className="plot-base"
            x1={place.x(value)}
            x2={place.x(value)}
            y1={place.bottom}
            y2={place.bottom + 4}
          />
          <text x={place.x(value)} y={place.bottom + 16} textAnchor="middle">
            {text}
          </text>
        </g>
      ))}
      <text x={place.right} y={height - 4} textAnchor="end">
        {x.label}
      </text>
    </g>
  );
}
