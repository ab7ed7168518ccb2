import {
  getReport,
  listReportedTests,
  measureNames,
  type Report,
  type ReportedTestRow,
  summaryRowName,
  untestableName,
} from "@sealbook/contract/reports";
import { type TestReason, testReasonNames } from "@sealbook/contract/work-items";
import { measures } from "@sealbook/metrology/reports/reported-test";
import { type SummaryDimension, summaryDimensions } from "@sealbook/metrology/reports/summary-schema";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
import { RegistrationPercent } from "../../trade/registration-percent.tsx";
import { VerdictMark } from "../../trade/verdict-mark.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { useSearchText } from "../../ui/use-search-text.ts";
import { figureWords } from "./figure-words.ts";

/** The tests behind one number of a report. */
export function ReportedTestsPage() {
  const reportId = useRouteParam("reportId");
  const [search] = useSearchText();
  const maySeeTests = useMay("meterTest.read");
  const { data: report } = useSuspenseQuery({
    ...operationOptions(getReport, { params: { id: reportId } }),
    refetchOnWindowFocus: false,
  });
  const dimension = summaryDimensions.find((one) => one === search.by) ?? "all";
  const key = search.row ?? "";
  const figure = search.figure ?? "tests";
  return (
    <div className="stack">
      <PageHeader
        title={titleOf(report, dimension, key, figure)}
        note={
          <>
            Tests behind a number of{" "}
            <Link to={paths.report(report.id)} search={dimension === "all" ? {} : { by: dimension }}>
              {report.title}, edition {report.edition}
            </Link>
            {report.state === "draft" ? ", as it stands now" : ", as they were when its figures were fixed"}
          </>
        }
      />
      <PagedTable
        operation={listReportedTests}
        input={{ params: { id: reportId }, query: { dimension, key, figure } }}
        caption="Tests behind the number"
        noun={["test", "tests"]}
        rowKey={(test) => test.id}
        isQuiet={(test) => test.state !== "counted"}
        columns={[
          {
            heading: "Meter",
            isRowHeader: true,
            isNowrap: true,
            cell: (test) =>
              maySeeTests ? <Link to={paths.test(test.id)}>{test.utilityNumber}</Link> : test.utilityNumber,
          },
          { heading: "Performed", isNowrap: true, cell: (test) => test.performedOn },
          { heading: "Type", isNarrowHidden: true, cell: (test) => test.type },
          {
            heading: "Reasons",
            isMediumHidden: true,
            cell: (test) =>
              test.reasons.map((reason) => testReasonNames[reason as TestReason] ?? reason).join(", "),
          },
          {
            heading: "As found",
            cell: (test) => (
              <>
                <VerdictMark verdict={test.verdict} />
                {test.untestableReason === null ? null : (
                  <span className="quiet"> {untestableName(test.untestableReason)}</span>
                )}
                {test.creeps === true ? <span className="quiet"> creeps</span> : null}
              </>
            ),
          },
          ...measures.map((measure) => ({
            heading: `${measureNames[measure]}, %`,
            isNumeric: true,
            isNarrowHidden: measure !== "average",
            cell: (test: ReportedTestRow) => <RegistrationPercent value={test[measure]} places={3} />,
          })),
          {
            heading: "Test before",
            isWideOnly: true,
            isNowrap: true,
            cell: (test) => test.previousOn ?? "–",
          },
        ]}
        empty={<Empty title="No test stands behind this number." />}
      />
    </div>
  );
}

function titleOf(report: Report, dimension: SummaryDimension, key: string, figure: string): string {
  const words = figureWords(figure, report.body.summary.layout.classes);
  return dimension === "all" ? words : `${summaryRowName(dimension, key, report.body)}: ${words}`;
}
