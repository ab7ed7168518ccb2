import { lotKindNames, lotOutcomeNames } from "@sealbook/contract/lot-terms";
import { type Report, type ReportBody, untestableName } from "@sealbook/contract/reports";
import { samplingCharacteristicNames } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { Link } from "@tanstack/react-router";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { DataTable } from "../../ui/data-table.tsx";
import { Empty } from "../../ui/empty.tsx";
import { Panel } from "../../ui/panel.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { FigureLink } from "./figure-link.tsx";

/** Tests without a result, and records that no count holds. */
export function NotCountedTable({ report }: { report: Report }) {
  const { summary } = report.body;
  const rows = [
    ...summary.untestable.map(({ reason, tests }) => ({
      what: `No test possible: ${untestableName(reason).toLowerCase()}`,
      figure: `untestable/${reason}`,
      count: tests,
    })),
    {
      what: "Set aside: amended by a later record",
      figure: "setAside/amended",
      count: summary.setAside.amended,
    },
    { what: "Set aside: withdrawn", figure: "setAside/withdrawn", count: summary.setAside.withdrawn },
  ];
  return (
    <Panel title="No test possible, and records set aside">
      <DataTable
        caption="Records by what became of them"
        rows={rows}
        rowKey={(row) => row.figure}
        columns={[
          { heading: "What", isRowHeader: true, cell: (row) => row.what },
          {
            heading: "Records",
            isNumeric: true,
            cell: (row) => (
              <FigureLink
                reportId={report.id}
                count={row.count}
                dimension="all"
                rowKey=""
                figure={row.figure}
                says={row.what}
              />
            ),
          },
        ]}
      />
    </Panel>
  );
}

/** Lots and groups that were decided in the period, with their results and what was rejected. */
export function LotTables({ body }: { body: ReportBody }) {
  const maySeeLots = useMay("sampling.read");
  const results = body.lots.flatMap((lot) => lot.characteristics.map((one) => ({ lot, one })));
  const nameOf = (lot: ReportBody["lots"][number]) =>
    maySeeLots ? (
      <Link to={lot.kind === "shipment" ? paths.shipment(lot.id) : paths.group(lot.id)}>{lot.number}</Link>
    ) : (
      lot.number
    );
  return (
    <>
      <Panel title="Lots and groups decided">
        {body.lots.length === 0 ? (
          <Empty title="No lot was decided in this period." />
        ) : (
          <>
            <DataTable
              caption="Lots decided, by number"
              rows={body.lots}
              rowKey={(lot) => lot.id}
              columns={[
                { heading: "Lot", isRowHeader: true, isNowrap: true, cell: nameOf },
                { heading: "Kind", isNarrowHidden: true, cell: (lot) => lotKindNames[lot.kind] },
                { heading: "Meters", cell: (lot) => lot.title },
                { heading: "Size", isNumeric: true, cell: (lot) => lot.size },
                { heading: "Scheme", isNarrowHidden: true, isNowrap: true, cell: (lot) => lot.scheme },
                { heading: "Decided", isNarrowHidden: true, isNowrap: true, cell: (lot) => lot.decidedOn },
                {
                  heading: "Outcome",
                  cell: (lot) => (
                    <StatusMark tone={lot.outcome === "not-accepted" ? "bad" : "good"}>
                      {lotOutcomeNames[lot.outcome]}
                    </StatusMark>
                  ),
                },
              ]}
            />
            <DataTable
              caption="Plans and results"
              isCaptionHidden={false}
              rows={results}
              rowKey={({ lot, one }) => `${lot.id} ${one.characteristic}`}
              columns={[
                { heading: "Lot", isRowHeader: true, isNowrap: true, cell: ({ lot }) => nameOf(lot) },
                {
                  heading: "Judged on",
                  isNowrap: true,
                  cell: ({ one }) => samplingCharacteristicNames[one.characteristic],
                },
                { heading: "Inspection", cell: ({ one }) => one.severity },
                { heading: "Plan", isMediumHidden: true, isNowrap: true, cell: ({ one }) => one.plan },
                { heading: "n", isNumeric: true, cell: ({ one }) => one.n },
                { heading: "Counted", isNumeric: true, isNarrowHidden: true, cell: ({ one }) => one.counted },
                { heading: "Nonconforming", isNumeric: true, cell: ({ one }) => one.nonconforming },
                { heading: "Mean, %", isNarrowHidden: true, decimal: ({ one }) => one.mean },
                { heading: "s, %", isNarrowHidden: true, decimal: ({ one }) => one.s },
                {
                  heading: "Nonconforming, %",
                  isNarrowHidden: true,
                  decimal: ({ one }) => one.percentNonconforming,
                },
                { heading: "Lot before", isWideOnly: true, cell: ({ one }) => one.change?.since ?? "–" },
                {
                  heading: "Change of mean",
                  isMediumHidden: true,
                  decimal: ({ one }) => one.change?.mean ?? null,
                },
                { heading: "Change of s", isWideOnly: true, decimal: ({ one }) => one.change?.s ?? null },
                {
                  heading: "Change of nonconforming",
                  isWideOnly: true,
                  decimal: ({ one }) => one.change?.percentNonconforming ?? null,
                },
              ]}
            />
          </>
        )}
      </Panel>
      <Panel title="Rejected lots">
        {body.rejectedLots.length === 0 ? (
          <Empty title="No lot was rejected in this period." />
        ) : (
          <DataTable
            caption="Rejected lots, as R 460.3617(b) and (c) of the Michigan Administrative Code ask for them"
            isCaptionHidden={false}
            rows={body.rejectedLots}
            rowKey={(lot) => lot.id}
            columns={[
              { heading: "Lot", isRowHeader: true, isNowrap: true, cell: (lot) => lot.number },
              { heading: "Maker", cell: (lot) => lot.maker },
              { heading: "Type", cell: (lot) => lot.model },
              { heading: "Sampled", isNarrowHidden: true, cell: (lot) => (lot.sampled ? "Yes" : "No") },
              {
                heading: "Months since last test",
                isShortFor: "Average months since the last test",
                decimal: (lot) => lot.averageMonthsSinceLastTest,
              },
              { heading: "Tightened", cell: (lot) => (lot.tightened ? "Yes" : "No") },
              {
                heading: "Purchase years",
                isNarrowHidden: true,
                cell: (lot) => (lot.purchaseYears.length === 0 ? "–" : lot.purchaseYears.join(", ")),
              },
              { heading: "Least as found, %", isNarrowHidden: true, decimal: (lot) => lot.leastAsFound },
              {
                heading: "Greatest as found, %",
                isNarrowHidden: true,
                decimal: (lot) => lot.greatestAsFound,
              },
            ]}
          />
        )}
      </Panel>
    </>
  );
}

