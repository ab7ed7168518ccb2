import { shippedSchemes } from "@sealbook/metrology/sampling/schemes/shipped-schemes";
import { Button } from "../../ui/button.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { SchemeForm } from "./scheme-form.tsx";
import { purposeNames } from "./scheme-words.ts";

/** Adds a sampling scheme, beginning with one that comes with the product. */
export function NewSchemePage() {
  const [search, change] = useSearchText();
  const chosen = shippedSchemes.find((scheme) => scheme.key === search.from);
  if (chosen !== undefined) {
    return (
      <SchemeForm
        key={chosen.key}
        first={chosen.body}
        asks={chosen.asks}
        name={chosen.title}
        revised={null}
      />
    );
  }
  return (
    <div className="stack">
      <PageHeader
        title="Add a sampling scheme"
        note="Choose what to begin with; everything can be changed before it goes on record."
      />
      <DataTable
        caption="Schemes to begin with"
        rows={shippedSchemes}
        rowKey={(scheme) => scheme.key}
        columns={[
          { heading: "Scheme", isRowHeader: true, cell: (scheme) => scheme.title },
          { heading: "For", cell: (scheme) => purposeNames[scheme.body.purpose] },
          { heading: "Source", cell: (scheme) => scheme.body.source, isNarrowHidden: true },
          {
            heading: "Begin",
            cell: (scheme) => (
              <Button onClick={() => change({ from: scheme.key })}>
                Begin with this<span className="visually-hidden"> scheme: {scheme.title}</span>
              </Button>
            ),
          },
        ]}
      />
      <p className="quiet">Verify against the current text; local rules govern.</p>
    </div>
  );
}
