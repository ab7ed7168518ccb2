import { listWorkItems, testReasonNames } from "@sealbook/contract/work-items";
import { Link } from "@tanstack/react-router";
import { useMay } from "../../api/use-may.ts";
import { useShop } from "../../api/use-shop.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PagedTable } from "../../trade/paged-table.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { DueMark } from "./due-mark.tsx";

/** Tests that somebody waits for, most urgent first. */
export function WorkListPage() {
  const { today } = useShop();
  const mayAsk = useMay("workItem.open");
  const mayTest = useMay("meterTest.record");
  return (
    <div className="stack">
      <PageHeader
        title="Work"
        note="Tests that somebody waits for, most urgent first. Logging the test finishes them."
        actions={mayAsk ? <ButtonLink to={paths.newWork()}>Ask for a test</ButtonLink> : undefined}
      />
      <PagedTable
        operation={listWorkItems}
        input={{}}
        caption="Open work, most urgent first"
        noun={["test to make", "tests to make"]}
        rowKey={(item) => item.id}
        columns={[
          {
            heading: "Meter",
            isRowHeader: true,
            isNowrap: true,
            cell: (item) => <Link to={paths.meter(item.meterId)}>{item.utilityNumber}</Link>,
          },
          { heading: "Reason", cell: (item) => testReasonNames[item.reason] },
          { heading: "Due", cell: (item) => <DueMark dueOn={item.dueOn} today={today} />, isNowrap: true },
          { heading: "Note", cell: (item) => item.note, isNarrowHidden: true },
          {
            heading: "Asked",
            cell: (item) => <LocalInstant instant={item.openedAt} />,
            isNowrap: true,
            isNarrowHidden: true,
          },
          {
            heading: "By",
            cell: (item) => <PersonName person={item.openedBy} />,
            isNarrowHidden: true,
            isNowrap: true,
          },
          ...(mayTest
            ? [
                {
                  heading: "Test",
                  isNowrap: true,
                  cell: (item: { meterId: string; utilityNumber: string }) => (
                    <Link to={paths.logMeter(item.meterId)}>
                      Log it<span className="visually-hidden"> for meter {item.utilityNumber}</span>
                    </Link>
                  ),
                },
              ]
            : []),
        ]}
        empty={
          <Empty title="Nobody waits for a test.">
            {mayAsk ? "Ask for one when a meter needs it." : null}
          </Empty>
        }
      />
    </div>
  );
}