export function ActionTable({ body }: { body: ReportBody }) {
  return (
    <Panel title="Corrective actions">
      {body.actions.length === 0 ? (
        <Empty title="No corrective action was open in this period." />
      ) : (
        <DataTable
          caption="Corrective actions, by due date"
          rows={body.actions}
          rowKey={(action) => action.id}
          columns={[
            { heading: "Lot", isRowHeader: true, isNowrap: true, cell: (action) => action.lotNumber },
            { heading: "Action", cell: (action) => action.kind },
            { heading: "What", isNarrowHidden: true, cell: (action) => action.detail },
            { heading: "Due", isNowrap: true, cell: (action) => action.dueOn },
            {
              heading: "State",
              cell: (action) => (
                <StatusMark tone={action.overdue ? "bad" : action.doneOn === null ? "warn" : "good"}>
                  {action.doneOn === null ? "Open" : `Done ${action.doneOn}`}
                  {action.overdue ? ", past its date" : ""}
                </StatusMark>
              ),
            },
          ]}
        />
      )}
    </Panel>
  );
}

const statusLooks = {
  valid: ["good", "Valid"],
  "due-soon": ["warn", "Due within 30 days"],
  overdue: ["bad", "Overdue"],
  "never-calibrated": ["bad", "Never calibrated"],
  withdrawn: ["neutral", "Withdrawn"],
} as const;

export function StandardTable({ report }: { report: Report }) {
  const { standards, period } = report.body;
  const maySeeStandards = useMay("standard.read");
  return (
    <Panel title={`Standards as of ${period.to}`}>
      {standards.length === 0 ? (
        <Empty title="No standard was on record." />
      ) : (
        <DataTable
          caption="Standards"
          rows={standards}
          rowKey={(standard) => standard.id}
          columns={[
            {
              heading: "Standard",
              isRowHeader: true,
              isNowrap: true,
              cell: (standard) =>
                maySeeStandards ? (
                  <Link to={paths.standard(standard.id)}>{standard.designation}</Link>
                ) : (
                  standard.designation
                ),
            },
            {
              heading: "Status",
              cell: ({ status }) => (
                <StatusMark tone={statusLooks[status][0]}>{statusLooks[status][1]}</StatusMark>
              ),
            },
            {
              heading: "Calibrated",
              isNarrowHidden: true,
              isNowrap: true,
              cell: (standard) => standard.calibratedOn ?? "–",
            },
            { heading: "Due", isNowrap: true, cell: (standard) => standard.dueOn ?? "–" },
            {
              heading: "Certificate",
              isMediumHidden: true,
              cell: (standard) => standard.certificateNumber ?? "–",
            },
            {
              heading: "Tests",
              isNumeric: true,
              cell: (standard) => (
                <FigureLink
                  reportId={report.id}
                  count={standard.tests}
                  dimension="standard"
                  rowKey={standard.id}
                  figure="tests"
                  says={`tests that leaned on ${standard.designation}`}
                />
              ),
            },
            {
              heading: "Exceptions",
              isNarrowHidden: true,
              cell: (standard) => (standard.exceptions.length === 0 ? "None" : standard.exceptions.join(" ")),
            },
          ]}
        />
      )}
    </Panel>
  );
}

export function SetAsideRowsTable({ body }: { body: ReportBody }) {
  return (
    <Panel title="Rows of files set aside">
      {body.setAsideRows.length === 0 ? (
        <Empty title="No row of a file was set aside in this period." />
      ) : (
        <DataTable
          caption="Rows of files set aside, by reason"
          rows={body.setAsideRows}
          rowKey={(row) => row.code}
          columns={[
            { heading: "For example", isRowHeader: true, cell: (row) => row.detail },
            { heading: "Rows", isNumeric: true, cell: (row) => row.rows },
            { heading: "Files", isNumeric: true, cell: (row) => row.imports },
          ]}
        />
      )}
    </Panel>
  );
}
