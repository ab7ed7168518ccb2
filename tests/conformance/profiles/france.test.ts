import { france } from "@sealbook/metrology/profiles/places/france";
import { franceInServicePlans } from "@sealbook/metrology/sampling/attributes/france-in-service-plans";
import { describe, expect, it } from "vitest";
import { verdictBy } from "./judged-by.ts";

// Order of 1 August 2013 on meters of active electrical energy, as kept by etalab/lois-non-codifiees-et-reglements-francais.

describe("Article 18: maximum permissible errors in service by class", () => {
  it.each([
    ["A", "107.9", "108", "108.1", "92", "91.9"],
    ["B", "104.4", "104.5", "104.6", "95.5", "95.4"],
    ["C", "102.4", "102.5", "102.6", "97.5", "97.4"],
    ["D", "100.9", "101", "101.1", "99", "98.9"],
  ])("class %s", (accuracyClass, within, upper, above, lower, below) => {
    const verdict = (load: string) =>
      verdictBy(france, "in-service", { fl: "100", ll: load, pf: "100" }, { accuracyClass });
    expect([within, upper, lower].map(verdict)).toEqual(["pass", "pass", "pass"]);
    expect([above, below].map(verdict)).toEqual(["fail", "fail"]);
  });
  it("every point by itself: an error at power factor 0.5 is not averaged away", () => {
    expect(verdictBy(france, "in-service", { fl: "100", ll: "100", pf: "103" }, { accuracyClass: "C" })).toBe(
      "fail",
    );
    expect(france.averages).toEqual([]);
  });
});

describe("Article 21: the periodic verification every ten years", () => {
  it("is 120 months", () => {
    expect(france.intervals.map(({ months }) => months)).toEqual([120]);
    expect(france.sampling).toMatchObject({ kind: "plan-table", everyMonths: 120 });
  });
});

describe("Annexe 4, item 2: starting current at first verification, percent of the reference current", () => {
  it("by class and connection", () => {
    const currents = france.startingLoad?.currents.map((one) => [
      one.connection,
      one.accuracyClass,
      one.percentOfReferenceCurrent,
    ]);
    expect(currents).toEqual([
      ["direct", "A", "0.5"],
      ["direct", "B", "0.4"],
      ["direct", "C", "0.4"],
      ["transformer", "A", "0.3"],
      ["transformer", "B", "0.2"],
      ["transformer", "C", "0.1"],
      ["transformer", "D", "0.1"],
    ]);
  });
  it.each([
    [true, "pass"],
    [false, "fail"],
  ])("a meter that starts (%s): %s", (starts, verdict) => {
    const evaluated = verdictBy(france, "new", { starts }, { accuracyClass: "B" });
    expect(evaluated === "fail" ? "fail" : "pass").toBe(verdict);
  });
});

describe("Article 23 and Annexe 7: plans by lot size", () => {
  const planOf = (size: number) =>
    franceInServicePlans.rows.find(
      ({ lotMin, lotMax }) => size >= lotMin && (lotMax === null || size <= lotMax),
    );
  it.each([
    [1, 56, 5, 206, 20],
    [9_999, 56, 5, 206, 20],
    [10_000, 106, 10, 306, 30],
    [49_999, 106, 10, 306, 30],
    [50_000, 206, 20, 406, 40],
    [99_999, 206, 20, 406, 40],
    [100_000, 306, 30, 506, 50],
    [2_000_000, 306, 30, 506, 50],
  ])("a lot of %i: %i with %i accepted, then %i with %i", (size, n, ac, tightenedN, tightenedAc) => {
    expect(planOf(size)).toMatchObject({
      normal: { n, ac },
      tightened: { n: tightenedN, ac: tightenedAc },
    });
  });
});

describe("what is left to the authority", () => {
  it("a value on the limit counts as within, and the profile says that the text has it both ways", () => {
    expect(france.notes.join(" ")).toContain("exactly on a limit");
  });
  it("limits at first verification are not in the profile", () => {
    expect(france.gaps.join(" ")).toContain("Articles 12, 13 and 32");
    expect(verdictBy(france, "new", { fl: "110" }, { accuracyClass: "C" })).not.toBe("fail");
  });
});

describe("Articles 23 and 27: what must be done by when", () => {
  it("the second try within three months, a refused lot without delay, the year's summary before 31 March", () => {
    expect(france.deadlines?.map(({ within }) => within)).toEqual([{ count: 3, unit: "months" }, null]);
    expect(franceInServicePlans.secondTry?.withinMonths).toBe(3);
    expect(france.reports).toMatchObject([{ dueBy: "03-31", covers: "calendar-year" }]);
  });
});
