import { Link } from "@tanstack/react-router";
import { useMay } from "../api/use-may.ts";
import { paths } from "../paths.ts";

/** Leads from a record to everything that the ledger holds of it; nothing for whoever may not read the ledger. */
export function EntriesLink({ subjectId }: { subjectId: string }) {
  if (!useMay("ledger.read")) return null;
  return (
    <Link to={paths.ledger()} search={{ subjectId }}>
      Its entries in the ledger
    </Link>
  );
}
