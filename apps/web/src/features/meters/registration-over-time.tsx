import { getMeterTest, type MeterTest } from "@sealbook/contract/meter-tests";
import { useQuery } from "@tanstack/react-query";
import { lazy, Suspense } from "react";
import { operationOptions } from "../../api/operation-options.ts";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { Empty } from "../../ui/empty.tsx";
import { Waiting } from "../../ui/waiting.tsx";
import type { SeriesLimits } from "./registration-chart.tsx";
import { registrationSeries } from "./registration-series.ts";
import { testsOfMeterOptions } from "./requests.ts";

const RegistrationChart = lazy(async () => ({
  default: (await import("./registration-chart.tsx")).RegistrationChart,
}));

/** The chart of a meter's registration, with the limits that its last test was judged by. */
export function RegistrationOverTime({ meterId }: { meterId: string }) {
  const tests = useQuery(testsOfMeterOptions(meterId));
  const lastTest = tests.data?.rows.find(
    (row) => row.supersededById === null && row.asFound !== "no-test-possible",
  );
  const last = useQuery({
    ...operationOptions(getMeterTest, { params: { id: lastTest?.id ?? "" } }),
    enabled: lastTest !== undefined,
  });
  if (tests.error !== null) {
    return <ProblemNotice error={tests.error} onRetry={() => void tests.refetch()} />;
  }
  if (tests.data === undefined) return <Waiting what="the figures" />;
  const series = registrationSeries(tests.data.rows);
  if (series.length === 0) return <Empty title="No test has given a registration yet." />;
  return (
    <Suspense fallback={<Waiting what="the chart" />}>
      <RegistrationChart series={series} limits={last.data === undefined ? {} : limitsOf(last.data)} />
    </Suspense>
  );
}

/** The limits of each series at a test: of the average, and of the point that plays each role. */
function limitsOf(test: MeterTest): SeriesLimits {
  const pass = test.evaluation.asFound;
  if (pass === null) return {};
  const found: SeriesLimits = {};
  if (pass.average?.limits != null) found.average = pass.average.limits;
  for (const { key, role } of test.plan.body.points) {
    const limits = pass.points.find((point) => point.pointKey === key)?.limits ?? null;
    if (role !== "none" && limits !== null) found[role] ??= limits;
  }
  return found;
}
