import type { Source } from "./transaction.ts";

/** What the database's clock says: the time that is written beside records, and that terms are held against. */
export async function databaseTime(source: Source): Promise<Date> {
  const [row] = await source.query<{ now: Date }>("SELECT now_to_the_millisecond() AS now");
  if (row === undefined) throw new Error("the database tells the time");
  return row.now;
}
