import { listStandards } from "@sealbook/contract/standards";
import { Link } from "@tanstack/react-router";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { StandardStatusMark } from "./standard-status-mark.tsx";

/** The standards that every test leans on, the most urgent first. */
export function StandardListPage() {
  const mayManage = useMay("standard.manage");
  return (
    <div className="stack">
      <PageHeader
        title="Standards"
        note="The most urgent first. A test cannot lean on one that is overdue."
        actions={mayManage ? <ButtonLink to={paths.newStandard()}>Add a standard</ButtonLink> : undefined}
      />
      <PagedTable
        operation={listStandards}
        input={{ query: {} }}
        caption="Standards, most urgent first"
        noun={["standard", "standards"]}
        rowKey={(standard) => standard.id}
        isQuiet={(standard) => standard.withdrawn}
        columns={[
          {
            heading: "Designation",
            isRowHeader: true,
            isNowrap: true,
            cell: (standard) => <Link to={paths.standard(standard.id)}>{standard.designation}</Link>,
          },
          { heading: "Status", cell: (standard) => <StandardStatusMark status={standard.status} /> },
          { heading: "Due on", isNowrap: true, cell: (standard) => standard.dueOn ?? "–" },
          {
            heading: "Calibrated on",
            isNowrap: true,
            isNarrowHidden: true,
            cell: (standard) => standard.calibratedOn ?? "–",
          },
          {
            heading: "Certificate",
            isNowrap: true,
            isNarrowHidden: true,
            cell: (standard) => standard.certificateNumber ?? "–",
          },
          {
            heading: "Rank",
            isNarrowHidden: true,
            cell: (standard) => (standard.rank === "reference" ? "Reference" : "Working"),
          },
          {
            heading: "Maker and model",
            isNarrowHidden: true,
            cell: (standard) => `${standard.maker} ${standard.model}`,
          },
          { heading: "Serial", isNowrap: true, isNarrowHidden: true, cell: (standard) => standard.serial },
          { heading: "Place", isNarrowHidden: true, cell: (standard) => standard.place },
        ]}
        empty={
          <Empty title="No standard is on record yet.">
            {mayManage
              ? "Add the shop’s best first, then the working standards that are compared with it."
              : null}
          </Empty>
        }
      />
    </div>
  );
}
