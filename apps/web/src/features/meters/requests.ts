import { listMeterTests } from "@sealbook/contract/meter-tests";
import { operationOptions } from "../../api/operation-options.ts";

/** A meter's tests, newest first; a meter has a handful, and a page of 200 holds them all. */
export function testsOfMeterOptions(meterId: string) {
  return operationOptions(listMeterTests, { query: { meterId, limit: 200 } });
}
