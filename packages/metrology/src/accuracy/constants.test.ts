import { describe, expect, it } from "vitest";
import { amperes, counts, factor, seconds, volts, wattHoursPerCount } from "../units.ts";
import { energyFromRevolutions } from "./energy-from-revolutions.ts";
import { powerFromRevolutions } from "./power-from-revolutions.ts";
import { primaryWatthourConstant } from "./primary-watthour-constant.ts";
import { standardConstantAt } from "./standard-constant-at.ts";

const kh = wattHoursPerCount("7.2");
const none = wattHoursPerCount("0");

describe("constants and what is computed from them", () => {
  it("follows the sources", () => {
    // standby.lbl.gov: 7.2 x 3600 / 600; US Navy MO-221: Kh x revolutions x TF / 1000 and Kh x TF; training sheet: 1.2.
    expect(powerFromRevolutions(counts("1"), kh, seconds("600")).toText()).toBe("43.2");
    expect(energyFromRevolutions(counts("100"), kh, factor("240")).toText()).toBe("172.8");
    expect(primaryWatthourConstant(kh, factor("240")).toText()).toBe("1728");
    const stated = { volts: volts("120"), tapAmperes: amperes("5") };
    const inUse = { volts: volts("240"), tapAmperes: amperes("5") };
    expect(standardConstantAt(wattHoursPerCount("0.6"), stated, inUse).toText()).toBe("1.2");
  });

  it("refuses what is not greater than 0", () => {
    const tap = { volts: volts("120"), tapAmperes: amperes("5") };
    expect(() => powerFromRevolutions(counts("1"), none, seconds("1"))).toThrow(RangeError);
    expect(() => powerFromRevolutions(counts("1"), kh, seconds("0"))).toThrow(RangeError);
    expect(() => energyFromRevolutions(counts("0"), kh, factor("1"))).toThrow(RangeError);
    expect(() => energyFromRevolutions(counts("1"), kh, factor("0"))).toThrow(RangeError);
    expect(() => primaryWatthourConstant(none, factor("1"))).toThrow(RangeError);
    expect(() => standardConstantAt(kh, tap, { ...tap, tapAmperes: amperes("0") })).toThrow(RangeError);
  });
});
