import { PageHeader } from "../../ui/page-header.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { FindMeterForm } from "./find-meter-form.tsx";
import { SavedTest } from "./saved-test.tsx";

/** Begins a test: the meter is found first. After a test was saved it shows that one and takes the next number. */
export function FindMeterToTestPage() {
  const [search] = useSearchText();
  return (
    <div className="stack">
      <PageHeader
        title="Log a test"
        note={search.saved === undefined ? "First find the meter." : "Scan or type the next meter."}
      />
      {search.saved === undefined ? null : <SavedTest testId={search.saved} />}
      <FindMeterForm />
    </div>
  );
}
