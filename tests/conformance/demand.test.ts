import { correctBillingDemand } from "@sealbook/metrology/demand/correct-billing-demand";
import { demandErrorOfFullScale } from "@sealbook/metrology/demand/demand-error-of-full-scale";
import { demandErrorOfReading } from "@sealbook/metrology/demand/demand-error-of-reading";
import { demandFromPulses } from "@sealbook/metrology/demand/demand-from-pulses";
import { intervalDemands } from "@sealbook/metrology/demand/interval-demands";
import { Fraction } from "@sealbook/metrology/fraction";
import { describe, expect, test } from "vitest";

const corrected = (...given: Parameters<typeof correctBillingDemand>) => {
  const found = correctBillingDemand(...given);
  if (found.kind !== "correction") throw new Error(found.reason);
  return found;
};

describe("F.A.C. 25-6.103(1): correction of mechanical and lagged demand", () => {
  test("full scale 100 kW: 41.0 with error 1.0, 82.4 with error 2.4, average 60.0", () => {
    // By the formula with rational numbers: 1.4 / 41.4 x 19 + 1 = 68 / 41.4; over 60 less that; C.F. is its complement.
    const found = corrected(
      {
        meterAt40: "41.0",
        errorAt40: "1.0",
        meterAt80: "82.4",
        errorAt80: "2.4",
        averageBillingDemand: "60.0",
      },
      ["60"],
    );
    expect(found.errorAtAverage.equals(Fraction.of("68").dividedBy("41.4"))).toBe(true);
    expect(found.errorAtAverage.toFixed(4)).toBe("1.6425");
    expect(found.errorRatio.toFixed(6)).toBe("0.028146");
    expect(found.correctionFactor.toFixed(6)).toBe("0.972625");
  });

  test("410 with error 10, 824 with error 24, average 500: corrected 486.957 kW", () => {
    const found = corrected(
      { meterAt40: "410", errorAt40: "10", meterAt80: "824", errorAt80: "24", averageBillingDemand: "500" },
      ["500", "480"],
    );
    expect(found.errorAtAverage.toFixed(4)).toBe("13.0435");
    expect(found.referenceAtAverage.toFixed(4)).toBe("486.9565");
    expect(found.errorRatio.times("100").toFixed(4)).toBe("2.6786");
    expect(found.correctedDemands.map((demand) => demand.toFixed(3))).toEqual(["486.957", "467.478"]);
  });

  test("a meter that reads low by 2 % everywhere: every month is divided by 0.98", () => {
    const found = corrected(
      {
        meterAt40: "39.2",
        errorAt40: "-0.8",
        meterAt80: "78.4",
        errorAt80: "-1.6",
        averageBillingDemand: "49",
      },
      ["49", "98"],
    );
    expect(found.errorRatio.toText()).toBe("-0.02");
    expect(found.correctedDemands.map((demand) => demand.toText())).toEqual(["50", "100"]);
  });
});

describe("F.A.C. 25-6.052(3): limits of error", () => {
  // Mechanical or lagged: 4 % of full scale. One good, one bad, one on the limit; full scale 50 kW.
  test.each([
    ["26.9", "25", true],
    ["27.1", "25", false],
    ["27", "25", true],
    ["23", "25", true],
  ])("mechanical demand %s kW against %s kW is acceptable: %s", (meter, reference, acceptable) => {
    expect(!demandErrorOfFullScale(meter, reference, "50").absolute().isGreaterThan("4")).toBe(acceptable);
  });
  // Electronic: 2 % of reading.
  test.each([
    ["25.4", "25", true],
    ["25.6", "25", false],
    ["25.5", "25", true],
    ["24.5", "25", true],
  ])("electronic demand %s kW against %s kW is acceptable: %s", (meter, reference, acceptable) => {
    expect(!demandErrorOfReading(meter, reference).absolute().isGreaterThan("2")).toBe(acceptable);
  });
});

describe("demand from pulses (definition: energy of the interval over its length)", () => {
  test("10 revolutions of Kh 7.2 in 30 s are 8.64 kW (cipco.apogee.net prints 8.6)", () => {
    expect(demandFromPulses("10", "7.2", "0.5").toText()).toBe("8.64");
  });
  test("transformer factor 240 (20:5 and 7200:120, navalfacilities.tpub.com MO-221) multiplies it", () => {
    expect(demandFromPulses("10", "7.2", "0.5", "240").toText()).toBe("2073.6");
  });
  test("a load that straddles two blocks is seen whole only by the rolling interval (arithmetic by hand)", () => {
    const pulses = ["10", "30", "30", "10"];
    const settings = { subintervalMinutes: "15", subintervalsPerInterval: 2, whPerPulse: "1000" } as const;
    const blocks = intervalDemands(pulses, { ...settings, method: "block" });
    const rolling = intervalDemands(pulses, { ...settings, method: "rolling" });
    expect(blocks.intervals.map(({ kilowatts }) => kilowatts.toText())).toEqual(["80", "80"]);
    expect(rolling.intervals.map(({ kilowatts }) => kilowatts.toText())).toEqual(["80", "120", "80"]);
    expect(rolling.maximum).toMatchObject({ firstSubinterval: 1 });
  });
});
