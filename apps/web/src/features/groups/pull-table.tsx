import { listPulls, type Programme, type Pull } from "@sealbook/contract/groups";
import { useInfiniteQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { useEffect } from "react";
import { pagesOptions } from "../../api/operation-options.ts";
import { paths } from "../../paths.ts";
import { UnitStateMark } from "../../trade/lots/unit-state-mark.tsx";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { type Column, DataTable } from "../../ui/data-table.tsx";
import { Empty } from "../../ui/empty.tsx";
import { Waiting } from "../../ui/waiting.tsx";
import { pullsByArea } from "./pulls-by-area.ts";

const columns: Column<Pull>[] = [
  { heading: "Service point", cell: (pull) => pull.servicePoint ?? "–", isNowrap: true },
  { heading: "Address", cell: (pull) => pull.address ?? "–" },
  {
    heading: "Meter",
    isRowHeader: true,
    isNowrap: true,
    cell: (pull) => <Link to={paths.meter(pull.meterId)}>{pull.utilityNumber}</Link>,
  },
  { heading: "Serial", cell: (pull) => pull.serial, isNowrap: true, isNarrowHidden: true },
  { heading: "Form", cell: (pull) => pull.form },
  {
    heading: "Lot",
    isNowrap: true,
    cell: (pull) => (
      <>
        <Link to={paths.group(pull.lotId)}>{pull.lotNumber}</Link>, place {pull.place ?? "–"}
      </>
    ),
  },
  { heading: "Stands", cell: (pull) => <UnitStateMark state={pull.state} /> },
  { heading: "Due", cell: (pull) => pull.dueOn ?? "–", isNowrap: true },
];

/** The whole pull list, area by area: on paper nothing may wait on a further page. */
export function PullTable({
  programme,
  area,
  state,
}: {
  programme: Programme;
  /** "" is every area. */
  area: string;
  state: "open" | "all";
}) {
  const list = useInfiniteQuery(
    pagesOptions(listPulls, {
      params: { id: programme.id },
      query: { ...(area === "" ? {} : { area }), state, limit: 200 },
    }),
  );
  const { fetchNextPage, hasNextPage, isFetching, error } = list;
  useEffect(() => {
    if (hasNextPage && !isFetching && error === null) void fetchNextPage();
  }, [hasNextPage, isFetching, error, fetchNextPage]);
  if (list.data === undefined) {
    if (error !== null) return <ProblemNotice error={error} onRetry={() => void list.refetch()} />;
    return <Waiting what="the pull list" />;
  }
  const pulls = list.data.pages.flatMap((page) => page.rows);
  if (pulls.length === 0) {
    return state === "open" ? (
      <Empty title="Every meter of the sample has an outcome here.">Nothing is left to pull.</Empty>
    ) : (
      <Empty title="Nothing has been drawn yet." />
    );
  }
  return (
    <div className="stack">
      {error === null ? null : <ProblemNotice error={error} onRetry={() => void fetchNextPage()} />}
      <p className="quiet" aria-live="polite">
        {pulls.length} {pulls.length === 1 ? "meter" : "meters"}
        {hasNextPage ? " so far, the rest is being fetched" : ""}
      </p>
      {pullsByArea(pulls).map((one) => (
        <section key={one.area} className="pull-area stack-tight" aria-label={one.area || "No service point"}>
          <h2>
            {one.area || "No service point"}, {one.pulls.length} {one.pulls.length === 1 ? "meter" : "meters"}
          </h2>
          <DataTable
            caption={`Meters to pull, ${one.area || "no service point"}`}
            rows={one.pulls}
            rowKey={(pull) => `${pull.lotId} ${pull.position}`}
            columns={columns}
          />
        </section>
      ))}
    </div>
  );
}
