import type { LedgerEntryView } from "@sealbook/contract/ledger";
import { Link } from "@tanstack/react-router";
import { paths } from "../../paths.ts";

/** Pages of the records that an entry can be about; the others have none of their own. */
const pages: Readonly<Record<string, (id: string) => string>> = {
  account: paths.person,
  meter: paths.meter,
  meterTest: paths.test,
  meterType: paths.type,
  testPlan: paths.plan,
  standard: paths.standard,
  import: paths.import,
  profile: paths.rule,
  // The page of a group leads on to that of a shipment where the lot is one.
  lot: paths.group,
  programme: paths.programme,
  samplingScheme: paths.scheme,
};

/** What a record without a page, or with another name here, is called beside its name. */
const words: Readonly<Record<string, string>> = {
  meterTest: "test of meter",
  workItem: "work on meter",
  account: "account of",
  meterType: "type",
};

/** The record that an entry is about, by its name where it has one, leading to its page where it has one. */
export function SubjectLink({
  entry,
}: {
  entry: Pick<LedgerEntryView, "subjectType" | "subjectId" | "subjectName">;
}) {
  const { subjectType, subjectId, subjectName } = entry;
  const page = pages[subjectType];
  const kind = words[subjectType] ?? subjectType.replace(/([A-Z])/g, (letter) => ` ${letter.toLowerCase()}`);
  const name = subjectName === null ? kind : `${kind} ${subjectName}`;
  return (
    <span title={subjectId}>
      {page === undefined ? name : <Link to={page(subjectId)}>{name}</Link>}
      {subjectName === null ? <code className="quiet"> …{subjectId.slice(-8)}</code> : null}
    </span>
  );
}
