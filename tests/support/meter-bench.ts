import { createPlace } from "@sealbook/api/modules/places/places";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { NewMeterTest } from "@sealbook/contract/meter-tests";
import type { NewCalibration } from "@sealbook/contract/standards";
import type { TestPlanBody } from "@sealbook/contract/test-plans";
import type { SignedIn, TestApp } from "./app.ts";

/** Makers, models and people here are invented. */
type Plan = TestPlanBody["points"][number];

export const fullLoad: Plan = {
  key: "FL",
  label: "Full load",
  loadPercent: "100",
  powerFactor: "1",
  powerFactorSense: "unity",
  quantity: "Wh",
  direction: "delivered",
  circuits: "series",
  counts: "10",
  countConstant: "Kh",
  runs: 1,
  role: "full-load",
  limits: {},
};
export const lightLoad: Plan = {
  ...fullLoad,
  key: "LL",
  label: "Light load",
  loadPercent: "10",
  counts: "1",
  role: "light-load",
};
export const powerFactor: Plan = {
  ...fullLoad,
  key: "PF",
  label: "Power factor",
  powerFactor: "0.5",
  powerFactorSense: "lagging",
  role: "power-factor",
};

const threePoints: TestPlanBody = {
  format: 1,
  points: [fullLoad, lightLoad, powerFactor],
  creep: "asked",
  startingLoad: "not-asked",
  demand: null,
  conditions: [],
  preconditions: [],
  standardRank: "any",
  appliesVoltage: true,
};

/** Certified at 120 V: at 0.25 A and 2.5 A with power factor 1, and at 2.5 A with 0.5 lagging. */
export const certifiedPoints: NewCalibration["points"] = [
  ...(["0.25", "2.5"] as const).map((amperes) => ({
    amperes,
    volts: "120",
    powerFactor: "1",
    powerFactorSense: "unity" as const,
    quantity: "Wh" as const,
    printedPercent: amperes === "2.5" ? "100.02" : "100.04",
    expandedUncertaintyPercent: "0.02",
    coverageFactor: "2",
  })),
  {
    amperes: "2.5",
    volts: "120",
    powerFactor: "0.5",
    powerFactorSense: "lagging",
    quantity: "Wh",
    printedPercent: "99.98",
    expandedUncertaintyPercent: "0.03",
    coverageFactor: "2",
  },
];

export interface MeterBench {
  readonly shop: TestApp;
  readonly technician: SignedIn;
  readonly engineer: SignedIn;
  readonly placeId: string;
  /** A reference standard in calibration today. */
  readonly standardId: string;
  readonly calibrationId: string;
  /** A plan of its own code; its id. */
  aPlan(over?: Partial<TestPlanBody>): Promise<{ id: string; code: string }>;
  /** A type of form 9S, three elements, Kh 1.8, 2.5 A, 120 V, unless said otherwise; its id. */
  aType(plan: { code: string }, over?: Record<string, unknown>): Promise<string>;
  aMeter(typeId: string, placeId?: string): Promise<{ id: string; utilityNumber: string; serial: string }>;
  aStandard(over?: { rank?: "reference" | "working" }): Promise<string>;
  aCalibration(standardId: string, over?: Partial<NewCalibration>): Promise<string>;
  /** A test of now by the three-point plan, all at 100 %, nothing adjusted; not signed. */
  aTest(meterId: string, planId: string, over?: Partial<NewMeterTest>): NewMeterTest;
}

/** Days from today in UTC, as a calendar date. */
export function daysFromNow(days: number): string {
  return new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10);
}

export const registration = (registrationPercent: string) =>
  ({ kind: "registration", registrationPercent }) as const;

export const counted = (counts: string, standardEnergy: string) =>
  ({ kind: "counts", counts, standardEnergy }) as const;

/** Entry of a pass from one run a point. */
export function pass(
  runs: Record<string, ReturnType<typeof registration> | ReturnType<typeof counted>>,
  creep: "none" | "creeps" | "not-checked" = "none",
) {
  return { points: Object.entries(runs).map(([pointKey, run]) => ({ pointKey, runs: [run] })), creep };
}

