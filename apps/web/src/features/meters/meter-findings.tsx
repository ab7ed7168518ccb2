import { listInventoryFlags } from "@sealbook/contract/inventory-flags";
import { useQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../../api/operation-options.ts";
import { paths } from "../../paths.ts";
import { Notice } from "../../ui/notice.tsx";

/** What does not fit about a meter and waits to be settled; nothing where all fits. */
export function MeterFindings({ meterId }: { meterId: string }) {
  const flags = useQuery(operationOptions(listInventoryFlags, { query: { meterId, limit: 20 } }));
  if (flags.data === undefined || flags.data.rows.length === 0) return null;
  return (
    <Notice tone="warn" title="To settle">
      <ul>
        {flags.data.rows.map((flag) => (
          <li key={flag.number}>{flag.sentence}</li>
        ))}
      </ul>
      <p>
        <Link to={paths.toSettle()}>All that waits to be settled</Link>
      </p>
    </Notice>
  );
}
