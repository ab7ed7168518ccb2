import { describe, expect, it } from "vitest";
import { percentErrorOf } from "./accuracy/percent-error-of.ts";
import { registrationFromCounts } from "./accuracy/registration-from-counts.ts";
import { registrationOfError } from "./accuracy/registration-of-error.ts";
import {
  amperes,
  counts,
  energy,
  energyPerCount,
  factor,
  kilowattHours,
  kilowattHoursFromWattHours,
  percentError,
  percentRegistration,
  seconds,
  varHours,
  voltAmpereHours,
  volts,
  wattHours,
  wattHoursFromKilowattHours,
  wattHoursPerCount,
  watts,
} from "./units.ts";

const run = {
  counts: counts("10"),
  whPerCount: wattHoursPerCount("1.8"),
  circuitFactor: factor("1"),
  standardEnergy: wattHours("18"),
};

describe("quantities that must not be mixed", () => {
  // The compiler is the judge here: an "expect-error" line that compiles is itself an error.
  it("does not compile when a percent error is handed over as a percent registration, or the other way", () => {
    // @ts-expect-error a percent error is not a percent registration
    expect(percentErrorOf(percentError("-0.5")).toText()).toBe("-100.5");
    // @ts-expect-error a percent registration is not a percent error
    expect(registrationOfError(percentRegistration("99.5")).toText()).toBe("199.5");
    expect(percentErrorOf(percentRegistration("99.5")).toText()).toBe("-0.5");
    expect(registrationOfError(percentError("-0.5")).toText()).toBe("99.5");
  });

  it("does not compile when kWh stand where Wh are meant", () => {
    // @ts-expect-error kWh are not Wh
    expect(registrationFromCounts({ ...run, standardEnergy: kilowattHours("18") }).toText()).toBe("100");
    // @ts-expect-error Wh are not kWh
    expect(wattHoursFromKilowattHours(wattHours("1")).toText()).toBe("1000");
    expect(wattHoursFromKilowattHours(kilowattHours("1")).toText()).toBe("1000");
    expect(kilowattHoursFromWattHours(wattHours("1500")).toText()).toBe("1.5");
  });

  it("does not compile when seconds, amperes, volts, watts, VARh or VAh stand where another unit is meant", () => {
    // @ts-expect-error seconds are not counts
    expect(registrationFromCounts({ ...run, counts: seconds("10") }).toText()).toBe("100");
    // @ts-expect-error amperes are not a factor
    expect(registrationFromCounts({ ...run, circuitFactor: amperes("1") }).toText()).toBe("100");
    // @ts-expect-error volts are not Wh per count
    expect(registrationFromCounts({ ...run, whPerCount: volts("1.8") }).toText()).toBe("100");
    // @ts-expect-error watts are not Wh
    expect(registrationFromCounts({ ...run, standardEnergy: watts("18") }).toText()).toBe("100");
    // @ts-expect-error VARh are not Wh
    expect(registrationFromCounts({ ...run, standardEnergy: varHours("18") }).toText()).toBe("100");
    // @ts-expect-error VAh are not Wh
    expect(registrationFromCounts({ ...run, standardEnergy: voltAmpereHours("18") }).toText()).toBe("100");
    // @ts-expect-error Wh are not VARh
    expect(registrationFromCounts({ ...run, whPerCount: energyPerCount("1.8", "VARh") }).toText()).toBe(
      "100",
    );
    const reactive = {
      ...run,
      whPerCount: energyPerCount("1.8", "VARh"),
      standardEnergy: energy("18", "VARh"),
    };
    expect(registrationFromCounts(reactive).toText()).toBe("100");
  });

  it("does not compile when a bare text or number stands where a quantity is meant", () => {
    // @ts-expect-error a text has no unit
    expect(() => percentErrorOf("99.5")).toThrow(TypeError);
    // @ts-expect-error a binary double has no unit and is not exact
    expect(() => percentErrorOf(99.5)).toThrow(TypeError);
  });

  it("refuses what is no decimal", () => {
    expect(() => wattHours("1e3")).toThrow(RangeError);
    expect(() => wattHours("")).toThrow(RangeError);
  });
});
