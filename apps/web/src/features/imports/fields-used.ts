import { makerResultFields } from "@sealbook/contract/imports";

/** What a mapping's columns call for: questions that no column calls for are not asked. */
export interface FieldsUsed {
  /** Figures in percent, whose convention must be known. */
  readonly figures: boolean;
  /** The standard's energy, whose unit must be known. */
  readonly energy: boolean;
  /** Dates, whose order must be known. */
  readonly dates: boolean;
  /** Numbers besides figures and energies, whose decimal mark must be known. */
  readonly numbers: boolean;
  readonly tester: boolean;
  readonly reason: boolean;
  readonly standard: boolean;
  readonly planCode: boolean;
  readonly noTestPossible: boolean;
  readonly creep: boolean;
}

/** @param fields  the fields that columns are mapped to; "" is none */
export function fieldsUsed(fields: readonly string[]): FieldsUsed {
  return {
    figures: fields.some(
      (field) =>
        field.endsWith(".asFound") ||
        field.endsWith(".asLeft") ||
        makerResultFields.some((result) => result === field),
    ),
    dates: ["purchasedOn", "placedOn", "performedAt", "performedDate"].some((field) =>
      fields.includes(field),
    ),
    numbers: ["registerReading", "classAmperes", "kh"].some((field) => fields.includes(field)),
    energy: fields.some((field) => field.endsWith(".standardEnergy")),
    tester: fields.includes("tester"),
    reason: fields.includes("reason"),
    standard: fields.includes("standard"),
    planCode: fields.includes("planCode"),
    noTestPossible: fields.includes("noTestPossible"),
    creep: fields.includes("creep") || fields.includes("creepAsLeft"),
  };
}
