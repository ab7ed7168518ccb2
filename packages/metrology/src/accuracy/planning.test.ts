import { describe, expect, it } from "vitest";
import { Fraction } from "../fraction.ts";
import {
  amperes,
  counts,
  energyPerCount,
  factor,
  kilowattHours,
  percentError,
  seconds,
  varHours,
  volts,
  wattHours,
  wattHoursPerCount,
} from "../units.ts";
import { apparentEnergy } from "./apparent-energy.ts";
import { circuitPower } from "./circuit-power.ts";
import { countResolution } from "./count-resolution.ts";
import { countsForResolution } from "./counts-for-resolution.ts";
import { countsForTime } from "./counts-for-time.ts";
import { creepsByRotation } from "./creeps-by-rotation.ts";
import { expectedTime } from "./expected-time.ts";
import { netEnergy } from "./net-energy.ts";
import { pointAdvice } from "./point-advice.ts";
import { registerAdvance } from "./register-advance.ts";
import { registerConstant } from "./register-constant.ts";
import { registrationFromRegister } from "./registration-from-register.ts";
import { transformerFactor } from "./transformer-factor.ts";

const load = (over: object = {}) => ({
  volts: volts("120"),
  amperes: amperes("2.5"),
  powerFactor: factor("1"),
  circuitFactor: factor("3"),
  quantity: "Wh" as const,
  ...over,
});

describe("planning a point", () => {
  it("knows the power that the meter sees, by quantity", () => {
    // By hand: 3 x 120 x 2.5 = 900; power factor 0.6 has a sine of 0.8.
    expect(circuitPower(load()).toText()).toBe("900");
    expect(circuitPower(load({ powerFactor: factor("0.6") })).toText()).toBe("540");
    expect(circuitPower(load({ powerFactor: factor("0.6"), quantity: "VARh" })).toText()).toBe("720");
    expect(circuitPower(load({ powerFactor: factor("0.6"), quantity: "VAh" })).toText()).toBe("900");
    expect(() => circuitPower(load({ quantity: "VARh" }))).toThrow(RangeError);
    expect(() => circuitPower(load({ powerFactor: factor("1.01") }))).toThrow(RangeError);
    expect(() => circuitPower(load({ volts: volts("0") }))).toThrow(RangeError);
  });

  it("expects 72 s for ten revolutions of a 9S meter at full load in series", () => {
    // By hand: 3600 x 10 x 1.8 / 900 = 72.
    expect(expectedTime(counts("10"), wattHoursPerCount("1.8"), load()).toText()).toBe("72");
    const reactive = { ...load({ powerFactor: factor("0.6") }), quantity: "VARh" as const };
    expect(expectedTime(counts("10"), energyPerCount("1.8", "VARh"), reactive).toText()).toBe("90");
    expect(() => expectedTime(counts("0"), wattHoursPerCount("1.8"), load())).toThrow(RangeError);
    expect(() => expectedTime(counts("1"), wattHoursPerCount("-1"), load())).toThrow(RangeError);
  });

  it("finds the least whole counts for a resolution and for a time", () => {
    // By hand: 100 / 0.03 = 3333.3...; 60 s at 900 W are 15 Wh, 8.33... revolutions of 1.8 Wh.
    expect(countsForResolution(percentError("0.03")).toText()).toBe("3334");
    expect(countsForResolution(percentError("0.04")).toText()).toBe("2500");
    expect(countsForResolution(percentError("200")).toText()).toBe("1");
    expect(countsForTime(seconds("60"), wattHoursPerCount("1.8"), load()).toText()).toBe("9");
    expect(countsForTime(seconds("72"), wattHoursPerCount("1.8"), load()).toText()).toBe("10");
    expect(countResolution(counts("2500")).toText()).toBe("0.04");
    expect(() => countResolution(counts("0"))).toThrow(RangeError);
    expect(() => countsForResolution(percentError("0"))).toThrow(RangeError);
    expect(() => countsForTime(seconds("0"), wattHoursPerCount("1.8"), load())).toThrow(RangeError);
    expect(() => countsForTime(seconds("1"), wattHoursPerCount("0"), load())).toThrow(RangeError);
  });

  it("warns where one count is worth more than a tenth of the tolerance, and not where it is worth just that", () => {
    const advise = (readingCounts: string, limits: { minPercent: string; maxPercent: string } | null) =>
      pointAdvice(
        {
          counts: counts("10"),
          whPerCount: wattHoursPerCount("1.8"),
          load: load(),
          readingCounts: counts(readingCounts),
        },
        limits,
      );
    // By hand: 98 to 102 is a tolerance of 2 %, a tenth is 0.2 %, which 500 counts just reach.
    const two = { minPercent: "98", maxPercent: "102" };
    expect(advise("500", two).warning).toBeNull();
    expect(advise("499", two).warning).toContain("more than a tenth of the tolerance (0.2 %)");
    expect(advise("499", two).leastReadingCounts?.toText()).toBe("500");
    expect(advise("500", two).time.toText()).toBe("72");
    expect(advise("1", null)).toMatchObject({
      warning: null,
      tenthOfTolerance: null,
      leastReadingCounts: null,
    });
    expect(advise("500", { minPercent: "100", maxPercent: "100" }).leastReadingCounts).toBeNull();
  });
});

