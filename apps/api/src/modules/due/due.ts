import { type DueRow, dueKinds } from "@sealbook/contract/due";
import { countedAtMost } from "@sealbook/contract/meter-list";
import { dateAfter } from "@sealbook/metrology/calendar/date-after";
import { fromCursor, noSuchPage, toPage } from "../../platform/cursor.ts";
import { shopCalendar } from "../../platform/shop-calendar.ts";
import type { Source } from "../../platform/transaction.ts";
import { countDueByDay, countDueTo, type DueFilter, type DueKey, findDue } from "./store.ts";

export async function listDue(
  source: Source,
  query: DueFilter & {
    cursor?: string | undefined;
    limit: number;
    from?: string | undefined;
    to?: string | undefined;
  },
): Promise<{ rows: DueRow[]; next: string | null }> {
  const { cursor, from, limit, to, ...filter } = query;
  const { today } = await shopCalendar(source);
  const rows = await findDue(source, filter, today, {
    from: from ?? null,
    to: to ?? null,
    after: cursor === undefined ? null : keyIn(cursor),
    limit: limit + 1,
  });
  return toPage(rows, limit, (row) => [row.dueOn ?? "infinity", row.kind, row.id]);
}

function keyIn(cursor: string): DueKey {
  const [dueOn, kind, id] = fromCursor(cursor, 3).map(String);
  const known = dueKinds.find((one) => one === kind);
  const isKey =
    /^(\d{4}-\d\d-\d\d|infinity)$/.test(dueOn ?? "") &&
    /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/.test(id ?? "");
  if (dueOn === undefined || id === undefined || known === undefined || !isKey) throw noSuchPage();
  return { dueOn, kind: known, id };
}

/** What falls due on each day of a month, and what is late by the shop's today. */
export async function dueCalendar(source: Source, query: DueFilter & { month: string }) {
  const { month, ...filter } = query;
  const { today } = await shopCalendar(source);
  const from = `${month}-01`;
  const to = dateAfter(firstOfNextMonth(month), -1);
  const days = await countDueByDay(source, filter, today, { from, to });
  const late = await countDueTo(source, filter, today, dateAfter(today, -1), countedAtMost + 1);
  return {
    today,
    days,
    late: { count: Math.min(late, countedAtMost), more: late > countedAtMost },
  };
}

function firstOfNextMonth(month: string): string {
  const [year = 0, number = 0] = month.split("-").map(Number);
  const [nextYear, nextNumber] = number === 12 ? [year + 1, 1] : [year, number + 1];
  return `${String(nextYear).padStart(4, "0")}-${String(nextNumber).padStart(2, "0")}-01`;
}
