import { listSchemes } from "@sealbook/contract/sampling-schemes";
import { samplingCharacteristicNames } from "@sealbook/metrology/sampling/decision/sampling-scheme";
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
import { planWords, purposeNames } from "./scheme-words.ts";

/** Sampling schemes in their current revisions. */
export function SchemeListPage() {
  const [search, change] = useSearchText();
  const mayManage = useMay("sampling.manageSchemes");
  const purpose = (["shipment", "in-service"] as const).find((one) => one === search.purpose);
  return (
    <div className="stack">
      <PageHeader
        title="Sampling schemes"
        note="What is judged on a lot, by which plan, and what becomes of meters that cannot be tested."
        actions={
          <>
            <Link to={paths.planChooser()}>Try out a plan</Link>
            {mayManage ? <ButtonLink to={paths.newScheme()}>Add a scheme</ButtonLink> : null}
          </>
        }
      />
      <div className="row-fields">
        <Select
          label="For"
          value={purpose ?? ""}
          onChange={(next) => change({ purpose: next })}
          placeholder="Shipments and groups"
          options={(["shipment", "in-service"] as const).map((one) => ({
            value: one,
            label: purposeNames[one],
          }))}
        />
      </div>
      <PagedTable
        operation={listSchemes}
        input={{ query: { purpose } }}
        caption="Sampling schemes by code"
        noun={["scheme", "schemes"]}
        rowKey={(scheme) => scheme.id}
        columns={[
          {
            heading: "Code",
            isRowHeader: true,
            isNowrap: true,
            cell: (scheme) => <Link to={paths.scheme(scheme.id)}>{scheme.code}</Link>,
          },
          { heading: "Revision", cell: (scheme) => scheme.revision, isNumeric: true },
          { heading: "Name", cell: (scheme) => scheme.name },
          { heading: "For", cell: (scheme) => purposeNames[scheme.body.purpose] },
          { heading: "Plan", cell: (scheme) => planWords(scheme.body) },
          {
            heading: "Judged on",
            cell: (scheme) =>
              scheme.body.characteristics
                .map((one) => samplingCharacteristicNames[one.characteristic].toLowerCase())
                .join(", "),
            isNarrowHidden: true,
          },
          {
            heading: "On record since",
            cell: (scheme) => <LocalInstant instant={scheme.recordedAt} />,
            isNarrowHidden: true,
          },
        ]}
        empty={
          <Empty title="No sampling scheme is on record here.">
            {mayManage
              ? "Add one: those that come with the product name what their source leaves open."
              : "A quality engineer or a supervisor puts one on record."}
          </Empty>
        }
      />
    </div>
  );
}
