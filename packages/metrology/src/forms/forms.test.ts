import { describe, expect, it } from "vitest";
import { ansiForms } from "./ansi-forms.ts";
import { circuitFactor } from "./circuit-factor.ts";
import { electricalCount } from "./electrical-count.ts";
import { findForm } from "./find-form.ts";

describe("the table of forms", () => {
  it("finds a form whatever its case and blanks, and an A form as the twin of its S form", () => {
    expect(findForm(" 9s ")?.form).toBe("9S");
    expect(findForm("16A")).toMatchObject({ form: "16A", elements: 3, confidence: "medium" });
    expect(findForm("7A")).toMatchObject({ confidence: "low" });
    expect(findForm("10A")).toMatchObject({ confidence: "medium" });
    for (const unknown of ["18A", "45A", "99S", "S", "", "0A", "9SS"]) {
      expect(findForm(unknown)).toBeNull();
    }
  });

  it("names each form once, with a source", () => {
    expect(new Set(ansiForms.map(({ form }) => form)).size).toBe(ansiForms.length);
    expect(ansiForms.every(({ source }) => source.length > 0)).toBe(true);
  });

  it("gives no arrangement, and so no factor, to a form known from hearsay", () => {
    for (const row of ansiForms) {
      expect(row.arrangement === null).toBe(row.confidence === "low");
    }
  });
});

describe("factors of circuits", () => {
  // Common practice, no source: N in a series test; 4 and 2 for 2 1/2 elements; 1/2 for half coils.
  it.each([
    ["1S", "series", "1"],
    ["2S", "series", "1"],
    ["2S", "one-coil", "0.5"],
    ["4S", "one-coil", "0.5"],
    ["5S", "series", "2"],
    ["12S", "element-c", "1"],
    ["8S", "series", "2"],
    ["15S", "one-coil", "0.5"],
    ["6S", "series", "4"],
    ["14S", "common-coil", "2"],
    ["36S", "element-a", "1"],
    ["9S", "series", "3"],
    ["16S", "element-b", "1"],
    ["16A", "series", "3"],
  ] as const)("%s with %s is %s", (form, circuits, expected) => {
    const found = circuitFactor(form, circuits);
    expect(found.kind === "known" && found.factor.toText()).toBe(expected);
  });

  it.each([
    ["99S", "series", "Form 99S is not in the table of forms."],
    ["24S", "series", "How the circuits of form 24S are arranged is not known for sure."],
    ["9S", "common-coil", "Form 9S has no known factor for the common coil alone."],
    ["1S", "one-coil", "Form 1S has no known factor for one coil alone."],
  ] as const)("asks about %s with %s", (form, circuits, reason) => {
    expect(circuitFactor(form, circuits)).toEqual({ kind: "unknown", reason });
  });

  it("does not take the factor of a series test for the count of the nameplate relation", () => {
    expect(electricalCount("6S")).toEqual({ count: "3", polyphase: true });
    expect(electricalCount("2S")).toEqual({ count: "1", polyphase: false });
    expect(electricalCount("24S")).toBeNull();
    expect(electricalCount("99S")).toBeNull();
  });
});
