import { testRowSchema } from "@sealbook/contract/meters";
import { Link } from "@tanstack/react-router";
import { paths } from "../../paths.ts";
import { testColumns } from "../../trade/test-columns.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { Notice } from "../../ui/notice.tsx";

const columns = testColumns({ hasMeter: false });

/** Someone amended the same record first: what they recorded, and the way on. What was typed here stays. */
export function AmendedFirst({
  detail,
  current,
}: {
  detail: string;
  /** The newer record as the problem carries it: a row of the list of tests. */
  current: unknown;
}) {
  const read = testRowSchema.safeParse(current);
  const winner = read.success ? read.data : null;
  return (
    <Notice tone="warn" title="Amended by someone else first; yours was not saved" isAnnounced>
      <p>{detail} What you typed stays here until you leave.</p>
      {winner === null ? null : (
        <>
          <DataTable
            caption="The record that holds now"
            rows={[winner]}
            rowKey={(row) => row.id}
            columns={columns}
          />
          <p>
            <Link to={paths.test(winner.id)} target="_blank">
              Open the newer record
            </Link>{" "}
            beside this one, or <Link to={paths.amendTest(winner.id)}>amend that one</Link>.
          </p>
        </>
      )}
    </Notice>
  );
}
