import type { PlanPoint } from "@sealbook/metrology/accuracy/test-terms";

const names: Readonly<Record<string, string>> = {
  "/meterId": "Meter",
  "/planId": "Test plan",
  "/reasons": "Reason for test",
  "/workItemIds": "Open work",
  "/performedAt": "Performed at",
  "/standardId": "Standard",
  "/errorAppliedByBench": "Error applied by the bench",
  "/preconditionsConfirmed": "Before the test",
  "/outcome/asFound": "As found",
  "/outcome/asFound/points": "As found",
  "/outcome/asFound/creep": "Creep",
  "/outcome/asFound/startingLoad": "Starting load",
  "/outcome/asFound/demand": "Demand",
  "/outcome/asLeft": "As left",
  "/outcome/asLeft/pass/points": "As left",
  "/outcome/asLeft/pass/creep": "Creep, as left",
  "/outcome/asLeft/pass/startingLoad": "Starting load, as left",
  "/outcome/asLeft/pass/demand": "Demand, as left",
  "/outcome/asLeft/adjustment": "What was adjusted",
  "/outcome/asLeft/why": "Why not tested",
  "/outcome/reason": "Why no test was possible",
  "/outcome/note": "Note",
  "/conditions/volts": "Test voltage",
  "/conditions/amperes": "Amperes",
  "/conditions/temperatureCelsius": "Temperature",
  "/readingBefore": "Reading before",
  "/readingAfter": "Reading after",
  "/remarks": "Remarks",
  "/fileIds": "Photos and papers",
  "/confirmedUnusual": "Unusual figures",
  "/amendmentReason": "Reason for the amendment",
  "/signature/pin": "PIN",
};

export const runFieldNames: Readonly<Record<string, string>> = {
  counts: "counts",
  standardEnergy: "standard's energy",
  standardRevolutions: "standard's revolutions",
  standardConstant: "standard's constant Ks",
  registrationPercent: "registration",
};

export const demandFieldNames: Readonly<Record<string, string>> = {
  indicatedKw: "Meter indicates",
  referenceKw: "Reference",
  fullScaleKw: "Full scale",
  loadPercent: "Load",
};

/** Name of a field for the summary of errors, by its pointer in the form; "" where the sentence says it all. */
export function fieldName(pointer: string, points: readonly Pick<PlanPoint, "key" | "label">[]): string {
  const known = names[pointer];
  if (known !== undefined) return known;
  const run = /\/points\/([^/]+)\/runs\/(\d+)\/(\w*)$/.exec(pointer);
  if (run !== null) {
    const [, key, index, field = ""] = run;
    const label = points.find((point) => point.key === key)?.label ?? key;
    const pass = pointer.startsWith("/outcome/asLeft") ? ", as left" : "";
    const name = runFieldNames[field];
    return `${label}${pass}, run ${Number(index) + 1}${name === undefined ? "" : `, ${name}`}`;
  }
  const demand = /\/demand\/(\d+)\/(\w*)$/.exec(pointer);
  if (demand !== null) {
    const pass = pointer.startsWith("/outcome/asLeft") ? ", as left" : "";
    const name = demandFieldNames[demand[2] ?? ""];
    return `Demand${pass}, reading ${Number(demand[1]) + 1}${name === undefined ? "" : `, ${name.toLowerCase()}`}`;
  }
  if (pointer.startsWith("/sealsRemoved")) return "Seals removed";
  if (pointer.startsWith("/sealsApplied")) return "Seals applied";
  if (pointer.startsWith("/fileIds")) return "Photos and papers";
  return "";
}
