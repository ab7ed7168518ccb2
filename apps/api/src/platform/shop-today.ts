import { shopCalendar } from "./shop-calendar.ts";
import type { Source } from "./transaction.ts";

/** The local date of the shop at this moment. */
export async function shopToday(source: Source): Promise<string> {
  return (await shopCalendar(source)).today;
}
