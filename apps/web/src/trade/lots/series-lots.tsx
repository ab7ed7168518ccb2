import { type Lot, listLots } from "@sealbook/contract/sampling";
import { Empty } from "../../ui/empty.tsx";
import { Panel } from "../../ui/panel.tsx";
import { PagedTable } from "../paged-table.tsx";
import { lotColumns } from "./lot-columns.tsx";

/** All lots of the same series over time, with the inspection state each was judged under. */
export function SeriesLots({ lot, title }: { lot: Lot; title: string }) {
  return (
    <Panel title={title}>
      <PagedTable
        operation={listLots}
        input={{ query: { series: lot.series } }}
        caption="Lots of the series, newest first"
        noun={["lot", "lots"]}
        rowKey={(row) => row.id}
        columns={lotColumns()}
        empty={<Empty title="No lot of this series is on record." />}
      />
    </Panel>
  );
}
