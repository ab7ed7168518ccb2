import { describe, expect, it } from "vitest";
import { percentRegistration } from "../units.ts";
import { averageFormula } from "./average-formula.ts";
import { averageRegistration } from "./average-registration.ts";

const fullLoad = percentRegistration("100.2");
const lightLoad = percentRegistration("99.4");

describe("averages by weights", () => {
  const method1 = [
    { role: "full-load" as const, weight: "4" },
    { role: "light-load" as const, weight: "1" },
  ];

  it("weighs what it names and ignores the rest", () => {
    // 04 NCAC 11 R08-11(a)(1), by hand: (400.8 + 99.4)/5.
    const points = {
      "full-load": fullLoad,
      "light-load": lightLoad,
      "power-factor": percentRegistration("50"),
    };
    const found = averageRegistration({ weights: method1 }, points);
    expect(found.kind === "average" && found.registration.toText()).toBe("100.04");
  });

  it("names the points that are missing", () => {
    expect(averageRegistration({ weights: method1 }, { "full-load": fullLoad })).toEqual({
      kind: "missing-points",
      missing: ["light-load"],
    });
  });

  it("refuses weights that are none, doubled, or not greater than 0, as a broken precondition", () => {
    const of = (...weights: typeof method1) => averageRegistration({ weights }, { "full-load": fullLoad });
    const once = { role: "full-load" as const, weight: "1" };
    expect(() => of()).toThrow(RangeError);
    expect(() => of(once, once)).toThrow(RangeError);
    expect(() => of({ ...once, weight: "0" })).toThrow(RangeError);
    expect(() => of({ ...once, weight: "-1" })).toThrow(RangeError);
  });

  it("is written with its weights, a weight of 1 left out", () => {
    expect(averageFormula(method1)).toBe("R_avg = (4 FL + LL) / 5");
    expect(averageFormula([{ role: "full-load", weight: "1.0" }])).toBe("R_avg = FL");
    expect(averageFormula([{ role: "full-load", weight: "2" }])).toBe("R_avg = (2 FL) / 2");
  });
});
