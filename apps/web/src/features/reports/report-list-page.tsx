import { listReports, reportStateNames, reportStates } from "@sealbook/contract/reports";
import { Link } from "@tanstack/react-router";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PagedTable } from "../../trade/paged-table.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Select } from "../../ui/select.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { ReportStateMark } from "./report-state-mark.tsx";

/** Reports of periods, newest first; whoever prepares none sees those that were released. */
export function ReportListPage() {
  const mayPrepare = useMay("report.prepare");
  const [search, change] = useSearchText();
  const state = reportStates.find((one) => one === search.state);
  return (
    <div className="stack">
      <PageHeader
        title="Reports"
        note="What the tests of a period say. A released report never changes; a correction is another edition."
        actions={
          mayPrepare ? (
            <ButtonLink kind="primary" to={paths.newReport()}>
              Make a report
            </ButtonLink>
          ) : undefined
        }
      />
      {mayPrepare ? (
        <div className="row-fields">
          <Select
            label="State"
            value={state ?? ""}
            onChange={(next) => change({ state: next })}
            placeholder="Any state"
            options={reportStates.map((one) => ({ value: one, label: reportStateNames[one] }))}
          />
        </div>
      ) : null}
      <PagedTable
        operation={listReports}
        input={{ query: { state } }}
        caption="Reports, newest first"
        noun={["report", "reports"]}
        rowKey={(report) => report.id}
        isQuiet={(report) => report.state === "withdrawn"}
        columns={[
          {
            heading: "Report",
            isRowHeader: true,
            cell: (report) => <Link to={paths.report(report.id)}>{report.title}</Link>,
          },
          {
            heading: "Period",
            isNowrap: true,
            cell: (report) => `${report.periodFrom} to ${report.periodTo}`,
          },
          { heading: "Edition", isNumeric: true, cell: (report) => report.edition },
          { heading: "State", cell: (report) => <ReportStateMark state={report.state} /> },
          { heading: "Rules", isNarrowHidden: true, cell: (report) => <code>{report.profileKey}</code> },
          { heading: "Place", isNarrowHidden: true, cell: (report) => report.place ?? "Every place" },
          {
            heading: "Released",
            isMediumHidden: true,
            cell: (report) =>
              report.releasedAt === null ? "–" : <LocalInstant instant={report.releasedAt} />,
          },
        ]}
        empty={
          state === undefined ? (
            <Empty title={mayPrepare ? "No report is on record yet." : "No report is released yet."}>
              {mayPrepare ? "Make one of a period: its figures are counted from the record." : null}
            </Empty>
          ) : (
            <Empty title="No report is in this state.">Choose another, or any.</Empty>
          )
        }
      />
    </div>
  );
}
