import { describe, expect, it } from "vitest";
import { checkNameplate, type Nameplate } from "./check-nameplate.ts";

// Every relation here is common practice, no source, unless a line says otherwise; the numbers are by hand.
const plate = (over: Partial<Nameplate> = {}) =>
  checkNameplate({
    form: "9S",
    elements: "3",
    designVolts: "120",
    testAmperes: "2.5",
    classAmperes: "20",
    kh: "1.8",
    kt: "0.6",
    ...over,
  });

describe("a nameplate that agrees with itself", () => {
  it.each([
    [
      "2S, 240 V, 30 A",
      {
        form: "2S",
        elements: "1",
        designVolts: "240",
        testAmperes: "30",
        classAmperes: "200",
        kh: "7.2",
        kt: null,
      },
    ],
    ["9S, 120 V, 2.5 A", {}],
    ["6S, 120 V, 2.5 A: three in the nameplate relation, 2 1/2 elements", { form: "6S", elements: "2.5" }],
    [
      "12S, 120 V, 30 A",
      { form: "12S", elements: "2", testAmperes: "30", classAmperes: "200", kh: "14.4", kt: null },
    ],
    ["16S, 120 V, 30 A", { form: "16S", testAmperes: "30", classAmperes: "200", kh: "21.6", kt: "21.6" }],
    ["elements and class not given", { elements: null, classAmperes: null }],
    ["a class that is in no list", { classAmperes: "480" }],
  ])("has no finding: %s", (_, over) => {
    expect(plate(over)).toEqual([]);
  });
});

describe("a nameplate that does not", () => {
  it("names the constant when everything else is confirmed", () => {
    const [finding] = plate({ kh: "2.1", kt: null });
    expect(finding).toMatchObject({
      kind: "constant-disagrees",
      oddOne: "kh",
      suspects: [{ field: "kh", shouldBe: "1.8" }],
    });
    expect(finding?.reason).toBe(
      "Form 9S, 120 V and 2.5 A give Kh 1.8; the nameplate says 2.1. To agree: Kh 1.8.",
    );
  });

  it("leaves it to a person when constant or voltage may be wrong", () => {
    // 3 x 240 x 2.5 / 500 = 3.6.
    const [finding] = plate({ kh: "3.6" });
    expect(finding?.oddOne).toBeNull();
    expect(finding?.suspects).toEqual([
      { field: "kh", shouldBe: "1.8" },
      { field: "designVolts", shouldBe: "240" },
    ]);
  });

  it("names a voltage that nobody uses when a usual one brings agreement", () => {
    expect(plate({ designVolts: "102", kt: null })[0]).toMatchObject({ oddOne: "designVolts" });
  });

  it("names test amperes that the class contradicts", () => {
    const findings = plate({ testAmperes: "15", kt: null });
    expect(findings.map(({ kind, oddOne }) => [kind, oddOne])).toEqual([
      ["class-disagrees", "testAmperes"],
      ["constant-disagrees", "testAmperes"],
    ]);
  });

  it("suspects test amperes without a class, and cannot say which is odd", () => {
    // 3 x 120 x 15 / 500 = 10.8.
    expect(plate({ kh: "10.8", kt: null, classAmperes: null })[0]).toMatchObject({
      oddOne: null,
      suspects: [{ field: "kh" }, { field: "testAmperes", shouldBe: "15" }],
    });
  });

  it("cannot say which is odd when the class contradicts the test amperes and asks for yet others", () => {
    // Class 200 usually has 30 A; 15 A would give the Kh of 10.8.
    const findings = plate({ kh: "10.8", kt: null, classAmperes: "200" });
    expect(findings.map(({ kind, oddOne }) => [kind, oddOne])).toEqual([
      ["class-disagrees", "testAmperes"],
      ["constant-disagrees", null],
    ]);
  });

  it("names the form when the elements contradict it and another form agrees", () => {
    // 2 x 120 x 2.5 / 500 = 1.2.
    const findings = plate({ elements: "2", kh: "1.2" });
    expect(findings.map(({ kind, oddOne }) => [kind, oddOne])).toEqual([
      ["elements-disagree", null],
      ["constant-disagrees", "form"],
    ]);
    expect(findings[0]?.reason).toBe(
      "Form 9S has 3 elements; the nameplate says 2. One of the two is wrong.",
    );
    expect(plate({ elements: null, kh: "1.2" })[0]).toMatchObject({ oddOne: null });
    expect(plate({ elements: "3", kh: "1.2" })[0]).toMatchObject({ oddOne: "kh" });
  });

  it("finds a Kh that is no whole multiple of Kt", () => {
    expect(plate({ kt: "0.7" })).toMatchObject([{ kind: "pulse-constant-disagrees" }]);
  });

  it("says when a form is not known, whole or for sure, and checks the rest", () => {
    expect(plate({ form: "99S", kt: "0.7" }).map(({ kind }) => kind)).toEqual([
      "form-not-known",
      "pulse-constant-disagrees",
    ]);
    expect(plate({ form: "24S" })).toMatchObject([{ kind: "form-not-known" }]);
  });

  it("refuses numbers that are not greater than 0", () => {
    expect(() => plate({ kh: "0" })).toThrow(RangeError);
    expect(() => plate({ kt: "0" })).toThrow(RangeError);
    expect(() => plate({ designVolts: "-120" })).toThrow(RangeError);
  });
});
