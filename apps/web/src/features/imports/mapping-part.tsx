import type { ReactNode } from "react";

/** A part of the mapping's form under its heading. */
export function MappingPart({ title, children }: { title: string; children: ReactNode }) {
  return (
    <div className="stack-tight">
      <h3>{title}</h3>
      {children}
    </div>
  );
}
