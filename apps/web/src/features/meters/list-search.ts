import {
  type MeterColumn,
  type MeterFilter,
  type MeterOrder,
  meterColumns,
  meterFilterSchema,
  meterOrders,
} from "@sealbook/contract/meter-list";
import type { SearchText } from "../../ui/use-search-text.ts";

const filterNames = Object.keys(meterFilterSchema.shape) as (keyof MeterFilter)[];

/** Columns of the list unless others are chosen. */
export const usualColumns: readonly MeterColumn[] = [
  "utilityNumber",
  "serial",
  "maker",
  "model",
  "form",
  "state",
  "place",
  "lastTestOn",
  "lastVerdict",
];

/** The list as the address says it: a value that the service would not take is left out. */
export interface ListSearch {
  readonly filter: MeterFilter;
  readonly order: MeterOrder;
  readonly columns: readonly MeterColumn[];
}

export function listSearchOf(search: SearchText): ListSearch {
  const filter = Object.fromEntries(
    filterNames.flatMap((name) => {
      const text = search[name];
      if (text === undefined || text === "") return [];
      const read = meterFilterSchema.shape[name].safeParse(text);
      return read.success ? [[name, read.data]] : [];
    }),
  ) as MeterFilter;
  const wanted = (search.columns ?? "").split(",");
  const columns = meterColumns.filter((column) => wanted.includes(column));
  return {
    filter,
    order: meterOrders.find((one) => one === search.order) ?? "number",
    columns: columns.length === 0 ? usualColumns : columns,
  };
}

/** The same as text of the address: what is usual is left out. */
export function searchTextOf({ columns, filter, order }: ListSearch): SearchText {
  const isUsual =
    columns.length === usualColumns.length && columns.every((column) => usualColumns.includes(column));
  return {
    ...Object.fromEntries(filterNames.map((name) => [name, String(filter[name] ?? "")])),
    order: order === "number" ? "" : order,
    columns: isUsual ? "" : columns.join(","),
  };
}
