import { listServicePoints } from "@sealbook/contract/service-points";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { SearchFilter } from "../../ui/search-filter.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";

/** Where customers are served. */
export function ServicePointListPage() {
  const [search, change] = useSearchText();
  const q = search.q ?? "";
  const mayAdd = useMay("servicePoint.manage");
  return (
    <div className="stack">
      <PageHeader
        title="Service points"
        note="Where a customer is served; the jurisdiction picks the rules that a meter there is judged by."
        actions={
          mayAdd ? <ButtonLink to={paths.newServicePoint()}>Add a service point</ButtonLink> : undefined
        }
      />
      <div className="row-fields">
        <SearchFilter label="Number" value={q} onChange={(next) => change({ q: next })} />
      </div>
      <PagedTable
        operation={listServicePoints}
        input={{ query: { q } }}
        caption="Service points by number"
        noun={["service point", "service points"]}
        rowKey={(point) => point.id}
        columns={[
          { heading: "Number", isRowHeader: true, isNowrap: true, cell: (point) => point.number },
          { heading: "Address", cell: (point) => point.address },
          { heading: "Area", cell: (point) => point.area, isNarrowHidden: true },
          { heading: "Rules of", cell: (point) => point.jurisdiction, isNowrap: true },
        ]}
        empty={
          q === "" ? (
            <Empty title="No service point is on record yet." />
          ) : (
            <Empty title="No service point matches.">Check the number.</Empty>
          )
        }
      />
    </div>
  );
}
