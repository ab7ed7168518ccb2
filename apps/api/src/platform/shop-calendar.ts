import type { Source } from "./transaction.ts";

/** The shop's zone, and its local date at this moment by the database's clock. */
export interface ShopCalendar {
  readonly timeZone: string;
  readonly today: string;
}

/** What day it is in the shop: the one place that asks. */
export async function shopCalendar(source: Source): Promise<ShopCalendar> {
  const [shop] = await source.query<{ time_zone: string; today: string }>(
    "SELECT time_zone, (now_to_the_millisecond() AT TIME ZONE time_zone)::date AS today FROM shop",
  );
  if (shop === undefined) throw new Error("there is no shop yet");
  return { timeZone: shop.time_zone, today: shop.today };
}
