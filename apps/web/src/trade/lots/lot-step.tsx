import "./lot-step.css";
import { type ReactNode, useId } from "react";
import { ErrorBoundary } from "../../ui/error-boundary.tsx";

/** One step of a lot, under its number and name. Steps stand one under another in the order of the work. */
export function LotStep({
  number,
  title,
  isAhead = false,
  actions,
  children,
}: {
  number: number;
  title: string;
  /** The step cannot be taken yet; its text says what comes first. */
  isAhead?: boolean;
  actions?: ReactNode;
  children: ReactNode;
}) {
  const titleId = useId();
  return (
    <section className="panel lot-step" id={`step-${number}`} tabIndex={-1} aria-labelledby={titleId}>
      <div className="panel-head">
        <h2 id={titleId} className={isAhead ? "lot-step-ahead" : undefined}>
          <span className="lot-step-number">{number}</span> {title}
        </h2>
        {actions === undefined ? null : <div className="row">{actions}</div>}
      </div>
      <ErrorBoundary>{children}</ErrorBoundary>
    </section>
  );
}
