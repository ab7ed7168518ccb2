import type { accuracyClasses, MeterType, technologies } from "@sealbook/contract/meter-types";
import { type Circuit, circuits } from "./circuits.ts";

/** A type as its form holds it: text as typed. */
export interface MeterTypeDraft {
  maker: string;
  model: string;
  form: string;
  phases: "" | "1" | "2" | "3";
  wires: "" | "2" | "3" | "4";
  elements: "" | MeterType["elements"];
  classAmperes: string;
  testAmperes: string;
  voltsMin: string;
  voltsMax: string;
  designVolts: string;
  kh: string;
  kt: string;
  accuracyClass: "" | (typeof accuracyClasses)[number];
  technology: "" | (typeof technologies)[number];
  registerDials: string;
  registerMultiplier: string;
  testPlanCode: string;
  circuitFactors: Partial<Record<Circuit, string>>;
}

export const emptyDraft: MeterTypeDraft = {
  maker: "",
  model: "",
  form: "",
  phases: "",
  wires: "",
  elements: "",
  classAmperes: "",
  testAmperes: "",
  voltsMin: "",
  voltsMax: "",
  designVolts: "",
  kh: "",
  kt: "",
  accuracyClass: "",
  technology: "",
  registerDials: "5",
  registerMultiplier: "1",
  testPlanCode: "",
  circuitFactors: {},
};

/** The draft of a type on record. */
export function draftOf(type: MeterType): MeterTypeDraft {
  const { id: _id, version: _version, retired: _retired, ...rest } = type;
  return {
    ...rest,
    phases: String(type.phases) as MeterTypeDraft["phases"],
    wires: String(type.wires) as MeterTypeDraft["wires"],
    kt: type.kt ?? "",
    registerDials: String(type.registerDials),
    circuitFactors: { ...type.circuitFactors },
  };
}

/** Fields of a type as the contract wants them; what is still empty is left for the contract's check to name. */
export type MeterTypeFields = Omit<MeterType, "id" | "version" | "retired">;

/** What the draft says, in the contract's shape. Numbers that are none become NaN, which the check refuses. */
export function fieldsOf(draft: MeterTypeDraft): MeterTypeFields {
  const factors: Partial<Record<Circuit, string>> = {};
  for (const circuit of circuits) {
    const factor = draft.circuitFactors[circuit];
    if (factor !== undefined && factor !== "") factors[circuit] = factor;
  }
  return {
    maker: draft.maker.trim(),
    model: draft.model.trim(),
    form: draft.form.trim().toUpperCase(),
    phases: Number(draft.phases),
    wires: Number(draft.wires),
    elements: draft.elements as MeterType["elements"],
    classAmperes: draft.classAmperes,
    testAmperes: draft.testAmperes,
    voltsMin: draft.voltsMin,
    voltsMax: draft.voltsMax,
    designVolts: draft.designVolts,
    kh: draft.kh,
    kt: draft.kt === "" ? null : draft.kt,
    accuracyClass: draft.accuracyClass as MeterType["accuracyClass"],
    technology: draft.technology as MeterType["technology"],
    registerDials: draft.registerDials === "" ? Number.NaN : Number(draft.registerDials),
    registerMultiplier: draft.registerMultiplier,
    testPlanCode: draft.testPlanCode,
    circuitFactors: factors,
  };
}
