import type { ImportMappingBody, ShipmentMapping } from "@sealbook/contract/imports";
import type { ProblemError } from "@sealbook/contract/problems";
import { checkTestMapping } from "./check-test-mapping.ts";
import { columnErrors } from "./column-errors.ts";

/**
 * What keeps a mapping from being of use, whatever file it meets: each with the place in the mapping and what to do.
 * Empty when nothing does.
 */
export function checkMapping(mapping: ImportMappingBody): ProblemError[] {
  return mapping.kind === "meter-tests" ? checkTestMapping(mapping) : checkShipmentMapping(mapping);
}

function checkShipmentMapping({ columns }: ShipmentMapping): ProblemError[] {
  const errors = columnErrors(columns);
  if (!Object.values(columns).includes("serial")) {
    errors.push({ pointer: "/body/columns", detail: "Say which column holds the maker's serial." });
  }
  return errors;
}
