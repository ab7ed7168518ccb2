import { france } from "@sealbook/metrology/profiles/places/france";
import type { PlanTable } from "@sealbook/metrology/sampling/attributes/plan-table";
import { describe, expect, it } from "vitest";
import { tableOf } from "./use-plan-tables.ts";

const own: PlanTable = {
  version: 1,
  name: "A table of a test",
  source: "Invented for a test",
  rows: [{ lotMin: 1, lotMax: null, normal: { n: 4, ac: 0 } }],
  largerLotPlanAllowed: false,
  remarks: [],
};

describe("the table of plans that a rule profile carries itself", () => {
  it("is offered; a table that it only names stands among the shipped ones already", () => {
    const sampling = { kind: "plan-table", table: own, everyMonths: 120, source: "Invented for a test" };
    expect(tableOf(JSON.stringify({ ...france, sampling }))).toEqual(own);
    expect(tableOf(JSON.stringify(france))).toBeNull();
    expect(tableOf(JSON.stringify({ ...france, sampling: null }))).toBeNull();
  });

  it("is none where the profile has a form that is not known", () => {
    expect(tableOf("{")).toBeNull();
    expect(tableOf("{}")).toBeNull();
  });
});
