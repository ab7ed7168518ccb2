import { describe, expect, it } from "vitest";
import { Fraction } from "../fraction.ts";
import { percentRegistration } from "../units.ts";
import { bandOf } from "./band-of.ts";
import { judgingRulesFor } from "./judging-rules-for.ts";
import { limitsFor } from "./limits-for.ts";
import { midLimits } from "./mid-limits.ts";
import { florida } from "./places/florida.ts";
import { france } from "./places/france.ts";
import { indiana } from "./places/indiana.ts";
import { michigan } from "./places/michigan.ts";
import { northCarolina } from "./places/north-carolina.ts";
import { northDakota } from "./places/north-dakota.ts";
import { pennsylvania } from "./places/pennsylvania.ts";
import { ruleProfileSchema } from "./profile-schema.ts";
import { shippedProfiles } from "./shipped-profiles.ts";

describe("the profiles that ship", () => {
  it.each(shippedProfiles.map((profile) => [profile.key, profile] as const))(
    "%s has the form of a profile and comes back whole from JSON",
    (_, profile) => {
      expect(ruleProfileSchema.parse(JSON.parse(JSON.stringify(profile)))).toEqual(profile);
    },
  );

  it("have keys of their own, a caution, and a citation with a date for everything", () => {
    expect(new Set(shippedProfiles.map(({ key, version }) => `${key} ${version}`)).size).toBe(
      shippedProfiles.length,
    );
    for (const profile of shippedProfiles) {
      expect(profile.caution).toBe("Verify against the current text; local rules govern.");
      expect(profile.citations.length).toBeGreaterThan(0);
      expect(profile.gaps.length).toBeGreaterThan(0);
    }
  });

  it("say they judge just what they have rules to judge by", () => {
    for (const profile of shippedProfiles) {
      const averaged = profile.averages.length > 0 && profile.limits.some(({ of }) => of === "average");
      const expected = [
        ...(profile.limits.some(({ of }) => of !== "average") ? ["points"] : []),
        ...(averaged ? ["average"] : []),
        ...(profile.creep === null ? [] : ["creep"]),
        ...(profile.startingLoad === undefined ? [] : ["starting-load"]),
        ...(profile.demand === undefined ? [] : ["demand"]),
      ];
      expect(profile.judged, profile.key).toEqual(expected);
    }
  });

  it("refuse limits that are upside down and fields that nobody knows", () => {
    const [limit] = northCarolina.limits;
    const upsideDown = { ...limit, limits: { minPercent: "102", maxPercent: "98", source: "x" } };
    expect(ruleProfileSchema.safeParse({ ...northCarolina, limits: [upsideDown] }).success).toBe(false);
    expect(ruleProfileSchema.safeParse({ ...northCarolina, colour: "blue" }).success).toBe(false);
  });
});

describe("limits for an occasion and a class", () => {
  it("holds for every class where the rule names none", () => {
    expect(limitsFor(northCarolina, "in-service", "0.5")).toEqual({
      average: { minPercent: "98", maxPercent: "102", source: "04 NCAC 11 R08-13(a)" },
    });
    expect(limitsFor(northCarolina, "new", "2")["light-load"]).toMatchObject({
      minPercent: "96",
      maxPercent: "104",
    });
  });

  it("holds for one class where the rule names it, and for no other", () => {
    expect(limitsFor(france, "in-service", "B")["full-load"]).toMatchObject({
      minPercent: "95.5",
      maxPercent: "104.5",
    });
    expect(limitsFor(france, "in-service", "0.5")).toEqual({});
    expect(limitsFor(france, "new", "B")).toEqual({});
  });

  it("prefers a limit of the class to one for every class", () => {
    const strict = {
      of: "average" as const,
      occasions: ["in-service" as const],
      accuracyClass: "0.2",
      limits: { minPercent: "99.8", maxPercent: "100.2", source: "house limit" },
    };
    const profile = { ...northCarolina, limits: [strict, ...northCarolina.limits] };
    expect(limitsFor(profile, "in-service", "0.2").average?.source).toBe("house limit");
    expect(limitsFor(profile, "in-service", "0.5").average?.source).toBe("04 NCAC 11 R08-13(a)");
  });
});

