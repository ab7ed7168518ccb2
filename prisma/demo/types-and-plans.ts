import type { MeterType } from "@sealbook/contract/meter-types";
import type { TestPlanBody } from "@sealbook/contract/test-plans";

/** Meter types and test plans of the demo shop. Makers and models are invented; forms and constants are the trade's. */

type PlanPoint = TestPlanBody["points"][number];

interface PointSizes {
  fullLoad: string;
  lightLoad: string;
  powerFactor: string | null;
  countConstant: "Kh" | "Kt";
  runs: number;
  circuits: PlanPoint["circuits"];
}

function points(sizes: PointSizes): PlanPoint[] {
  const shared = {
    quantity: "Wh",
    direction: "delivered",
    circuits: sizes.circuits,
    countConstant: sizes.countConstant,
    runs: sizes.runs,
    limits: {},
  } as const;
  const full: PlanPoint = {
    ...shared,
    key: "FL",
    label: "Full load",
    loadPercent: "100",
    powerFactor: "1",
    powerFactorSense: "unity",
    counts: sizes.fullLoad,
    role: "full-load",
  };
  const light: PlanPoint = {
    ...shared,
    key: "LL",
    label: "Light load",
    loadPercent: "10",
    powerFactor: "1",
    powerFactorSense: "unity",
    counts: sizes.lightLoad,
    role: "light-load",
  };
  if (sizes.powerFactor === null) return [full, light];
  const lagging: PlanPoint = {
    ...shared,
    key: "PF",
    label: "Power factor",
    loadPercent: "100",
    powerFactor: "0.5",
    powerFactorSense: "lagging",
    counts: sizes.powerFactor,
    role: "power-factor",
  };
  return [full, light, lagging];
}

const preconditions = [
  "Form and voltage of the meter match the test socket",
  "Voltage applied long enough for the meter to settle",
];

function body(sizes: PointSizes, standardRank: TestPlanBody["standardRank"] = "any"): TestPlanBody {
  return {
    format: 1,
    points: points(sizes),
    creep: "asked",
    startingLoad: "not-asked",
    demand: null,
    conditions: ["volts"],
    preconditions,
    standardRank,
    appliesVoltage: true,
  };
}

export interface DemoPlan {
  code: string;
  name: string;
  body: TestPlanBody;
}

export const demoPlans: readonly DemoPlan[] = [
  {
    code: "SP-DISK",
    name: "Single-phase disk meter, three points",
    body: body({
      fullLoad: "10",
      lightLoad: "1",
      powerFactor: "10",
      countConstant: "Kh",
      runs: 1,
      circuits: "series",
    }),
  },
  {
    code: "SP-SOLID",
    name: "Single-phase solid-state meter, three points",
    body: body({
      fullLoad: "60",
      lightLoad: "10",
      powerFactor: "30",
      countConstant: "Kt",
      runs: 1,
      circuits: "series",
    }),
  },
  {
    code: "PP-SERIES",
    name: "Polyphase meter, series test, three points",
    body: body({
      fullLoad: "100",
      lightLoad: "20",
      powerFactor: "60",
      countConstant: "Kt",
      runs: 1,
      circuits: "series",
    }),
  },
  {
    code: "PP-TWO-RUNS",
    name: "Polyphase meter, series test, two runs a point",
    body: body({
      fullLoad: "60",
      lightLoad: "12",
      powerFactor: "30",
      countConstant: "Kt",
      runs: 2,
      circuits: "series",
    }),
  },
  {
    code: "PP-DISK",
    name: "Polyphase disk meter, series test, three points",
    body: body({
      fullLoad: "20",
      lightLoad: "2",
      powerFactor: "10",
      countConstant: "Kh",
      runs: 1,
      circuits: "series",
    }),
  },
];

/** A type, how many meters of it the shop has, and how its meters behave. */
export interface DemoType {
  type: Omit<MeterType, "id" | "version" | "retired">;
  meters: number;
  /** First and last year of purchase. */
  bought: readonly [number, number];
  /** Percent: spread between meters, yearly drift, and how much further light load drifts. */
  behaviour: { spread: number; driftPerYear: number; lightLoadSpread: number };
}

const disk = { spread: 0.34, driftPerYear: -0.025, lightLoadSpread: 0.42 };
const solid = { spread: 0.05, driftPerYear: 0.002, lightLoadSpread: 0.04 };

function type(
  fields: Partial<MeterType> &
    Pick<MeterType, "maker" | "model" | "form" | "kh" | "classAmperes" | "testAmperes">,
): DemoType["type"] {
  return {
    phases: 1,
    wires: 3,
    elements: "1",
    voltsMin: "240",
    voltsMax: "240",
    designVolts: "240",
    kt: null,
    accuracyClass: "0.5",
    technology: "solid-state",
    registerDials: 5,
    registerMultiplier: "1",
    testPlanCode: "SP-SOLID",
    circuitFactors: {},
    ...fields,
  };
}

