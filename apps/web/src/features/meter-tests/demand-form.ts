import type { DemandBasis, DemandReading } from "@sealbook/metrology/accuracy/test-terms";
import type { DemandField, DemandForm, PassForm } from "./test-form.ts";

/** Most readings of demand in one pass, as the contract has it. */
export const mostReadings = 24;

/** The fields that a reading asks for, by what its error is a percentage of. */
export function demandFieldsOf(basis: DemandBasis): readonly DemandField[] {
  return ["indicatedKw", "referenceKw", basis === "full-scale" ? "fullScaleKw" : "loadPercent"];
}

/** A reading before anything is measured; the full scale stands there from the reading before. */
function blankReading(fullScaleKw: string): DemandForm {
  return { indicatedKw: "", referenceKw: "", fullScaleKw, loadPercent: "" };
}

/** Whether nothing was measured in this reading yet; a full scale or a load alone says nothing. */
function isReadingBlank({ indicatedKw, referenceKw }: DemandForm): boolean {
  return indicatedKw.trim() === "" && referenceKw.trim() === "";
}

/** The readings up to the last that was begun, so that places in the form and in what is sent agree. */
export function typedReadings(demand: readonly DemandForm[]): DemandForm[] {
  return demand.slice(0, demand.findLastIndex((reading) => !isReadingBlank(reading)) + 1);
}

/** The rows that stand on the screen: every reading, and an empty one to go on with. */
export function demandRows(demand: readonly DemandForm[]): DemandForm[] {
  const typed = typedReadings(demand);
  const next = demand[typed.length] ?? blankReading(typed.at(-1)?.fullScaleKw ?? "");
  return typed.length < mostReadings ? [...typed, next] : typed;
}

/** A pass with one field of a demand reading changed; the row below the last begins a reading. */
export function withDemandField(pass: PassForm, index: number, field: DemandField, text: string): PassForm {
  const before = pass.demand[index] ?? demandRows(pass.demand)[index] ?? blankReading("");
  return {
    ...pass,
    demand: [...pass.demand.slice(0, index), { ...before, [field]: text }, ...pass.demand.slice(index + 1)],
  };
}

/** A reading as the arithmetic and the service take it, with blanks around the numbers dropped. */
export function demandReadingOf(reading: DemandForm): DemandReading {
  const orNull = (text: string) => (text.trim() === "" ? null : text.trim());
  return {
    indicatedKw: reading.indicatedKw.trim(),
    referenceKw: reading.referenceKw.trim(),
    fullScaleKw: orNull(reading.fullScaleKw),
    loadPercent: orNull(reading.loadPercent),
  };
}
