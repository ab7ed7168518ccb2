import "./panel.css";
import { type ReactNode, useId } from "react";
import { ErrorBoundary } from "./error-boundary.tsx";

/** A part of a page under its own heading. A failure inside it leaves the rest of the page alive. */
export function Panel({
  title,
  actions,
  children,
}: {
  title: string;
  actions?: ReactNode;
  children: ReactNode;
}) {
  const titleId = useId();
  return (
    <section className="panel" aria-labelledby={titleId}>
      <div className="panel-head">
        <h2 id={titleId}>{title}</h2>
        {actions === undefined ? null : <div className="row">{actions}</div>}
      </div>
      <ErrorBoundary>{children}</ErrorBoundary>
    </section>
  );
}
