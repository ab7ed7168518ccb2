import "./meter-list.css";
import { countMeters, listMeters } from "@sealbook/contract/meter-list";
import { keepPreviousData, useQuery } from "@tanstack/react-query";
import { Link, useNavigate } from "@tanstack/react-router";
import { useState } from "react";
import { operationOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { useShop } from "../../api/use-shop.ts";
import { paths } from "../../paths.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
import { Button } from "../../ui/button.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { ColumnsDialog } from "./columns-dialog.tsx";
import { type ListSearch, listSearchOf, searchTextOf } from "./list-search.ts";
import { MeterFilters } from "./meter-filters.tsx";
import { meterListColumns } from "./meter-list-columns.tsx";
import { SavedViews } from "./saved-views.tsx";
import { TakeOutDialog } from "./take-out-dialog.tsx";

/** Every meter on record. Filters, order and columns stand in the address, and can be kept by name. */
export function MeterListPage() {
  const [text, change] = useSearchText();
  const search = listSearchOf(text);
  const { columns, filter, order } = search;
  const { today } = useShop();
  const navigate = useNavigate();
  const mayAdd = useMay("meter.create");
  const mayTakeOut = useMay("meter.export");
  const [isChoosing, setChoosing] = useState(false);
  const [isTakingOut, setTakingOut] = useState(false);
  const isFiltered = Object.keys(filter).length > 0;
  return (
    <div className="stack">
      <PageHeader
        title="Meters"
        actions={
          mayAdd ? (
            <>
              <ButtonLink to={paths.receiveMeters()}>Receive meters</ButtonLink>
              <ButtonLink to={paths.newMeter()}>Add a meter</ButtonLink>
            </>
          ) : undefined
        }
      />
      <MeterFilters filter={filter} order={order} change={change} />
      <div className="meter-list-bar">
        <MeterCount search={search} />
        <div className="row">
          <SavedViews
            search={search}
            onOpen={(opened) => void navigate({ to: ".", search: { ...opened }, replace: false })}
          />
          {isFiltered ? (
            <Button onClick={() => void navigate({ to: ".", search: {}, replace: false })}>
              Clear the filters
            </Button>
          ) : null}
          <Button onClick={() => setChoosing(true)}>Columns</Button>
          {mayTakeOut ? <Button onClick={() => setTakingOut(true)}>Download</Button> : null}
        </div>
      </div>
      <PagedTable
        operation={listMeters}
        input={{ query: { ...filter, order } }}
        caption="Meters"
        noun={["meter", "meters"]}
        rowKey={(meter) => meter.id}
        columns={meterListColumns(columns, today)}
        empty={<NoMeters isFiltered={isFiltered} number={filter.q ?? ""} mayAdd={mayAdd} />}
      />
      {isChoosing ? (
        <ColumnsDialog
          columns={columns}
          onClose={() => setChoosing(false)}
          onChoose={(chosen) => {
            setChoosing(false);
            change(searchTextOf({ ...search, columns: chosen }));
          }}
        />
      ) : null}
      {isTakingOut ? <TakeOutDialog search={search} onClose={() => setTakingOut(false)} /> : null}
    </div>
  );
}

/** How many meters the filters leave, in words: exactly up to the limit of counting. */
function MeterCount({ search: { filter } }: { search: ListSearch }) {
  const counted = useQuery({
    ...operationOptions(countMeters, { query: filter }),
    placeholderData: keepPreviousData,
  });
  return (
    <p className="quiet" role="status">
      {counted.data === undefined ? (counted.error?.message ?? "Counting") : countSentence(counted.data)}
    </p>
  );
}

function countSentence({ count, more }: { count: number; more: boolean }): string {
  if (more) return `More than ${count.toLocaleString("en")} meters`;
  return count === 1 ? "1 meter" : `${count.toLocaleString("en")} meters`;
}

function NoMeters({ isFiltered, number, mayAdd }: { isFiltered: boolean; number: string; mayAdd: boolean }) {
  if (!isFiltered) {
    return <Empty title="No meter is on record yet.">{mayAdd ? "Add one from its nameplate." : null}</Empty>;
  }
  return (
    <Empty title="No meter matches.">
      Check the number, or take a filter away
      {mayAdd && number !== "" ? (
        <>
          ; or{" "}
          <Link to={paths.newMeter()} search={{ number }}>
            add meter {number}
          </Link>{" "}
          from its nameplate
        </>
      ) : null}
      .
    </Empty>
  );
}
