import type { Source } from "./transaction.ts";

/** The local date of the shop at this moment. */
export async function shopToday(source: Source): Promise<string> {
  const [shop] = await source.query<{ today: string }>(
    "SELECT (now_to_the_millisecond() AT TIME ZONE time_zone)::date AS today FROM shop",
  );
  if (shop === undefined) throw new Error("there is no shop yet");
  return shop.today;
}
