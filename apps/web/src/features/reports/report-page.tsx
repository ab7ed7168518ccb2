import "./report-page.css";
import {
  getReport,
  getReportBundle,
  getReportCsv,
  getReportJson,
  getReportPdf,
  getReportSheet,
  type Report,
  reportSignatureNames,
} from "@sealbook/contract/reports";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../../api/operation-options.ts";
import { operationUrl } from "../../api/operation-url.ts";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { EntriesLink } from "../../trade/entries-link.tsx";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { Empty } from "../../ui/empty.tsx";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { ChangesTable } from "./changes-table.tsx";
import { HowToVerify } from "./how-to-verify.tsx";
import { ReportStateMark } from "./report-state-mark.tsx";
import { ReportSteps } from "./report-steps.tsx";
import {
  ActionTable,
  LotTables,
  NotCountedTable,
  SetAsideRowsTable,
  StandardTable,
} from "./section-tables.tsx";
import { SummaryView } from "./summary-view.tsx";

/** One report: its figures, each of which opens its tests, and the way to its release. */
export function ReportPage() {
  const reportId = useRouteParam("reportId");
  const { data: report } = useSuspenseQuery({
    ...operationOptions(getReport, { params: { id: reportId } }),
    refetchOnWindowFocus: false,
  });
  const { body } = report;
  return (
    <div className="stack">
      <PageHeader
        title={report.title}
        note={
          <>
            <ReportStateMark state={report.state} /> · {report.periodFrom} to {report.periodTo} ·{" "}
            {report.place ?? "every place"} · edition {report.edition}
          </>
        }
      />
      <Standing report={report} />
      <Particulars report={report} />
      <ReportSteps report={report} />
      <HandedOut report={report} />
      <SummaryView report={report} />
      <NotCountedTable report={report} />
      <LotTables body={body} />
      <ActionTable body={body} />
      <StandardTable report={report} />
      <SetAsideRowsTable body={body} />
      {body.changes === null || body.corrects === null ? null : (
        <Panel title={`What this edition changes against edition ${body.corrects.edition}`}>
          <ChangesTable body={body} changes={body.changes} />
        </Panel>
      )}
      <p className="quiet small">{body.caution}</p>
    </div>
  );
}

function Standing({ report }: { report: Report }) {
  if (report.withdrawn !== null) {
    return (
      <Notice title="This report was given up before its release.">
        {report.withdrawn.by === null ? "The service" : <PersonName person={report.withdrawn.by} />},{" "}
        <LocalInstant instant={report.withdrawn.at} />: {report.withdrawn.reason}
      </Notice>
    );
  }
  return (
    <>
      {report.correctedById === null ? null : (
        <Notice title="Another edition of this report is on record.">
          <Link to={paths.report(report.correctedById)}>Open the next edition</Link>
        </Notice>
      )}
      {report.recordedSince === null || report.recordedSince === 0 ? null : (
        <Notice
          tone="warn"
          title={`${report.recordedSince === 1 ? "1 record" : `${report.recordedSince} records`} of this period came after the figures were fixed.`}
        >
          This report stays as it is. The next edition takes them in and lists them as late entries.
        </Notice>
      )}
    </>
  );
}

function Particulars({ report }: { report: Report }) {
  const { body } = report;
  const maySeeLedger = useMay("ledger.read");
  return (
    <DefinitionList
      items={[
        {
          term: "Rules",
          value: (
            <Link to={paths.rule(body.profile.id)}>
              {body.profile.title}, version {body.profile.version}
            </Link>
          ),
        },
        {
          term: "Accuracy bands",
          value: (
            <>
              <Link to={paths.rule(body.layout.id)}>
                {body.layout.title}, version {body.layout.version}
              </Link>{" "}
              <span className="quiet small">{body.summary.layout.source}</span>
            </>
          ),
        },
        { term: "Recorded up to", value: <LocalInstant instant={body.cutoff} /> },
        ...(body.lateSince === null
          ? []
          : [
              {
                term: "Late entries",
                value: (
                  <>
                    Recorded after <LocalInstant instant={body.lateSince} />
                  </>
                ),
              },
            ]),
        ...(body.corrects === null
          ? []
          : [
              {
                term: "Stands in for",
                value: (
                  <>
                    <Link to={paths.report(body.corrects.id)}>Edition {body.corrects.edition}</Link>:{" "}
                    {body.corrects.reason}
                  </>
                ),
              },
            ]),
        {
          term: "Manifest",
          value: (
            <>
              {body.manifest.tests.toLocaleString("en-US")}{" "}
              {body.manifest.tests === 1 ? "record of a test" : "records of tests"}
              {body.manifest.root === null ? null : (
                <>
                  , root <code className="report-hash">{body.manifest.root}</code>
                </>
              )}
            </>
          ),
        },
        ...(report.sha256 === null
          ? []
          : [
              { term: "SHA-256 of the figures", value: <code className="report-hash">{report.sha256}</code> },
            ]),
        {
          term: "Drafted by",
          value: report.author === null ? "The service" : <PersonName person={report.author} />,
        },
        ...report.signatures.map((signature) => ({
          term:
            Object.entries(reportSignatureNames).find(([meaning]) => meaning === signature.meaning)?.[1] ??
            "",
          value: (
            <>
              <PersonName person={signature.person} />, <LocalInstant instant={signature.signedAt} />
            </>
          ),
        })),
        ...(maySeeLedger ? [{ term: "Ledger", value: <EntriesLink subjectId={report.id} /> }] : []),
      ]}
    />
  );
}

/** What is handed out of a report: documents, data, evidence. */
function HandedOut({ report }: { report: Report }) {
  const mayPrepare = useMay("report.prepare");
  const params = { id: report.id };
  const isReleased = report.state === "released";
  return (
    <Panel title="Handed out">
      <div className="row">
        {isReleased ? (
          <a className="button" href={operationUrl(getReportPdf, params)} target="_blank" rel="noreferrer">
            Document (PDF)
          </a>
        ) : null}
        <a className="button" href={operationUrl(getReportSheet, params)} download>
          Spreadsheet
        </a>
        <a className="button" href={operationUrl(getReportCsv, params)} download>
          CSV
        </a>
        <a className="button" href={operationUrl(getReportJson, params)} download>
          Data (JSON)
        </a>
        {isReleased ? (
          <>
            <a
              className="button"
              href={operationUrl(getReportBundle, params, { names: "left-out" })}
              download
            >
              Evidence bundle
            </a>
            {mayPrepare ? (
              <a
                className="button"
                href={operationUrl(getReportBundle, params, { names: "opened" })}
                download
              >
                Evidence bundle with names
              </a>
            ) : null}
          </>
        ) : null}
      </div>
      {isReleased ? (
        <>
          <p className="quiet small">
            The evidence bundle holds every record behind these figures with its proof in the signed log, so
            that a stranger can check them alone.
          </p>
          <HowToVerify reportId={params.id} />
        </>
      ) : (
        <Empty title="The document and the evidence bundle are made at the release." />
      )}
    </Panel>
  );
}
