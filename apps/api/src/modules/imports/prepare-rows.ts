import type { Tx } from "../../platform/transaction.ts";
import { prepareMeterEvents } from "./prepare-meter-events.ts";
import { prepareMeterTypes } from "./prepare-meter-types.ts";
import { prepareMeters } from "./prepare-meters.ts";
import { prepareServicePoints } from "./prepare-service-points.ts";
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
  switch (mapping.kind) {
    case "meter-tests":
      return await prepareTests(tx, { ...source, mapping }, records);
    case "shipment-meters":
      return await prepareShipmentMeters(tx, { ...source, mapping }, records);
    case "meter-types":
      return await prepareMeterTypes(tx, { ...source, mapping }, records);
    case "service-points":
      return await prepareServicePoints(tx, { ...source, mapping }, records);
    case "meters":
      return await prepareMeters(tx, { ...source, mapping }, records);
    case "meter-events":
      return await prepareMeterEvents(tx, { ...source, mapping }, records);
  }
}
