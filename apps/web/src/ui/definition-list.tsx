import "./definition-list.css";
import type { ReactNode } from "react";

/** Names and their values, as on a nameplate. */
export function DefinitionList({ items }: { items: readonly { term: string; value: ReactNode }[] }) {
  return (
    <dl className="definition-list">
      {items.map((item) => (
        <div key={item.term}>
          <dt>{item.term}</dt>
          <dd>{item.value}</dd>
        </div>
      ))}
    </dl>
  );
}