export const demoTypes: readonly DemoType[] = [
  {
    type: type({
      maker: "Brackmere",
      model: "BF-210",
      form: "2S",
      classAmperes: "200",
      testAmperes: "30",
      kh: "7.2",
      accuracyClass: "2",
      technology: "electromechanical",
      testPlanCode: "SP-DISK",
    }),
    meters: 420,
    bought: [1994, 2009],
    behaviour: disk,
  },
  {
    type: type({
      maker: "Brackmere",
      model: "BF-320",
      form: "2S",
      classAmperes: "320",
      testAmperes: "50",
      kh: "12",
      accuracyClass: "2",
      technology: "electromechanical",
      testPlanCode: "SP-DISK",
    }),
    meters: 90,
    bought: [1999, 2010],
    behaviour: disk,
  },
  {
    type: type({
      maker: "Corvane",
      model: "CV-20",
      form: "2S",
      classAmperes: "200",
      testAmperes: "30",
      kh: "7.2",
      kt: "7.2",
      registerDials: 6,
    }),
    meters: 560,
    bought: [2009, 2019],
    behaviour: { ...solid, spread: 0.09 },
  },
  {
    type: type({
      maker: "Corvane",
      model: "CV-24",
      form: "2S",
      classAmperes: "200",
      testAmperes: "30",
      kh: "7.2",
      kt: "1.8",
      accuracyClass: "0.2",
      registerDials: 6,
    }),
    meters: 300,
    bought: [2018, 2026],
    behaviour: solid,
  },
  {
    type: type({
      maker: "Tessary",
      model: "T-101",
      form: "1S",
      wires: 2,
      classAmperes: "100",
      testAmperes: "15",
      voltsMin: "120",
      voltsMax: "120",
      designVolts: "120",
      kh: "1.8",
      kt: "1.8",
    }),
    meters: 60,
    bought: [2010, 2022],
    behaviour: solid,
  },
  {
    type: type({
      maker: "Tessary",
      model: "T-404",
      form: "4S",
      classAmperes: "20",
      testAmperes: "2.5",
      kh: "0.6",
      kt: "0.6",
    }),
    meters: 40,
    bought: [2008, 2021],
    behaviour: solid,
  },
  {
    type: type({
      maker: "Corvane",
      model: "CV-12N",
      form: "12S",
      phases: 3,
      elements: "2",
      classAmperes: "200",
      testAmperes: "30",
      voltsMin: "120",
      voltsMax: "480",
      designVolts: "120",
      kh: "14.4",
      kt: "3.6",
      accuracyClass: "0.2",
      testPlanCode: "PP-SERIES",
    }),
    meters: 110,
    bought: [2011, 2025],
    behaviour: solid,
  },
  {
    type: type({
      maker: "Tessary",
      model: "T-505",
      form: "5S",
      phases: 3,
      elements: "2",
      classAmperes: "20",
      testAmperes: "2.5",
      voltsMin: "120",
      voltsMax: "480",
      designVolts: "120",
      kh: "1.2",
      kt: "0.3",
      accuracyClass: "0.2",
      testPlanCode: "PP-TWO-RUNS",
    }),
    meters: 50,
    bought: [2009, 2023],
    behaviour: solid,
  },
  {
    type: type({
      maker: "Hallmoor",
      model: "HM-6",
      form: "6S",
      phases: 3,
      wires: 4,
      elements: "2.5",
      classAmperes: "20",
      testAmperes: "2.5",
      voltsMin: "120",
      voltsMax: "120",
      designVolts: "120",
      kh: "1.8",
      accuracyClass: "2",
      technology: "electromechanical",
      testPlanCode: "PP-DISK",
    }),
    meters: 70,
    bought: [1996, 2007],
    behaviour: { ...disk, spread: 0.3 },
  },
  {
    type: type({
      maker: "Hallmoor",
      model: "HM-9",
      form: "9S",
      phases: 3,
      wires: 4,
      elements: "3",
      classAmperes: "20",
      testAmperes: "2.5",
      voltsMin: "120",
      voltsMax: "480",
      designVolts: "120",
      kh: "1.8",
      kt: "0.45",
      accuracyClass: "0.2",
      testPlanCode: "PP-SERIES",
    }),
    meters: 90,
    bought: [2012, 2026],
    behaviour: solid,
  },
  {
    type: type({
      maker: "Hallmoor",
      model: "HM-16",
      form: "16S",
      phases: 3,
      wires: 4,
      elements: "3",
      classAmperes: "200",
      testAmperes: "30",
      voltsMin: "120",
      voltsMax: "480",
      designVolts: "120",
      kh: "21.6",
      kt: "5.4",
      accuracyClass: "0.2",
      testPlanCode: "PP-SERIES",
    }),
    meters: 120,
    bought: [2012, 2026],
    behaviour: solid,
  },
  {
    type: type({
      maker: "Tessary",
      model: "T-1632",
      form: "16S",
      phases: 3,
      wires: 4,
      elements: "3",
      classAmperes: "320",
      testAmperes: "50",
      voltsMin: "120",
      voltsMax: "480",
      designVolts: "120",
      kh: "36",
      kt: "9",
      testPlanCode: "PP-SERIES",
    }),
    meters: 90,
    bought: [2014, 2026],
    behaviour: solid,
  },
];
