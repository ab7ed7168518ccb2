import { describe, expect, it } from "vitest";
import { amperes, percentRegistration, volts } from "../units.ts";
import { certifiedUncertainty } from "./certified-uncertainty.ts";
import { correctForStandard } from "./correct-for-standard.ts";
import { meanOfRuns } from "./mean-of-runs.ts";
import { standardRegistrationAt } from "./standard-registration-at.ts";
import type { CertifiedPoint } from "./test-terms.ts";
import { uncorrectedUncertainty } from "./uncorrected-uncertainty.ts";

const certified = (over: Partial<CertifiedPoint> = {}): CertifiedPoint => ({
  amperes: "5",
  volts: "120",
  powerFactor: "1",
  powerFactorSense: "unity",
  quantity: "Wh",
  registrationPercent: "100.02",
  expandedUncertaintyPercent: "0.04",
  coverageFactor: "2",
  ...over,
});
const at = (points: CertifiedPoint[], current: string, over: object = {}) =>
  standardRegistrationAt(points, {
    amperes: amperes(current),
    volts: volts("120.0"),
    powerFactor: "1.0",
    powerFactorSense: "unity",
    quantity: "Wh",
    ...over,
  });

describe("registration of a standard at a load", () => {
  const points = [
    certified({ amperes: "30", registrationPercent: "99.94", expandedUncertaintyPercent: "0.02" }),
    certified({ amperes: "0.25", registrationPercent: "100.10", expandedUncertaintyPercent: "0.06" }),
    certified(),
  ];

  it("is the certified one on a point, and linear in amperes between two, in whatever order they are listed", () => {
    const on = at(points, "5");
    expect(on.kind === "certified" && on.registration.toText()).toBe("100.02");
    expect(on.kind === "certified" && on.expandedUncertainty.toText()).toBe("0.04");
    // By hand: 100.02 + (10 - 5)/(30 - 5) x (99.94 - 100.02) = 100.02 - 0.016.
    const between = at(points, "10");
    expect(between.kind === "certified" && between.registration.toText()).toBe("100.004");
    // The larger uncertainty of the two neighbours, on either side.
    expect(between.kind === "certified" && between.expandedUncertainty.toText()).toBe("0.04");
    const low = at(points, "1");
    expect(low.kind === "certified" && low.expandedUncertainty.toText()).toBe("0.06");
    const rising = at([certified({ amperes: "1", expandedUncertaintyPercent: "0.01" }), certified()], "3");
    expect(rising.kind === "certified" && rising.expandedUncertainty.toText()).toBe("0.04");
    expect(between.kind === "certified" && between.between.map((point) => point.amperes)).toEqual([
      "5",
      "30",
    ]);
  });

  it("is the certified one on the first and the last point, and nothing beyond them", () => {
    expect(at(points, "0.25").kind).toBe("certified");
    expect(at(points, "30.0").kind).toBe("certified");
    for (const beyond of ["0.249", "30.001"]) {
      expect(at(points, beyond)).toEqual({
        kind: "outside-range",
        lowestAmperes: "0.25",
        highestAmperes: "30",
      });
    }
  });

  it("never takes another voltage, power factor, sense or quantity for the wanted one", () => {
    expect(at(points, "5", { volts: volts("240") }).kind).toBe("no-certified-points");
    expect(at(points, "5", { powerFactor: "0.5" }).kind).toBe("no-certified-points");
    expect(at(points, "5", { powerFactorSense: "lagging" }).kind).toBe("no-certified-points");
    expect(at(points, "5", { quantity: "VARh" }).kind).toBe("no-certified-points");
    expect(at([], "5").kind).toBe("no-certified-points");
  });

  it("refuses a certificate with two points at the same load", () => {
    expect(() => at([certified(), certified({ amperes: "5.00" })], "5")).toThrow(RangeError);
    expect(at([certified(), certified({ amperes: "5.00", volts: "240" })], "5").kind).toBe("certified");
  });
});

describe("uncertainty from a certificate", () => {
  it("is brought to a coverage factor of 2", () => {
    const point = { expandedUncertaintyPercent: "0.03", coverageFactor: "3" };
    expect(certifiedUncertainty(point).toText()).toBe("0.02");
    expect(() => certifiedUncertainty({ ...point, coverageFactor: "0" })).toThrow(RangeError);
  });

  it("grows by the largest certified error where nothing is corrected", () => {
    const points = [
      certified({ registrationPercent: "99.91", expandedUncertaintyPercent: "0.02" }),
      certified({ registrationPercent: "100.05", expandedUncertaintyPercent: "0.04" }),
    ];
    // By hand: 0.04 + 0.09.
    expect(uncorrectedUncertainty(points)?.toText()).toBe("0.13");
    expect(uncorrectedUncertainty([])).toBeNull();
  });
});

describe("correction for the standard's error", () => {
  it("lowers the registration of a meter compared with a slow standard", () => {
    // By hand: 100.5 x 99.8 / 100.
    const corrected = correctForStandard(percentRegistration("100.5"), percentRegistration("99.8"));
    expect(corrected.toText()).toBe("100.299");
  });

  it("refuses a negative registration, and a standard that registers nothing", () => {
    expect(() => correctForStandard(percentRegistration("-1"), percentRegistration("100"))).toThrow(
      RangeError,
    );
    expect(() => correctForStandard(percentRegistration("100"), percentRegistration("0"))).toThrow(
      RangeError,
    );
  });
});

describe("mean of runs", () => {
  it("keeps exact thirds and tells no scatter of a single run", () => {
    const thirds = meanOfRuns(["100", "100", "101"].map((run) => percentRegistration(run)));
    expect(thirds.mean.times("3").toText()).toBe("301");
    const single = meanOfRuns([percentRegistration("100")]);
    expect(single).toMatchObject({ sampleStandardDeviation: null, range: null });
    expect(() => meanOfRuns([])).toThrow(RangeError);
  });

  it("finds the range whatever the order of the runs", () => {
    const of = (...runs: string[]) => meanOfRuns(runs.map((run) => percentRegistration(run))).range?.toText();
    expect(of("99", "101", "100")).toBe("2");
    expect(of("101", "100", "99")).toBe("2");
    expect(of("100", "100")).toBe("0");
  });

  it("is stable where binary doubles fail: NIST StRD NumAcc4 (memory), with 10,000,000 in front", () => {
    const runs = ["10000000.2", ...Array.from({ length: 500 }, () => ["10000000.1", "10000000.3"]).flat()];
    const { mean, sampleStandardDeviation } = meanOfRuns(runs.map((run) => percentRegistration(run)));
    expect(mean.toText()).toBe("10000000.2");
    expect(sampleStandardDeviation?.toFixed(20)).toBe("0.10000000000000000000");
  });
});
