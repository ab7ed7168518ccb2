import { type ImportMappingBody, type TestMapping, testMappingSchema } from "@sealbook/contract/imports";
import { untestableReasonNames } from "@sealbook/contract/meter-tests";
import { signConventionNames } from "@sealbook/contract/standards";
import { testReasonNames } from "@sealbook/contract/work-items";
import type { MappingForm } from "./mapping-form.ts";

/** The mapping's choices in words. */
export const separatorNames: Record<ImportMappingBody["separator"], string> = {
  ",": "Comma",
  ";": "Semicolon",
  "\t": "Tab",
  "|": "Vertical bar",
};

export const decimalMarkNames: Record<ImportMappingBody["decimalMark"], string> = {
  ".": "Point, as in 99.87",
  ",": "Comma, as in 99,87",
};

export const dateOrderNames: Record<ImportMappingBody["dateOrder"], string> = {
  iso: "Year, month, day: 2026-03-31",
  "day-month-year": "Day, month, year: 31.03.2026",
  "month-day-year": "Month, day, year: 03/31/2026",
};

export const figuresNames: Record<ImportMappingBody["figures"], string> = signConventionNames;

export const creepNames: Record<TestMapping["creepWords"][string], string> = {
  none: "Does not creep",
  creeps: "Creeps",
  "not-checked": "Not checked",
};

export const untestableNames: Readonly<Record<string, string>> = untestableReasonNames;
export const reasonNames: Readonly<Record<string, string>> = testReasonNames;

const labels: Readonly<Record<string, string>> = {
  "/name": "Name of the mapping",
  "/separator": "Separator",
  "/decimalMark": "Decimal mark",
  "/dateOrder": "Order of the date",
  "/timeZone": "Time zone of its times",
  "/columns": "Columns",
  "/figures": "The figures are",
  "/energyUnit": "Unit of the standard's energy",
  "/planCode": "Test plan",
  "/standardDesignation": "Standard",
  "/errorAppliedByBench": "Did the bench already apply the standard's certified error?",
  "/defaultReason": "Reason for test",
  "/reasons": "Words for the reason",
  "/noTestPossible": "Words for a meter that cannot be tested",
  "/creepWords": "Words for creep",
};

/** A field's label by its pointer in the form. */
export function mappingLabel(pointer: string): string {
  return labels[pointer] ?? "";
}

/** A field's name in a summary of errors: its label, or the heading of its column. */
export function mappingFieldName(pointer: string, form: Pick<MappingForm, "columns">): string {
  const place = /^(\/\w+)\/(\d+)$/.exec(pointer);
  if (place === null) return mappingLabel(pointer);
  if (place[1] !== "/columns") return mappingLabel(place[1] ?? "");
  return `Column "${form.columns[Number(place[2])]?.heading ?? ""}"`;
}

export const energyUnits = testMappingSchema.shape.energyUnit.options;
