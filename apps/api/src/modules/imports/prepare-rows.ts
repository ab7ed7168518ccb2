import type { Tx } from "../../platform/transaction.ts";
import { prepareShipmentMeters } from "./prepare-shipment-meters.ts";
import { prepareTests } from "./prepare-tests.ts";
import type { PreparedRows, RowSource } from "./prepared-rows.ts";
import type { FileRecord } from "./read-records.ts";

/**
 * Judges some rows of a file, each kind in its own way, and writes nothing. The dry run and the run both do it: what the
 * one calls good, the other puts in, unless the book changed between the two.
 */
export async function prepareRows(
  tx: Tx,
  source: RowSource,
  records: readonly FileRecord[],
): Promise<PreparedRows> {
  const { mapping } = source;
  return mapping.kind === "meter-tests"
    ? await prepareTests(tx, { ...source, mapping }, records)
    : await prepareShipmentMeters(tx, { ...source, mapping }, records);
}
