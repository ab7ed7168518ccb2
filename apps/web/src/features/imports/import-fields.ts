import {
  type ImportKind,
  type InventoryField,
  inventoryFieldNames,
  inventoryFields,
  isInventoryKind,
  type ShipmentField,
} from "@sealbook/contract/imports";
import type { ComboBoxOption } from "../../ui/combo-box.tsx";

/** A test point as far as columns are concerned. */
export interface FigurePoint {
  readonly key: string;
  readonly label: string;
}

/** What a column of a maker's list can mean, in the order in which it is offered. */
const shipmentFieldNames: Readonly<Record<ShipmentField, string>> = {
  serial: "Maker's serial",
  utilityNumber: "Utility number",
  firmware: "Firmware",
  program: "Program",
  purchasedOn: "Purchased on",
  fullLoad: "Maker's result, full load",
  lightLoad: "Maker's result, light load",
  powerFactor: "Maker's result, power factor",
  average: "Maker's result, average",
};

/** What a column of a bench's file can mean besides a point's figure, in the order in which it is offered. */
const testFieldNames: Readonly<Record<string, string>> = {
  meterNumber: "Meter number",
  serial: "Maker's serial",
  performedAt: "Date and time of the test",
  performedDate: "Date of the test",
  performedTime: "Time of day of the test",
  tester: "Tester",
  reason: "Reason for test",
  standard: "Standard",
  planCode: "Test plan's code",
  noTestPossible: "Why no test was possible",
  creep: "Creep",
  creepAsLeft: "Creep as left",
  adjustment: "What was adjusted",
  readingBefore: "Register reading before",
  readingAfter: "Register reading after",
  volts: "Volts",
  amperes: "Amperes",
  temperature: "Temperature, °C",
  sealsRemoved: "Seals removed",
  sealsApplied: "Seals applied",
  remarks: "Remarks",
};

const fieldNames: Readonly<Record<string, string>> = {
  ...inventoryFieldNames,
  ...testFieldNames,
  ...shipmentFieldNames,
};

const figureNames: Readonly<Record<string, string>> = {
  asFound: "as found",
  asLeft: "as left",
  counts: "counts",
  standardEnergy: "standard's energy",
};

/** A field in words: "Meter number", "FL as found"; the field itself where it is not known. */
export function importFieldName(field: string, kind: ImportKind | null = null): string {
  if (kind !== null && isInventoryKind(kind)) return inventoryFieldNames[field as InventoryField] ?? field;
  const [key = "", figure] = field.split(".");
  if (figure !== undefined) return `${key} ${figureNames[figure] ?? figure}`;
  return fieldNames[field] ?? field;
}

/** The points of several plans, each key once; where plans name it differently, the first name is taken. */
export function pointsOfPlans(
  plans: readonly { body: { points: readonly FigurePoint[] } }[],
): readonly FigurePoint[] {
  const points = new Map<string, FigurePoint>();
  for (const { key, label } of plans.flatMap((plan) => plan.body.points)) {
    if (!points.has(key)) points.set(key, { key, label });
  }
  return [...points.values()];
}

/** A field that a column may be given, and what is said beside its name. */
export interface OfferedField {
  readonly field: string;
  /** Its name where that depends on the kind of file. */
  readonly name?: string;
  readonly note?: string;
}

/** What columns of a bench's file may mean: besides the rest, each figure of each point. */
export function testFieldsOffered(points: readonly FigurePoint[]): OfferedField[] {
  const figures = points.flatMap(({ key, label }) =>
    Object.keys(figureNames).map((figure) => ({ field: `${key}.${figure}`, note: label })),
  );
  return [...Object.keys(testFieldNames).map((field) => ({ field })), ...figures];
}

/** What columns of a file of any kind may mean. */
export function fieldsOffered(kind: ImportKind, points: readonly FigurePoint[]): readonly OfferedField[] {
  if (kind === "meter-tests") return testFieldsOffered(points);
  if (kind === "shipment-meters") return shipmentFieldsOffered;
  return inventoryFields[kind].map((field) => ({ field, name: inventoryFieldNames[field] }));
}

/** What columns of a maker's list may mean. */
export const shipmentFieldsOffered: readonly OfferedField[] = Object.keys(shipmentFieldNames).map(
  (field) => ({
    field,
  }),
);

/**
 * What a column can be chosen to mean. The point's own name stands beside its figures; what another column means
 * already says so.
 *
 * @param columns  the columns as they are mapped now
 * @param own      index of the column that chooses
 */
export function importFieldOptions(
  offered: readonly OfferedField[],
  columns: readonly { heading: string; field: string }[],
  own: number,
): ComboBoxOption[] {
  const fields = [...offered];
  const chosen = columns[own]?.field ?? "";
  if (chosen !== "" && !fields.some(({ field }) => field === chosen)) {
    fields.push({ field: chosen, note: "no plan has this point now" });
  }
  return fields.map(({ field, name, note }) => {
    const other = columns.find((column, index) => index !== own && column.field === field);
    const notes = [note, other === undefined ? undefined : `column "${other.heading}" has it`];
    const text = notes.filter((part) => part !== undefined).join("; ");
    return { value: field, label: name ?? importFieldName(field), ...(text === "" ? {} : { note: text }) };
  });
}
