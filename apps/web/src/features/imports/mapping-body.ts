import {
  type ImportMappingBody,
  meterEventsMappingSchema,
  metersMappingSchema,
  meterTypesMappingSchema,
  type ShipmentMapping,
  servicePointsMappingSchema,
  shipmentMappingSchema,
  type TestMapping,
  testMappingSchema,
} from "@sealbook/contract/imports";
import type { PlacedError } from "../../api/use-submission.ts";
import { type FieldsUsed, fieldsUsed } from "./fields-used.ts";
import { kindWords } from "./kind-words.ts";
import type { MappingForm, WordRow } from "./mapping-form.ts";

/**
 * The mapping that a form makes, or what is still to be chosen, by pointers into the form. What no column calls for is
 * not asked: without figures in percent their convention does not matter, without energies neither does their unit.
 */
export function mappingBody(
  form: MappingForm,
): { kind: "body"; body: ImportMappingBody } | { kind: "open"; open: PlacedError[] } {
  const used = fieldsUsed(form.columns.map(({ field }) => field));
  const isOfTests = form.kind === "meter-tests";
  const open: PlacedError[] = [];
  const ask = (pointer: string, detail: string) => open.push({ pointer, detail });
  if (form.name.trim() === "")
    ask("/name", `Give the mapping a name, such as ${kindWords[form.kind].source}.`);
  if (form.separator === "") ask("/separator", "Say what stands between the cells of the file.");
  if (form.decimalMark === "" && (isOfTests || used.figures || used.numbers)) {
    ask("/decimalMark", "Say which decimal mark the file has.");
  }
  if (form.dateOrder === "" && (isOfTests || used.dates)) {
    ask("/dateOrder", "Say in which order day, month and year stand.");
  }
  if (isOfTests && form.timeZone === "") ask("/timeZone", "Choose the time zone of the bench's clock.");
  if (form.kind === "meter-events" && form.timeZone === "") {
    ask("/timeZone", "Choose the time zone of the times in the file.");
  }
  if (used.figures && form.figures === "") ask("/figures", "Say what the figures are; it is never guessed.");
  if (isOfTests) askOfTests(form, used, ask);
  if (open.length > 0) return { kind: "open", open };
  return { kind: "body", body: mappingOf(form) };
}

function askOfTests(
  form: MappingForm,
  used: FieldsUsed,
  ask: (pointer: string, detail: string) => void,
): void {
  if (used.energy && form.energyUnit === "") ask("/energyUnit", "Say in which unit the energies stand.");
  if (form.errorAppliedByBench === "") {
    ask("/errorAppliedByBench", "Say whether the bench has taken the standard's error into account.");
  }
}

function mappingOf(form: MappingForm): ImportMappingBody {
  const common = { ...fileTerms(form), columns: columnsOf(form) };
  switch (form.kind) {
    case "meter-tests":
      return testMapping(form);
    case "shipment-meters":
      return shipmentMapping(form);
    case "meter-types":
      return meterTypesMappingSchema.parse({ kind: form.kind, ...common });
    case "service-points":
      return servicePointsMappingSchema.parse({ kind: form.kind, ...common });
    case "meters":
      return metersMappingSchema.parse({ kind: form.kind, ...common });
    case "meter-events":
      return meterEventsMappingSchema.parse({ kind: form.kind, ...common, timeZone: form.timeZone });
  }
}

/** What a file of any kind needs; where no column calls for a choice, any does. */
function fileTerms(form: MappingForm) {
  return {
    format: 1,
    separator: form.separator === "" ? "," : form.separator,
    decimalMark: form.decimalMark === "" ? "." : form.decimalMark,
    figures: form.figures === "" ? "registration" : form.figures,
    dateOrder: form.dateOrder === "" ? "iso" : form.dateOrder,
  } as const;
}

function columnsOf(form: MappingForm): Record<string, string> {
  return Object.fromEntries(
    form.columns.filter(({ field }) => field !== "").map(({ heading, field }) => [heading, field]),
  );
}

function testMapping(form: MappingForm): TestMapping {
  return {
    kind: "meter-tests",
    ...fileTerms(form),
    columns: columnsOf(form),
    energyUnit: form.energyUnit === "" ? "Wh" : form.energyUnit,
    timeZone: form.timeZone,
    planCode: form.planCode === "" ? null : form.planCode,
    standardDesignation: form.standardDesignation === "" ? null : form.standardDesignation,
    errorAppliedByBench: form.errorAppliedByBench === "yes",
    reasons: wordsOf(form.reasons),
    defaultReason: form.defaultReason === "" ? null : form.defaultReason,
    noTestPossible: wordsOf(form.noTestPossible),
    creepWords: testMappingSchema.shape.creepWords.parse(wordsOf(form.creepWords)),
  };
}

function shipmentMapping(form: MappingForm): ShipmentMapping {
  return {
    kind: "shipment-meters",
    ...fileTerms(form),
    columns: shipmentMappingSchema.shape.columns.parse(columnsOf(form)),
  };
}

/** Words with a meaning; a word without one is left out, and the dry run sets its rows aside. */
function wordsOf(rows: readonly WordRow[]): Record<string, string> {
  return Object.fromEntries(
    rows
      .filter(({ word, meaning }) => word.trim() !== "" && meaning !== "")
      .map(({ word, meaning }) => [word.trim(), meaning]),
  );
}
