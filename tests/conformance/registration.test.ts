import { averageRegistration } from "@sealbook/metrology/accuracy/average-registration";
import { circuitPower } from "@sealbook/metrology/accuracy/circuit-power";
import { correctForStandard } from "@sealbook/metrology/accuracy/correct-for-standard";
import { countsForTime } from "@sealbook/metrology/accuracy/counts-for-time";
import { creepsByRotation } from "@sealbook/metrology/accuracy/creeps-by-rotation";
import { energyFromRevolutions } from "@sealbook/metrology/accuracy/energy-from-revolutions";
import { expectedTime } from "@sealbook/metrology/accuracy/expected-time";
import { percentErrorOf } from "@sealbook/metrology/accuracy/percent-error-of";
import { powerFromRevolutions } from "@sealbook/metrology/accuracy/power-from-revolutions";
import { primaryWatthourConstant } from "@sealbook/metrology/accuracy/primary-watthour-constant";
import { registerAdvance } from "@sealbook/metrology/accuracy/register-advance";
import { registerConstant } from "@sealbook/metrology/accuracy/register-constant";
import { registrationFromCounts } from "@sealbook/metrology/accuracy/registration-from-counts";
import { standardConstantAt } from "@sealbook/metrology/accuracy/standard-constant-at";
import { standardEnergyFromRevolutions } from "@sealbook/metrology/accuracy/standard-energy-from-revolutions";
import { transformerFactor } from "@sealbook/metrology/accuracy/transformer-factor";
import { watthourConstantFromRating } from "@sealbook/metrology/accuracy/watthour-constant-from-rating";
import { circuitFactor } from "@sealbook/metrology/forms/circuit-factor";
import { electricalCount } from "@sealbook/metrology/forms/electrical-count";
import { Fraction } from "@sealbook/metrology/fraction";
import { northCarolina } from "@sealbook/metrology/profiles/places/north-carolina";
import {
  amperes,
  counts,
  energy,
  factor,
  percentRegistration,
  seconds,
  volts,
  wattHoursPerCount,
} from "@sealbook/metrology/units";
import { describe, expect, it } from "vitest";

// Each case names its source. Those whose source prints the result come first; "by hand" results apply a cited formula
// to inputs made here, and were worked out on paper.

const trainingSheet = "bartleby.com/essay/Metering-Formula-F3N9UXADJK8Q";
const navy = "US Navy MO-221, navalfacilities.tpub.com/mo221/mo2210142.htm";
const berkeley = "standby.lbl.gov/measure/in-home/electrometer";
const revolutionGuide = "calculator5.snowdaycalculatornow.com/?p=5525, solved examples";

describe("a meter that stands still while energy passes", () => {
  it("registers 0 % and has an error of -100 %", () => {
    // By hand: R = 100 x 0 x 7.2 / (1 x 60) = 0; E = R - 100 = -100.
    const registration = registrationFromCounts({
      counts: counts("0"),
      whPerCount: wattHoursPerCount("7.2"),
      circuitFactor: factor("1"),
      standardEnergy: energy("60", "Wh"),
    });
    expect(registration.toText()).toBe("0");
    expect(percentErrorOf(registration).toText()).toBe("-100");
    // By hand: R_true = 0 x 100.05 / 100 = 0, whatever the standard's own error.
    expect(correctForStandard(registration, percentRegistration("100.05")).toText()).toBe("0");
  });

  it("enters the average as 0, not as a point that is missing", () => {
    // By hand, 04 NCAC 11 R08-11(a)(1): (4 x 100 + 0) / 5 = 80.
    const method1 = northCarolina.averages[0]?.rule;
    if (method1 === undefined) throw new Error("the profile has method 1");
    const average = averageRegistration(method1, {
      "full-load": percentRegistration("100"),
      "light-load": percentRegistration("0"),
    });
    expect(average.kind === "average" ? average.registration.toText() : average.kind).toBe("80");
  });

  it("needs energy that passed, and never registers less than nothing", () => {
    const run = (n: string, w: string) => () =>
      registrationFromCounts({
        counts: counts(n),
        whPerCount: wattHoursPerCount("7.2"),
        circuitFactor: factor("1"),
        standardEnergy: energy(w, "Wh"),
      });
    expect(run("0", "0")).toThrow(RangeError);
    expect(run("-1", "60")).toThrow(RangeError);
  });
});

