import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { Fraction } from "../fraction.ts";
import { correctBillingDemand } from "./correct-billing-demand.ts";
import { demandErrorOfFullScale } from "./demand-error-of-full-scale.ts";
import { demandErrorOfReading } from "./demand-error-of-reading.ts";
import { demandFromPulses } from "./demand-from-pulses.ts";
import { intervalDemands } from "./interval-demands.ts";

const settings = { subintervalMinutes: "5", subintervalsPerInterval: 3, whPerPulse: "1.8" } as const;

describe("interval demands", () => {
  test("a rolling maximum is never below the block maximum, and blocks add up to the energy", () => {
    fc.assert(
      fc.property(fc.array(fc.bigInt({ min: 0n, max: 10_000n }), { maxLength: 30 }), (pulses) => {
        const block = intervalDemands(pulses, { ...settings, method: "block" });
        const rolling = intervalDemands(pulses, { ...settings, method: "rolling" });
        if (block.maximum === null || rolling.maximum === null) {
          expect(pulses.length).toBeLessThan(3);
          return;
        }
        expect(rolling.maximum.kilowatts.isLessThan(block.maximum.kilowatts)).toBe(false);
        const counted = pulses
          .slice(0, pulses.length - block.unusedSubintervals)
          .reduce((sum, each) => sum + each, 0n);
        const energy = block.intervals.reduce(
          (sum, { kilowatts }) => sum.plus(kilowatts.dividedBy("4")),
          Fraction.of(0n),
        );
        expect(energy.equals(Fraction.of(counted).times("1.8").dividedBy("1000"))).toBe(true);
      }),
    );
  });
  test("the first of equal maxima is named, and a rolling interval wastes nothing", () => {
    const found = intervalDemands(["1", "1", "1", "1"], {
      ...settings,
      method: "rolling",
      transformerFactor: "10",
    });
    expect(found.maximum?.firstSubinterval).toBe(0);
    expect(found.unusedSubintervals).toBe(0);
    // 3 pulses x 1.8 Wh x 10 in a quarter of an hour.
    expect(found.maximum?.kilowatts.toText()).toBe("0.216");
  });
  test("a list shorter than an interval has no demand", () => {
    const found = intervalDemands(["1", "1"], { ...settings, method: "block" });
    expect(found).toEqual({ intervals: [], maximum: null, unusedSubintervals: 2 });
  });
  test.each([0, 1.5, -1])("refuses an interval of %s subintervals", (subintervalsPerInterval) => {
    expect(() => intervalDemands(["1"], { ...settings, method: "block", subintervalsPerInterval })).toThrow(
      RangeError,
    );
  });
  test("refuses negative pulses and constants of nothing", () => {
    expect(() => demandFromPulses("-1", "1", "15")).toThrow(RangeError);
    expect(() => demandFromPulses("1", "0", "15")).toThrow(RangeError);
    expect(() => demandFromPulses("1", "1", "0")).toThrow(RangeError);
    expect(() => demandFromPulses("1", "1", "15", "0")).toThrow(RangeError);
    expect(demandFromPulses("0", "1", "15").equals("0")).toBe(true);
  });
});

describe("demand errors", () => {
  test("refuse a full scale or a reference of nothing", () => {
    expect(() => demandErrorOfFullScale("1", "1", "0")).toThrow(RangeError);
    expect(() => demandErrorOfReading("1", "0")).toThrow(RangeError);
  });
  test("a meter that reads low has a negative error", () => {
    expect(demandErrorOfReading("49", "50").toText()).toBe("-2");
    expect(demandErrorOfFullScale("49", "50", "200").toText()).toBe("-0.5");
  });
});

describe("correction of billing demand", () => {
  const points = { meterAt40: "40", errorAt40: "0", meterAt80: "80", errorAt80: "0" };
  test("a meter without error corrects nothing", () => {
    const found = correctBillingDemand({ ...points, averageBillingDemand: "60" }, ["61.5"]);
    expect(found.kind === "correction" && found.correctedDemands[0]?.toText()).toBe("61.5");
  });
  test("the corrected average is the reference reading, whatever the points", () => {
    const kilowatts = fc.integer({ min: 1, max: 1000 });
    const error = fc.integer({ min: -20, max: 20 });
    fc.assert(
      fc.property(
        kilowatts,
        kilowatts,
        error,
        error,
        kilowatts,
        (at40, more, errorAt40, errorAt80, average) => {
          const found = correctBillingDemand(
            {
              meterAt40: BigInt(at40),
              errorAt40: BigInt(errorAt40),
              meterAt80: BigInt(at40 + more),
              errorAt80: BigInt(errorAt80),
              averageBillingDemand: BigInt(average),
            },
            [BigInt(average)],
          );
          if (found.kind !== "correction") return;
          expect(found.correctedDemands[0]?.equals(found.referenceAtAverage)).toBe(true);
        },
      ),
    );
  });
  test("is not defined where the points coincide or nothing would have been read", () => {
    const kind = (more: Partial<Parameters<typeof correctBillingDemand>[0]>) =>
      correctBillingDemand({ ...points, averageBillingDemand: "60", ...more }, []).kind;
    expect(kind({ meterAt80: "40" })).toBe("not-defined");
    expect(kind({ errorAt40: "60", errorAt80: "60" })).toBe("not-defined");
    expect(kind({ averageBillingDemand: "0", errorAt40: "-1", errorAt80: "-1" })).toBe("not-defined");
  });
});
