import "./chart.css";
import type { ReactNode } from "react";

/** A chart with its caption, and the same figures as a table for whoever wants them so. */
export function ChartFigure({
  caption,
  children,
  table,
}: {
  caption: ReactNode;
  children: ReactNode;
  table: ReactNode;
}) {
  return (
    <figure className="plot stack-tight">
      {children}
      <figcaption className="small quiet">{caption}</figcaption>
      <details>
        <summary>The figures as a table</summary>
        {table}
      </details>
    </figure>
  );
}
