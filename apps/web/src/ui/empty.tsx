import type { ReactNode } from "react";

/** Stands where there is nothing yet, and says what to do next. */
export function Empty({ title, children }: { title: string; children?: ReactNode }) {
  return (
    <div className="stack-tight">
      <p>{title}</p>
      {children === undefined || children === null ? null : <div className="quiet">{children}</div>}
    </div>
  );
}
