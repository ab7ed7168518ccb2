import { listPlaces, placeKindNames } from "@sealbook/contract/places";
import { Link } from "@tanstack/react-router";
import { useState } from "react";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
import { Button } from "../../ui/button.tsx";
import { Checkbox } from "../../ui/checkbox.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { SearchFilter } from "../../ui/search-filter.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { AddPlaceDialog } from "./add-place-dialog.tsx";

/** The utility's own places: shops, store rooms and their shelves, vans. */
export function PlaceListPage() {
  const [search, change] = useSearchText();
  const [isAdding, setAdding] = useState(false);
  const mayManage = useMay("place.manage");
  const q = search.q ?? "";
  const closed = search.closed === "yes" ? "yes" : "no";
  return (
    <div className="stack">
      <PageHeader
        title="Places"
        note="Where meters are kept: shops, store rooms, shelves and vans."
        actions={mayManage ? <Button onClick={() => setAdding(true)}>Add a place</Button> : undefined}
      />
      <div className="row-fields">
        <SearchFilter label="Name" value={q} onChange={(next) => change({ q: next })} />
        <Checkbox isSelected={closed === "yes"} onChange={(isOn) => change({ closed: isOn ? "yes" : "" })}>
          Closed places, too
        </Checkbox>
      </div>
      <PagedTable
        operation={listPlaces}
        input={{ query: { q, closed } }}
        caption="Places by name"
        noun={["place", "places"]}
        rowKey={(place) => place.id}
        isQuiet={(place) => place.closed}
        columns={[
          {
            heading: "Name",
            isRowHeader: true,
            cell: (place) => <Link to={paths.place(place.id)}>{place.name}</Link>,
          },
          { heading: "Kind", cell: (place) => placeKindNames[place.kind], isNowrap: true },
          {
            heading: "State",
            cell: (place) =>
              place.closed ? (
                <StatusMark tone="neutral">Closed</StatusMark>
              ) : (
                <StatusMark tone="good">Open</StatusMark>
              ),
          },
        ]}
        empty={q === "" ? <Empty title="No place is on record yet." /> : <Empty title="No place matches." />}
      />
      {isAdding ? <AddPlaceDialog onDone={() => setAdding(false)} /> : null}
    </div>
  );
}