describe("registration from revolutions of a rotating standard", () => {
  it.each([
    {
      meter: "28.8",
      turns: "1",
      seen: "1",
      constant: "1.2",
      standard: "24.05",
      printed: "99.79",
      what: "left element, light load",
    },
    {
      meter: "28.8",
      turns: "1",
      seen: "1",
      constant: "1.2",
      standard: "23.98",
      printed: "100.08",
      what: "right element, light load",
    },
    {
      meter: "28.8",
      turns: "2",
      seen: "2",
      constant: "1.2",
      standard: "24.04",
      printed: "99.83",
      what: "series, light load",
    },
    {
      meter: "28.8",
      turns: "10",
      seen: "1",
      constant: "12",
      standard: "24.07",
      printed: "99.71",
      what: "left element, full load",
    },
  ])(`${trainingSheet}: $what prints $printed %`, ({ meter, turns, seen, constant, standard, printed }) => {
    const registration = registrationFromCounts({
      counts: counts(turns),
      whPerCount: wattHoursPerCount(meter),
      circuitFactor: factor(seen),
      standardEnergy: standardEnergyFromRevolutions(counts(standard), wattHoursPerCount(constant)),
    });
    expect(registration.toFixed(2)).toBe(printed);
  });

  it.each([
    { inUse: ["240", "5"], printed: "1.2" },
    { inUse: ["240", "50"], printed: "12" },
  ] as const)(`${trainingSheet}: Ks 0.6 at 120 V, 5 A is $printed at $inUse`, ({ inUse, printed }) => {
    const [voltage, tap] = inUse;
    const stated = { volts: volts("120"), tapAmperes: amperes("5") };
    const used = { volts: volts(voltage), tapAmperes: amperes(tap) };
    expect(standardConstantAt(wattHoursPerCount("0.6"), stated, used).toText()).toBe(printed);
    expect(() => standardConstantAt(wattHoursPerCount("0"), stated, used)).toThrow(RangeError);
    expect(() =>
      standardConstantAt(wattHoursPerCount("0.6"), { ...stated, volts: volts("0") }, used),
    ).toThrow(RangeError);
  });

  it("cram.com/essay P39CYHKXC (error = accuracy - 100): 99.79 % is an error of -0.21 %", () => {
    expect(percentErrorOf(percentRegistration("99.79")).toText()).toBe("-0.21");
  });

  it("refuses a run without energy, constant or factor, or with counts below 0", () => {
    const run = {
      counts: counts("1"),
      whPerCount: wattHoursPerCount("1"),
      circuitFactor: factor("1"),
      standardEnergy: standardEnergyFromRevolutions(counts("1"), wattHoursPerCount("1")),
    };
    expect(registrationFromCounts(run).toText()).toBe("100");
    expect(() => registrationFromCounts({ ...run, counts: counts("-1") })).toThrow(RangeError);
    expect(() => registrationFromCounts({ ...run, whPerCount: wattHoursPerCount("0") })).toThrow(RangeError);
    expect(() => registrationFromCounts({ ...run, circuitFactor: factor("0") })).toThrow(RangeError);
    expect(() => standardEnergyFromRevolutions(counts("0"), wattHoursPerCount("1"))).toThrow(RangeError);
    expect(() => standardEnergyFromRevolutions(counts("1"), wattHoursPerCount("-1"))).toThrow(RangeError);
  });
});

