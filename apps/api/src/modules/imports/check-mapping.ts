import {
  type ImportMappingBody,
  type InventoryMapping,
  inventoryFieldNames,
  inventoryFieldsNeeded,
  type ShipmentMapping,
} from "@sealbook/contract/imports";
import type { ProblemError } from "@sealbook/contract/problems";
import { isTimeZone } from "@sealbook/metrology/calendar/instant-of-wall-time";
import { checkTestMapping } from "./check-test-mapping.ts";
import { columnErrors } from "./column-errors.ts";

/**
 * What keeps a mapping from being of use, whatever file it meets: each with the place in the mapping and what to do.
 * Empty when nothing does.
 */
export function checkMapping(mapping: ImportMappingBody): ProblemError[] {
  if (mapping.kind === "meter-tests") return checkTestMapping(mapping);
  if (mapping.kind === "shipment-meters") return checkShipmentMapping(mapping);
  return checkInventoryMapping(mapping);
}

function checkShipmentMapping({ columns }: ShipmentMapping): ProblemError[] {
  const errors = columnErrors(columns);
  if (!Object.values(columns).includes("serial")) {
    errors.push({ pointer: "/body/columns", detail: "Say which column holds the maker's serial." });
  }
  return errors;
}

function checkInventoryMapping(mapping: InventoryMapping): ProblemError[] {
  const errors = columnErrors(mapping.columns);
  const fields: readonly string[] = Object.values(mapping.columns);
  const refuse = (pointer: string, detail: string) => errors.push({ pointer: `/body${pointer}`, detail });
  for (const field of inventoryFieldsNeeded[mapping.kind]) {
    if (!fields.includes(field)) {
      refuse("/columns", `Say which column holds ${inventoryFieldNames[field].toLowerCase()}.`);
    }
  }
  if (mapping.kind !== "meter-events") return errors;
  if (!fields.includes("utilityNumber") && !fields.includes("serial")) {
    refuse("/columns", "Say which column holds the meter's utility number or its serial.");
  }
  const isInOne = fields.includes("performedAt");
  const isInTwo = fields.includes("performedDate") && fields.includes("performedTime");
  if (isInOne === isInTwo) {
    refuse("/columns", "Say which column holds date and time of the event, or which two.");
  }
  if (!isTimeZone(mapping.timeZone)) {
    refuse("/timeZone", `${mapping.timeZone} is no time zone; write one such as America/New_York.`);
  }
  return errors;
}
