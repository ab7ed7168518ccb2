import { Link } from "@tanstack/react-router";
import { paths } from "../../paths.ts";

/** Pages of the records that an entry can be about; the others have none of their own. */
const pages: Readonly<Record<string, (id: string) => string>> = {
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

/** The record that an entry is about, leading to its page where it has one. */
export function SubjectLink({ type, id }: { type: string; id: string }) {
  const page = pages[type];
  const words = type.replace(/([A-Z])/g, (letter) => ` ${letter.toLowerCase()}`);
  return (
    <span className="nowrap">
      {page === undefined ? words : <Link to={page(id)}>{words}</Link>}{" "}
      <code className="quiet">…{id.slice(-8)}</code>
    </span>
  );
}