describe("power from timed revolutions", () => {
  it.each([
    { source: berkeley, kh: "7.2", turns: "1", time: "600", printed: "43.2", places: 1 },
    {
      source: "smartenergytoday.com/2007/08/27",
      kh: "7.2",
      turns: "1",
      time: "27",
      printed: "960",
      places: 0,
    },
    {
      source: "cipco.apogee.net/foe/frdkw.asp (8.6 kW)",
      kh: "7.2",
      turns: "10",
      time: "30",
      printed: "8640",
      places: 0,
    },
    {
      source: "reference.com, digital electric meter (1.2 kW)",
      kh: "1",
      turns: "1",
      time: "3",
      printed: "1200",
      places: 0,
    },
    {
      source: "electronicspoint.com threads 165762 (63 W)",
      kh: "7.2",
      turns: "0.1",
      time: "41",
      printed: "63",
      places: 0,
    },
    { source: revolutionGuide, kh: "0.625", turns: "240", time: "900", printed: "600", places: 0 },
    {
      source: `${berkeley}, inputs printed, by hand`,
      kh: "7.2",
      turns: "1",
      time: "582",
      printed: "44.536",
      places: 3,
    },
    {
      source: `${berkeley}, inputs printed, by hand`,
      kh: "7.2",
      turns: "1",
      time: "609",
      printed: "42.562",
      places: 3,
    },
    {
      source: `${berkeley}, inputs printed, by hand`,
      kh: "7.2",
      turns: "1",
      time: "597",
      printed: "43.417",
      places: 3,
    },
  ])("$source: Kh $kh, $turns turns in $time s are $printed W", ({ kh, turns, time, printed, places }) => {
    const power = powerFromRevolutions(counts(turns), wattHoursPerCount(kh), seconds(time));
    expect(power.toFixed(places)).toBe(printed);
  });

  it("refuses a time of 0", () => {
    expect(() => powerFromRevolutions(counts("1"), wattHoursPerCount("7.2"), seconds("0"))).toThrow(
      RangeError,
    );
    expect(() => powerFromRevolutions(counts("0"), wattHoursPerCount("7.2"), seconds("1"))).toThrow(
      RangeError,
    );
    expect(() => powerFromRevolutions(counts("1"), wattHoursPerCount("0"), seconds("1"))).toThrow(RangeError);
  });
});

describe("expected time and counts", () => {
  const load = (watts: string) => ({
    volts: volts(watts),
    amperes: amperes("1"),
    powerFactor: factor("1"),
    circuitFactor: factor("1"),
    quantity: "Wh" as const,
  });

  it.each([
    { source: berkeley, kh: "7.2", turns: "1", power: "43.2", time: "600" },
    { source: "smartenergytoday.com/2007/08/27", kh: "7.2", turns: "1", power: "960", time: "27" },
    { source: "cipco.apogee.net/foe/frdkw.asp", kh: "7.2", turns: "10", power: "8640", time: "30" },
    {
      source: "hasmukhpatel554.blogspot.com: 600 W, 3,200 pulses a kWh: 32 pulses a minute",
      kh: "0.3125",
      turns: "32",
      power: "600",
      time: "60",
    },
  ])(
    "$source: $turns counts of $kh Wh at $power W take $time s, and no fewer counts last so long",
    (published) => {
      const { kh, turns, power, time } = published;
      expect(expectedTime(counts(turns), wattHoursPerCount(kh), load(power)).toText()).toBe(time);
      expect(countsForTime(seconds(time), wattHoursPerCount(kh), load(power)).toText()).toBe(turns);
    },
  );

  it("C12.1 through OAC 165:35-15-12: light load is 10 % of test amperes, 0.25 A of 2.5 A", () => {
    expect(Fraction.of("2.5").times("10").dividedBy("100").toText()).toBe("0.25");
    expect(circuitPower({ ...load("120"), amperes: amperes("0.25") }).toText()).toBe("30");
  });
});

