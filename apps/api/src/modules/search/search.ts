import type { FoundMeter, FoundServicePoint } from "@sealbook/contract/search";
import { mostFound } from "@sealbook/contract/search";
import type { Source } from "../../platform/transaction.ts";
import {
  findMetersBeginning,
  findMetersHolding,
  findPointsAt,
  findPointsBeginning,
  findPointsHolding,
} from "./store.ts";

/**
 * What the book holds of a text: meters by number or serial, service points by number or address. Numbers that begin
 * with it come first; those that hold it elsewhere fill up the group, which is seldom needed and costs more.
 */
export async function searchBook(
  source: Source,
  typed: string,
): Promise<{ meters: FoundMeter[]; servicePoints: FoundServicePoint[] }> {
  const text = typed.trim();
  if (text === "") return { meters: [], servicePoints: [] };
  const isLong = [...text].length >= 3;
  const [meters, servicePoints] = await Promise.all([
    filled([
      () => findMetersBeginning(source, text, mostFound),
      ...(isLong ? [() => findMetersHolding(source, text, mostFound)] : []),
    ]),
    filled([
      () => findPointsBeginning(source, text, mostFound),
      ...(isLong
        ? [() => findPointsHolding(source, text, mostFound), () => findPointsAt(source, text, mostFound)]
        : []),
    ]),
  ]);
  return { meters, servicePoints };
}

/** Rows of one search after another, each once, until there are enough. */
async function filled<Row extends { id: string }>(
  searches: readonly (() => Promise<Row[]>)[],
): Promise<Row[]> {
  const found = new Map<string, Row>();
  for (const search of searches) {
    for (const row of await search())
      if (found.size < mostFound && !found.has(row.id)) found.set(row.id, row);
    if (found.size >= mostFound) break;
  }
  return [...found.values()];
}
