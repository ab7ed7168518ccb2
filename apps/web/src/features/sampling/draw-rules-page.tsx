import "./draw-rules-page.css";
import specification from "@sealbook/metrology/sampling/draw-specification.md?raw";
import { PageHeader } from "../../ui/page-header.tsx";

/** The rules of a draw as published: plain text, word for word, that an outsider can follow alone. */
export function DrawRulesPage() {
  return (
    <div className="stack">
      <PageHeader
        title="Rules of the draw"
        note="The specification word for word; it alone is enough to repeat a draw."
      />
      <pre className="draw-rules">{specification}</pre>
    </div>
  );
}