describe("transformers and registers", () => {
  it(`${navy}: 20:5 and 7200:120 give 4 x 60 = 240`, () => {
    const current = { primary: "20", secondary: "5" };
    const voltage = { primary: "7200", secondary: "120" };
    expect(transformerFactor(current, voltage).toText()).toBe("240");
  });

  it(`${revolutionGuide}: 500 revolutions of 1.2 Wh are 0.6 kWh`, () => {
    const energy = energyFromRevolutions(counts("500"), wattHoursPerCount("1.2"), factor("1"));
    expect(energy.toText()).toBe("0.6");
  });

  it("yumpu.com/en/document/view/41621493 (a utility's leaflet): from 9201 to 9846 are 645 kWh", () => {
    const found = registerAdvance({
      before: Fraction.of("9201"),
      after: Fraction.of("9846"),
      dials: 5,
      multiplier: factor("1"),
      transformerFactor: factor("1"),
    });
    expect(found.kind === "advance" && found.energy.toText()).toBe("645");
  });

  it("cirroenergy.com/services/meter.asp: a five-dial register begins again at 100,000 kWh", () => {
    const found = registerAdvance({
      before: Fraction.of("99375"),
      after: Fraction.of("19375"),
      dials: 5,
      multiplier: factor("1"),
      transformerFactor: factor("1"),
    });
    // 119,375 - 99,375, by hand.
    expect(found.kind === "advance" && found.energy.toText()).toBe("20000");
  });

  it(`${navy}, by hand: 100 revolutions of Kh 7.2 behind a factor of 240 are 172.8 kWh`, () => {
    const energy = energyFromRevolutions(counts("100"), wattHoursPerCount("7.2"), factor("240"));
    expect(energy.toText()).toBe("172.8");
    expect(() => energyFromRevolutions(counts("0"), wattHoursPerCount("7.2"), factor("1"))).toThrow(
      RangeError,
    );
  });

  it("US Navy MO-221, mo2210139 (PKh = Kh x TF), by hand: Kh 1.8 behind 200:5 is 72", () => {
    expect(primaryWatthourConstant(wattHoursPerCount("1.8"), factor("40")).toText()).toBe("72");
    expect(() => primaryWatthourConstant(wattHoursPerCount("0"), factor("40"))).toThrow(RangeError);
  });

  it(`${trainingSheet} (M = Kh Rr Rs / 10,000), by hand: Kh 2.4, Rr 166 2/3, Rs 100 give 4`, () => {
    const ratio = factor(Fraction.of("500").dividedBy("3"));
    expect(registerConstant(wattHoursPerCount("2.4"), ratio, factor("100")).toText()).toBe("4");
  });
});

describe("watthour constant from the rating", () => {
  // freezingblue.com card set 310317: 1,000 turns an hour single-phase, 500 polyphase.
  it.each([
    { source: trainingSheet, form: "12S", voltage: "240", current: "30", kh: "28.8" },
    { source: "userz.net form list, usual Kh of 2S", form: "2S", voltage: "240", current: "30", kh: "7.2" },
    { source: "common practice, no source", form: "16S", voltage: "120", current: "30", kh: "21.6" },
    { source: "common practice, no source", form: "9S", voltage: "120", current: "2.5", kh: "1.8" },
    { source: "common practice, no source", form: "6S", voltage: "120", current: "2.5", kh: "1.8" },
    { source: "common practice, no source", form: "12S", voltage: "120", current: "30", kh: "14.4" },
  ])("$source: form $form, $voltage V, $current A is Kh $kh", ({ form, voltage, current, kh }) => {
    const elements = electricalCount(form);
    expect(elements).not.toBeNull();
    const constant = watthourConstantFromRating({
      volts: volts(voltage),
      testAmperes: amperes(current),
      electricalCount: Fraction.of(elements?.count ?? "0"),
      polyphase: elements?.polyphase ?? false,
    });
    expect(constant.toText()).toBe(kh);
  });

  it("common practice, no source: a 2 1/2-element wye meter counts 3 on the nameplate, 4 in series, 2 by its common coil", () => {
    expect(electricalCount("6S")?.count).toBe("3");
    expect(circuitFactor("6S", "series")).toMatchObject({ kind: "known" });
    const seen = (circuits: "series" | "common-coil") => {
      const found = circuitFactor("6S", circuits);
      return found.kind === "known" ? found.factor.toText() : found.reason;
    };
    expect(seen("series")).toBe("4");
    expect(seen("common-coil")).toBe("2");
  });
});

describe("creep by rotation", () => {
  it.each([
    { time: "290", creeps: true, what: "4 min 50 s" },
    { time: "300", creeps: true, what: "just 5 min, the boundary" },
    { time: "310", creeps: false, what: "5 min 10 s" },
  ])("52 Pa. Code 57.20(a): one turn in $what: creep is $creeps", ({ time, creeps }) => {
    expect(creepsByRotation(counts("1"), seconds(time), seconds("300"))).toBe(creeps);
  });
});
