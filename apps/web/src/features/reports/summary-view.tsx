import "./summary-view.css";
import {
  measureNames,
  type Report,
  summaryDimensionNames,
  summaryPassNames,
  summaryRowName,
} from "@sealbook/contract/reports";
import type { SummaryRow } from "@sealbook/metrology/reports/summary-schema";
import { summaryDimensions } from "@sealbook/metrology/reports/summary-schema";
import type { RowFigure } from "@sealbook/metrology/reports/test-counter";
import { type Column, DataTable } from "../../ui/data-table.tsx";
import { Empty } from "../../ui/empty.tsx";
import { Panel } from "../../ui/panel.tsx";
import { Select } from "../../ui/select.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { FigureLink } from "./figure-link.tsx";

const counted: readonly { figure: RowFigure; heading: string; isNarrowHidden?: boolean }[] = [
  { figure: "tests", heading: "Tests" },
  { figure: "withinLimits", heading: "Within limits" },
  { figure: "outsideLimits", heading: "Outside limits" },
  { figure: "incomplete", heading: "Incomplete", isNarrowHidden: true },
  { figure: "noTestPossible", heading: "No test possible", isNarrowHidden: true },
  { figure: "leftOutsideLimits", heading: "Left outside limits", isNarrowHidden: true },
  { figure: "severalReasons", heading: "Several reasons", isNarrowHidden: true },
  { figure: "late", heading: "Late entries", isNarrowHidden: true },
];

const rowHeadings = {
  all: "Whole",
  type: "Type",
  reason: "Reason",
  phase: "Phase",
  "test-period": "Test period",
  "type-and-test-period": "Type and test period",
  standard: "Standard",
} as const;

/** The tests of a period, divided as one chooses, and their accuracy classes at one load. */
export function SummaryView({ report }: { report: Report }) {
  const [search, change] = useSearchText();
  const { summary } = report.body;
  const dimension = summaryDimensions.find((one) => one === search.by) ?? "type";
  const rows = summary.divisions.find((division) => division.dimension === dimension)?.rows ?? [];
  const whole = summary.divisions.find((division) => division.dimension === "all")?.rows[0];
  const loads = (whole?.measures ?? []).map(({ pass, measure }) => ({
    value: `${pass}/${measure}`,
    label: `${measureNames[measure]}, ${summaryPassNames[pass]}`,
  }));
  const load =
    loads.find(({ value }) => value === search.load) ??
    loads.find(({ value }) => value === "asFound/average");
  const rowName = (row: SummaryRow) => summaryRowName(dimension, row.key, report.body);
  // The whole stands under its parts; a division by reason counts a test under each of its reasons.
  const shown = dimension === "all" || whole === undefined ? rows : [...rows, whole];
  const isWhole = (row: SummaryRow) => dimension !== "all" && row === whole;
  const named: Column<SummaryRow> = {
    heading: rowHeadings[dimension],
    isRowHeader: true,
    isNowrap: true,
    cell: (row) => (isWhole(row) ? "All tests" : rowName(row)),
  };
  const link = (row: SummaryRow, count: number, figure: string, says: string) => (
    <FigureLink
      reportId={report.id}
      count={count}
      dimension={isWhole(row) ? "all" : dimension}
      rowKey={row.key}
      figure={figure}
      says={says}
    />
  );
  return (
    <Panel title="Tests of the period">
      <div className="row-fields">
        <Select
          label="Divide"
          value={dimension}
          onChange={(by) => change({ by })}
          options={summaryDimensions.map((one) => ({ value: one, label: summaryDimensionNames[one] }))}
        />
        <Select
          label="Classes of"
          value={load?.value ?? ""}
          onChange={(next) => change({ load: next })}
          options={loads}
        />
      </div>
      {rows.length === 0 ? (
        <Empty title="No test of the period is counted here." />
      ) : (
        <>
          <DataTable
            caption={`${summaryDimensionNames[dimension]}: tests`}
            isCaptionHidden={false}
            rows={shown}
            rowKey={(row) => (isWhole(row) ? "whole" : row.key)}
            columns={[
              named,
              ...counted.map(
                ({ figure, ...look }): Column<SummaryRow> => ({
                  ...look,
                  isNumeric: true,
                  cell: (row) => link(row, row[figure], figure, look.heading),
                }),
              ),
            ]}
          />
          {load === undefined ? null : (
            <div className="report-classes">
              <DataTable
                caption={`${summaryDimensionNames[dimension]}: ${load.label}, percent registration`}
                isCaptionHidden={false}
                rows={shown}
                rowKey={(row) => (isWhole(row) ? "whole" : row.key)}
                columns={[
                  named,
                  {
                    heading: "Outside limits",
                    isNumeric: true,
                    cell: (row) =>
                      link(
                        row,
                        measureOf(row, load.value)?.outsideLimits ?? 0,
                        `${load.value}/outsideLimits`,
                        "outside limits",
                      ),
                  },
                  ...summary.layout.classes.map(
                    ({ key, label }, place): Column<SummaryRow> => ({
                      heading: label,
                      isNumeric: true,
                      cell: (row) =>
                        link(
                          row,
                          measureOf(row, load.value)?.classes[place] ?? 0,
                          `${load.value}/${key}`,
                          label,
                        ),
                    }),
                  ),
                ]}
              />
            </div>
          )}
        </>
      )}
      <p className="quiet small">
        A registration is rounded to{" "}
        {summary.layout.places === 1 ? "one decimal" : `${summary.layout.places} decimals`}, half away from
        zero, before it is counted in a band. Not recording goes before creeping, creeping before the bands.
        Outside limits is counted apart, as the test was judged, unrounded: 102.04 stands in the band up to
        102.0 and fails a limit of 102.
        {dimension === "reason" ? " A test that answers several reasons is counted under each." : ""}
        {dimension === "test-period" || dimension === "type-and-test-period"
          ? " A test period is counted in whole years since the meter’s test before."
          : ""}
      </p>
    </Panel>
  );
}

function measureOf(row: SummaryRow, load: string) {
  return row.measures.find(({ pass, measure }) => `${pass}/${measure}` === load);
}
