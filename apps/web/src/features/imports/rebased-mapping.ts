import type { ImportMapping, ImportMappingBody } from "@sealbook/contract/imports";
import { rebased } from "../../trade/rebased.ts";

type Named = Pick<ImportMapping, "name" | "body">;

/** What a mapping says line by line; the rest of it are single choices. */
function listsOf(body: ImportMappingBody): Record<string, Readonly<Record<string, string>>> {
  if (body.kind !== "meter-tests") return { columns: body.columns };
  const { columns, reasons, noTestPossible, creepWords } = body;
  return { columns, reasons, noTestPossible, creepWords };
}

/**
 * One's own changes of a mapping put on top of a newer version, column by column and word by word: what one has not
 * touched takes the newer version's, and what one has taken off stays off.
 *
 * @param opened  the mapping when it was opened
 * @param mine    the same with one's changes
 * @param newer   what somebody else has saved since
 */
export function rebasedMapping(opened: Named, mine: Named, newer: Named): Named {
  const body = rebased(opened.body, mine.body, newer.body);
  const [before, own, theirs] = [listsOf(opened.body), listsOf(mine.body), listsOf(newer.body)];
  const entries = Object.keys(own).map((list) => [
    list,
    rebasedList(before[list] ?? {}, own[list] ?? {}, theirs[list] ?? {}),
  ]);
  return {
    name: mine.name === opened.name ? newer.name : mine.name,
    body: { ...body, ...Object.fromEntries(entries) },
  };
}

function rebasedList(
  opened: Readonly<Record<string, string>>,
  mine: Readonly<Record<string, string>>,
  newer: Readonly<Record<string, string>>,
): Record<string, string> {
  const keys = [...new Set([...Object.keys(newer), ...Object.keys(mine), ...Object.keys(opened)])];
  return Object.fromEntries(
    keys.flatMap((key) => {
      const value = mine[key] === opened[key] ? newer[key] : mine[key];
      return value === undefined ? [] : [[key, value]];
    }),
  );
}