describe("judging rules for a type of meter", () => {
  it("takes the first average that fits the phases, or the one the utility chose", () => {
    const label = (phases: number, chosen?: string) =>
      judgingRulesFor(northCarolina, { accuracyClass: "0.5", phases }, chosen).average?.label;
    expect(label(1)).toBe("Method 1: (4 FL + LL) / 5");
    expect(label(3, "method-4")).toBe("Method 4: (4 FL + 2 LL + PF) / 7");
    expect(() => label(3, "method-5")).toThrow(RangeError);
    const northDakotaLabel = (phases: number) =>
      judgingRulesFor(northDakota, { accuracyClass: "0.5", phases }).average?.label;
    expect(northDakotaLabel(1)).toBe("(LL + 4 HL) / 5");
    expect(northDakotaLabel(3)).toBe("(LL + 4 HL + 2 PF) / 7");
    expect(() => judgingRulesFor(northDakota, { accuracyClass: "0.5", phases: 1 }, "polyphase")).toThrow(
      RangeError,
    );
  });

  it("resolves Pennsylvania's points, average and creep", () => {
    const rules = judgingRulesFor(pennsylvania, { accuracyClass: "0.5", phases: 1 });
    expect(rules.pointLimits).toHaveLength(8);
    expect(rules.averageLimits).toEqual({
      request: { minPercent: "98", maxPercent: "102", source: "52 Pa. Code 57.24(b), (c)" },
    });
    expect(rules).toMatchObject({ creepAllowed: false, creepSource: "52 Pa. Code 57.20(a)" });
  });

  it("resolves France's starting currents for the class, and none for a class it does not name", () => {
    const startingLoad = (accuracyClass: string) =>
      judgingRulesFor(france, { accuracyClass, phases: 1 }).startingLoad;
    expect(startingLoad("D")).toEqual({
      new: {
        currents: [{ connection: "transformer", percentOfReferenceCurrent: "0.1" }],
        source: "Order of 1 August 2013 on meters of active electrical energy, Annexe 4, item 2",
      },
    });
    expect(startingLoad("0.5")).toEqual({});
  });

  it("resolves Florida's limits of demand on every occasion, by basis", () => {
    const { demandLimits } = judgingRulesFor(florida, { accuracyClass: "0.5", phases: 3 });
    expect(demandLimits.map(({ occasion, limits }) => `${occasion} ${limits.basis}`)).toEqual([
      "new full-scale",
      "in-service full-scale",
      "as-left full-scale",
      "request full-scale",
      "new reading",
      "in-service reading",
      "as-left reading",
      "request reading",
    ]);
  });

  it("leaves absent what was not read", () => {
    for (const profile of [michigan, indiana]) {
      const rules = judgingRulesFor(profile, { accuracyClass: "0.5", phases: 1 });
      expect(rules).toMatchObject({ average: null, pointLimits: [], creepAllowed: true });
      expect(rules).toMatchObject({ startingLoad: {}, demandLimits: [] });
    }
    expect(judgingRulesFor(france, { accuracyClass: "B", phases: 3 }).outsideCertifiedRange).toBe("refuse");
  });
});

describe("bands of a report", () => {
  const bands = michigan.reportBands;
  if (bands === null) {
    throw new Error("Michigan has bands");
  }

  // Bands of R 460.3617 before 2023; rounding half away from zero to one decimal, by hand.
  it.each([
    ["93.96", "up to 94.0"],
    ["94.04", "up to 94.0"],
    ["94.05", "94.1-96.0"],
    ["98.05", "98.1-99.0"],
    ["100.049", "99.1-100.0"],
    ["100.05", "100.1-101.0"],
    ["106.04", "104.1-106.0"],
    ["106.05", "over 106.0"],
  ])("counts %s in %s", (registration, label) => {
    expect(bandOf(percentRegistration(registration), bands)).toBe(label);
  });

  it("refuses bands with a hole", () => {
    const holed = { ...bands, bands: bands.bands.slice(1) };
    expect(() => bandOf(percentRegistration("90"), holed)).toThrow(RangeError);
  });
});

describe("limits of the European directive", () => {
  it("belong to the narrowest band that holds the temperature, its ends included", () => {
    const upper = (celsius: string) =>
      midLimits("C", "from Imin below Itr", Fraction.of(celsius))?.maxPercent;
    expect(["5", "30", "30.1", "-10", "-10.1", "55", "-40", "70"].map(upper)).toEqual([
      "101",
      "101",
      "101.3",
      "101.3",
      "101.7",
      "101.7",
      "102",
      "102",
    ]);
    expect(upper("70.1")).toBeUndefined();
    expect(upper("-40.1")).toBeUndefined();
  });
});
