import { useQuery } from "@tanstack/react-query";
import { useMay } from "../../api/use-may.ts";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { testColumns } from "../../trade/test-columns.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { Empty } from "../../ui/empty.tsx";
import { Waiting } from "../../ui/waiting.tsx";
import { testsOfMeterOptions } from "./requests.ts";

/** Every test of a meter, superseded ones stepped back. */
export function MeterTests({ meterId }: { meterId: string }) {
  const mayTest = useMay("meterTest.record");
  const tests = useQuery(testsOfMeterOptions(meterId));
  if (tests.error !== null) {
    return <ProblemNotice error={tests.error} onRetry={() => void tests.refetch()} />;
  }
  if (tests.data === undefined) return <Waiting what="the tests" />;
  if (tests.data.rows.length === 0) {
    return (
      <Empty title="This meter has not been tested yet.">
        {mayTest ? "Log a test when it is on the bench." : null}
      </Empty>
    );
  }
  return (
    <DataTable
      caption="Tests of this meter, newest first"
      rows={tests.data.rows}
      rowKey={(row) => row.id}
      isQuiet={(row) => row.supersededById !== null}
      columns={testColumns({ hasMeter: false })}
    />
  );
}