describe("registers and constants", () => {
  const readings = (before: string, after: string, over: object = {}) =>
    registerAdvance({
      before: Fraction.of(before),
      after: Fraction.of(after),
      dials: 5,
      multiplier: factor("10"),
      transformerFactor: factor("1"),
      ...over,
    });

  it("continues a register that passed its last dial", () => {
    // By hand: from 99990 to 100015 are 25 steps of 10 kWh.
    expect(readings("99990", "15")).toMatchObject({ kind: "advance", rolledOver: true });
    const rolled = readings("99990", "15");
    expect(rolled.kind === "advance" && rolled.energy.toText()).toBe("250");
    const plain = readings("100.5", "103.5", { transformerFactor: factor("240") });
    expect(plain.kind === "advance" && plain.energy.toText()).toBe("7200");
    const still = readings("7", "7");
    expect(still.kind === "advance" && still.energy.toText()).toBe("0");
    expect(still).toMatchObject({ rolledOver: false });
  });

  it("refuses a reading that the dials cannot show", () => {
    expect(readings("100000", "1")).toMatchObject({ kind: "reading-beyond-dials", which: "before" });
    expect(readings("1", "-0.1")).toMatchObject({ kind: "reading-beyond-dials", which: "after" });
    expect(readings("99999.9", "0").kind).toBe("advance");
    for (const dials of [0, 13, 4.5]) {
      expect(() => readings("1", "2", { dials })).toThrow(RangeError);
    }
    expect(() => readings("1", "2", { multiplier: factor("0") })).toThrow(RangeError);
  });

  it("takes a registration from a register's advance", () => {
    // By hand: 300 / 3 = 100; 300 / 3.01 = 99.66777408637873...
    const register = (standard: string, seen: string) =>
      registrationFromRegister(kilowattHours("3"), kilowattHours(standard), factor(seen)).toText();
    expect(register("3", "1")).toBe("100");
    expect(register("3.01", "1")).toBe("99.6677740864");
    expect(register("1", "3")).toBe("100");
    expect(() => register("0", "1")).toThrow(RangeError);
  });

  it("computes transformer factors of either kind alone, and refuses a rating of 0", () => {
    expect(transformerFactor(null, null).toText()).toBe("1");
    expect(transformerFactor({ primary: "200", secondary: "5" }, null).toText()).toBe("40");
    expect(transformerFactor(null, { primary: "7200", secondary: "120" }).toText()).toBe("60");
    expect(() => transformerFactor({ primary: "200", secondary: "0" }, null)).toThrow(RangeError);
  });

  it("computes a register constant exactly where the ratio is a fraction", () => {
    // By hand: 7.2 x 125/9 x 100 / 10,000 = 1.
    const ratio = factor(Fraction.of("125").dividedBy("9"));
    expect(registerConstant(wattHoursPerCount("7.2"), ratio, factor("100")).toText()).toBe("1");
    expect(() => registerConstant(wattHoursPerCount("7.2"), factor("0"), factor("100"))).toThrow(RangeError);
  });

  it("combines active and reactive energy, and nets the two directions", () => {
    expect(apparentEnergy(wattHours("-3"), varHours("4")).toText()).toBe("5");
    expect(netEnergy(kilowattHours("320"), kilowattHours("410")).toText()).toBe("-90");
    expect(() => netEnergy(kilowattHours("-1"), kilowattHours("0"))).toThrow(RangeError);
    expect(() => netEnergy(kilowattHours("1"), kilowattHours("-1"))).toThrow(RangeError);
  });
});

describe("creep by rotation", () => {
  const creeps = (turns: string, time: string) =>
    creepsByRotation(counts(turns), seconds(time), seconds("300"));

  it("takes a whole turn in the rule's time or less as creep", () => {
    // 52 Pa. Code 57.20(a): one complete rotation in 5 minutes or less.
    expect(creeps("1", "290")).toBe(true);
    expect(creeps("1", "300")).toBe(true);
    expect(creeps("1", "301")).toBe(false);
    expect(creeps("0.9", "60")).toBe(false);
    expect(creeps("0", "600")).toBe(false);
    expect(creeps("2", "600")).toBe(true);
  });

  it("refuses negative turns and times that are not greater than 0", () => {
    expect(() => creeps("-1", "300")).toThrow(RangeError);
    expect(() => creeps("1", "0")).toThrow(RangeError);
  });
});
