import type { StoryItem } from "@sealbook/contract/meter-events";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Source } from "../../platform/transaction.ts";
import { findStoryEvents, findStoryHolds, findStoryKeys, findStoryTests } from "./story-store.ts";

/** A meter's story, newest first: its events, the tests that count, the legal holds. */
export async function getMeterStory(
  source: Source,
  meterId: string,
  query: { cursor?: string | undefined; limit: number },
): Promise<{ rows: StoryItem[]; next: string | null }> {
  const after =
    query.cursor === undefined ? null : (fromCursor(query.cursor, 2).map(String) as [string, string]);
  const keys = await findStoryKeys(source, meterId, { after, limit: query.limit + 1 });
  const ids = (...kinds: StoryItem["kind"][]) =>
    keys.filter(({ kind }) => kinds.includes(kind)).map(({ id }) => id);
  const found = new Map<string, StoryItem>();
  for (const item of [
    ...(await findStoryEvents(source, ids("event"))),
    ...(await findStoryTests(source, ids("test"))),
    ...(await findStoryHolds(source, ids("hold", "lift"))),
  ]) {
    found.set(`${item.kind} ${item.id}`, item);
  }
  const items = keys.flatMap(({ kind, id }) => found.get(`${kind} ${id}`) ?? []);
  return toPage(items, query.limit, (item) => [item.at, item.id]);
}
