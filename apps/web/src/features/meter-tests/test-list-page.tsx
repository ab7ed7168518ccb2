import { listMeterTests } from "@sealbook/contract/meter-tests";
import { verdictNames, verdicts } from "@sealbook/contract/meters";
import { testReasonNames, testReasons } from "@sealbook/contract/work-items";
import { Link } from "@tanstack/react-router";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
import { testColumns } from "../../trade/test-columns.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { DateFilter } from "../../ui/date-filter.tsx";
import { Empty } from "../../ui/empty.tsx";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Select } from "../../ui/select.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";

const columns = testColumns({ hasMeter: true });

/** Every test, newest first. The filters stand in the address. */
export function TestListPage() {
  const [search, change] = useSearchText();
  const mayRecord = useMay("meterTest.record");
  const reason = testReasons.find((one) => one === search.reason);
  const asFound = verdicts.find((one) => one === search.asFound);
  const performedFrom = dateIn(search.from);
  const performedTo = dateIn(search.to);
  const { importId, meterId, standardId } = search;
  const isFiltered = [reason, asFound, performedFrom, performedTo, importId, meterId, standardId].some(
    (filter) => filter !== undefined,
  );
  return (
    <div className="stack">
      <PageHeader
        title="Tests"
        actions={mayRecord ? <ButtonLink to={paths.log()}>Log a test</ButtonLink> : undefined}
      />
      {importId === undefined ? null : (
        <Notice>
          <p>
            Only tests of <Link to={paths.import(importId)}>one import</Link>.{" "}
            <Link to={paths.tests()}>Show all</Link>
          </p>
        </Notice>
      )}
      {meterId === undefined ? null : (
        <Notice>
          <p>
            Only tests of <Link to={paths.meter(meterId)}>one meter</Link>.{" "}
            <Link to={paths.tests()}>Show all</Link>
          </p>
        </Notice>
      )}
      {standardId === undefined ? null : (
        <Notice>
          <p>
            Only tests that leaned on <Link to={paths.standard(standardId)}>one standard</Link>.{" "}
            <Link to={paths.tests()}>Show all</Link>
          </p>
        </Notice>
      )}
      <div className="row-fields">
        <Select
          label="Reason"
          value={reason ?? ""}
          onChange={(next) => change({ reason: next })}
          placeholder="Any reason"
          options={testReasons.map((one) => ({ value: one, label: testReasonNames[one] }))}
        />
        <Select
          label="As found"
          value={asFound ?? ""}
          onChange={(next) => change({ asFound: next })}
          placeholder="Any verdict"
          options={verdicts.map((one) => ({ value: one, label: verdictNames[one] }))}
        />
        <DateFilter label="Performed from" value={search.from ?? ""} onChange={(from) => change({ from })} />
        <DateFilter label="Performed to" value={search.to ?? ""} onChange={(to) => change({ to })} />
      </div>
      <PagedTable
        operation={listMeterTests}
        input={{ query: { reason, asFound, performedFrom, performedTo, importId, meterId, standardId } }}
        caption="Tests, newest first"
        noun={["test", "tests"]}
        rowKey={(test) => test.id}
        isQuiet={(test) => test.supersededById !== null}
        columns={columns}
        empty={
          isFiltered ? (
            <Empty title="No test matches.">Take a filter away.</Empty>
          ) : (
            <Empty title="No test is on record yet.">
              {mayRecord ? "Log one, or import a bench’s file." : null}
            </Empty>
          )
        }
      />
    </div>
  );
}

/** A date from the address; anything else is no filter. */
function dateIn(text: string | undefined): string | undefined {
  return text !== undefined && /^\d{4}-\d{2}-\d{2}$/.test(text) ? text : undefined;
}
