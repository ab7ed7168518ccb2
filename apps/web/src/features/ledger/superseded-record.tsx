import { type LedgerEntryView, listLedger } from "@sealbook/contract/ledger";
import { useQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../../api/operation-options.ts";
import { paths } from "../../paths.ts";
import { Panel } from "../../ui/panel.tsx";
import { fieldsChangedBetween, supersededIn } from "./changed-fields.ts";
import { ChangedFields } from "./recorded-change.tsx";

/** Of a record that supersedes another: what it says otherwise, and why; the earlier entry stays a click away. */
export function SupersededRecord({ entry }: { entry: LedgerEntryView }) {
  const supersededId = supersededIn(entry.payload);
  const { data, error } = useQuery({
    ...operationOptions(listLedger, { query: { subjectId: supersededId ?? "", limit: 200 } }),
    enabled: supersededId !== null,
  });
  if (supersededId === null) return null;
  // The oldest entry of a record is the one that made it.
  const made = data?.rows.at(-1);
  const fields = made === undefined ? null : fieldsChangedBetween(made.payload, entry.payload);
  return (
    <Panel title="What it says otherwise than the record before">
      {error !== null ? (
        <p>{error.message}</p>
      ) : made === undefined || fields === null ? (
        <p>Looking the earlier entry up…</p>
      ) : (
        <>
          <p>
            Reason: {entry.reason ?? "none given"}.{" "}
            <Link to={paths.ledgerEntry(made.id)}>The entry of the record before</Link>
          </p>
          <ChangedFields caption="Before and after, field by field" fields={fields} />
        </>
      )}
    </Panel>
  );
}
