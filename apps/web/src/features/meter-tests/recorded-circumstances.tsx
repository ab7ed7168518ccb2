import { type MeterTest, untestableReasonNames } from "@sealbook/contract/meter-tests";
import { StoredFileLink } from "../../trade/stored-file-link.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";

/** What else stands on the sheet: adjustment, readings, conditions, seals, remarks, papers. */
export function RecordedCircumstances({ test }: { test: MeterTest }) {
  const { conditions, outcome } = test;
  const items: { term: string; value: React.ReactNode }[] = [];
  const add = (term: string, value: React.ReactNode) => items.push({ term, value });
  if (outcome.kind === "no-test-possible") {
    add("No test possible", untestableReasonNames[outcome.reason]);
    if (outcome.note !== "") add("Note", outcome.note);
  }
  if (outcome.kind === "tested" && outcome.asLeft.kind === "same")
    add("As left", "As found, nothing adjusted");
  if (outcome.kind === "tested" && outcome.asLeft.kind === "entered") {
    add("Adjusted or repaired", outcome.asLeft.adjustment);
  }
  if (outcome.kind === "tested" && outcome.asLeft.kind === "not-tested") {
    add("As left not tested", outcome.asLeft.why);
  }
  add("Place", test.place);
  if (conditions.volts !== null) add("Test voltage", `${conditions.volts} V`);
  if (conditions.amperes !== null) add("Test current", `${conditions.amperes} A`);
  if (conditions.temperatureCelsius !== null) add("Temperature", `${conditions.temperatureCelsius} °C`);
  add("Reading before", reading(test.readingBefore));
  add("Reading after", reading(test.readingAfter));
  add("Seals removed", listed(test.sealsRemoved));
  add("Seals applied", listed(test.sealsApplied));
  if (test.preconditionsConfirmed.length > 0) {
    add(
      "Confirmed before the test",
      <ul>
        {test.preconditionsConfirmed.map((text) => (
          <li key={text}>{text}</li>
        ))}
      </ul>,
    );
  }
  if (test.confirmedUnusual) add("Unusual figures", "Looked at again and confirmed when entered");
  if (test.remarks !== "") add("Remarks", test.remarks);
  if (test.files.length > 0) {
    add(
      "Photos and papers",
      <ul>
        {test.files.map((file) => (
          <li key={file.id}>
            <StoredFileLink file={file} />
          </li>
        ))}
      </ul>,
    );
  }
  return <DefinitionList items={items} />;
}

function reading(text: string | null): string {
  return text === null ? "–" : `${text} kWh`;
}

function listed(seals: readonly string[]): string {
  return seals.length === 0 ? "–" : seals.join(", ");
}
