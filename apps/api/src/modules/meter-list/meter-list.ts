import { countedAtMost, type MeterFilter, type MeterOrder } from "@sealbook/contract/meter-list";
import type { MeterRow } from "@sealbook/contract/meters";
import { dateAfter } from "@sealbook/metrology/calendar/date-after";
import { fromCursor, noSuchPage, toCursor } from "../../platform/cursor.ts";
import { shopCalendar } from "../../platform/shop-calendar.ts";
import type { Source } from "../../platform/transaction.ts";
import { countMetersTo, type FilterTerms, findMetersByNumber, findMetersInOrder } from "./store.ts";

export async function listMeters(
  source: Source,
  query: MeterFilter & { cursor?: string | undefined; limit: number; order: MeterOrder },
): Promise<{ rows: MeterRow[]; next: string | null }> {
  const { cursor, limit, order, ...filter } = query;
  const found = await findMetersInOrder(source, await termsOf(source, filter), {
    order,
    after: cursor === undefined ? null : keyIn(cursor, order),
    limit: limit + 1,
  });
  const last = found[limit - 1];
  return {
    rows: found.slice(0, limit).map(({ row }) => row),
    next: found.length > limit && last !== undefined ? toCursor([order, last.key.value, last.key.id]) : null,
  };
}

const uuid = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;
const instant = /^\d{4,6}-\d\d-\d\d \d\d:\d\d:\d\d(\.\d{1,6})?[+-]\d\d(:\d\d)?$/;
/** What the values of an order look like in a key. */
const valuesOf: Record<MeterOrder, RegExp> = {
  number: /^/,
  "last-test": instant,
  "last-test-newest": instant,
  due: /^\d{4,6}-\d\d-\d\d$/,
};

/** A key belongs to its order: the list is begun again where the order has changed. */
function keyIn(cursor: string, order: MeterOrder) {
  const [ofOrder, value, id] = fromCursor(cursor, 3);
  const isKey = typeof id === "string" && uuid.test(id) && (value === null || typeof value === "string");
  if (ofOrder !== order || !isKey || (value !== null && !valuesOf[order].test(value))) throw noSuchPage();
  return { value, id };
}

/** How many meters the filters leave; exact up to the limit of counting. */
export async function countMeters(
  source: Source,
  filter: MeterFilter,
): Promise<{ count: number; more: boolean }> {
  const counted = await countMetersTo(source, await termsOf(source, filter), countedAtMost + 1);
  return { count: Math.min(counted, countedAtMost), more: counted > countedAtMost };
}

export async function findMeter(source: Source, number: string): Promise<{ rows: MeterRow[] }> {
  const { timeZone } = await shopCalendar(source);
  return { rows: await findMetersByNumber(source, number.trim(), timeZone) };
}

const daysWithin = { "30-days": 30, "90-days": 90, "365-days": 365 } as const;

/** A filter as it is meant today in the shop. */
export async function termsOf(source: Source, filter: MeterFilter): Promise<FilterTerms> {
  const { timeZone, today } = await shopCalendar(source);
  const days =
    filter.due !== undefined && filter.due in daysWithin
      ? daysWithin[filter.due as keyof typeof daysWithin]
      : 0;
  return { filter, timeZone, today, dueTo: dateAfter(today, days) };
}