export async function meterBench(shop: TestApp): Promise<MeterBench> {
  const technician = await shop.signIn("technician");
  const engineer = await shop.signIn("quality-engineer");
  const placeId = newId();
  await inTransaction(shop.admin, null, (tx) =>
    createPlace(tx, { id: placeId, kind: "shop", name: `Bench room ${placeId.slice(-6)}` }),
  );
  let made = 0;

  const bench: Omit<MeterBench, "standardId" | "calibrationId"> = {
    shop,
    technician,
    engineer,
    placeId,
    async aPlan(over = {}) {
      const id = newId();
      const code = `PLAN-${id.slice(-8).toUpperCase()}`;
      await engineer.agent
        .post("/api/test-plans")
        .send({
          id,
          code,
          revision: 1,
          name: "Three points",
          body: { ...threePoints, ...over },
          reason: "For a test",
        })
        .expect(201);
      return { id, code };
    },
    async aType(plan, over = {}) {
      const id = newId();
      await engineer.agent
        .post("/api/meter-types")
        .send({
          id,
          maker: "Alderwick Instruments",
          model: `AW-${id.slice(-6)}`,
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
          kt: "0.6",
          accuracyClass: "0.5",
          technology: "solid-state",
          registerDials: 5,
          registerMultiplier: "1",
          testPlanCode: plan.code,
          circuitFactors: {},
          ...over,
        })
        .expect(201);
      return id;
    },
    async aMeter(typeId, at = placeId) {
      made += 1;
      const id = newId();
      const number = `${id.slice(-6)}${made}`;
      const meter = { id, utilityNumber: `00${number}`, serial: `S0${number}` };
      await engineer.agent
        .post("/api/meters")
        .send({
          ...meter,
          owner: "utility",
          typeId,
          firmware: "",
          program: "",
          purchasedOn: null,
          placeId: at,
          registerReading: null,
        })
        .expect(201);
      return meter;
    },
    async aStandard(over = {}) {
      const id = newId();
      await engineer.agent
        .post("/api/standards")
        .send({
          id,
          designation: `RS-${id.slice(-8)}`,
          maker: "Corrigan & Vale",
          model: "CV-7",
          serial: `CV${id.slice(-6)}`,
          rank: "reference",
          place: "Bench room",
          ...over,
        })
        .expect(201);
      return id;
    },
    async aCalibration(standardId, over = {}) {
      const id = newId();
      await engineer.agent
        .post(`/api/standards/${standardId}/calibrations`)
        .send({
          id,
          calibratedOn: daysFromNow(-100),
          dueOn: daysFromNow(265),
          certificateNumber: `C-${id.slice(-6)}`,
          laboratory: "Tarn Valley Calibration Laboratory",
          performedBy: "H. Osei",
          traceability: "SI through the national standard of electric energy",
          againstStandardId: null,
          signConvention: "registration",
          points: certifiedPoints,
          fileId: null,
          supersedesId: null,
          amendmentReason: null,
          ...over,
        })
        .expect(201);
      return id;
    },
    aTest(meterId, planId, over = {}) {
      const hundred = registration("100");
      return {
        id: newId(),
        meterId,
        planId,
        reasons: ["periodic"],
        workItemIds: [],
        performedAt: new Date().toISOString(),
        standardId,
        errorAppliedByBench: true,
        conditions: { volts: null, amperes: null, temperatureCelsius: null },
        preconditionsConfirmed: [],
        readingBefore: null,
        readingAfter: null,
        sealsRemoved: [],
        sealsApplied: [],
        remarks: "",
        fileIds: [],
        outcome: {
          kind: "tested",
          asFound: pass({ FL: hundred, LL: hundred, PF: hundred }),
          asLeft: { kind: "same" },
        },
        signature: null,
        ...over,
      };
    },
  };
  const standardId = await bench.aStandard();
  const calibrationId = await bench.aCalibration(standardId);
  return { ...bench, standardId, calibrationId };
}
