import type { NewMeterTest } from "@sealbook/contract/meter-tests";
import type { TestPlanBody } from "@sealbook/contract/test-plans";
import type { TestReason } from "@sealbook/contract/work-items";
import { dateAfter } from "@sealbook/metrology/calendar/date-after";
import { daysBetween } from "@sealbook/metrology/calendar/local-date";
import { circuitFactor } from "@sealbook/metrology/forms/circuit-factor";
import { instantAfter, weekday } from "./days.ts";
import type { DemoMeter } from "./meters.ts";
import type { Random } from "./random.ts";
import { type DemoStandard, daysUntilRecorded } from "./standards.ts";
import { type DemoType, demoPlans } from "./types-and-plans.ts";

/** A test of the last three years, as the technician entered it. */
export interface DemoTest {
  tester: string;
  body: Omit<NewMeterTest, "planId" | "signature"> & { planCode: string };
  /** When the record was made: minutes after the test. */
  recordedAt: Date;
  signed: boolean;
}

export const technicians = ["ines", "tobias"] as const;

/** The tests of all meters, oldest first. */
export function demoTests(
  random: Random,
  today: string,
  types: readonly DemoType[],
  meters: readonly DemoMeter[],
  standards: readonly DemoStandard[],
): DemoTest[] {
  const first = dateAfter(today, -3 * 365);
  const tests: DemoTest[] = [];
  for (const meter of meters) {
    for (const { date, reason } of occasions(random, meter, first, today)) {
      const test = demoTestOn(random, meter, types, standards, date, reason);
      if (test !== null) tests.push(test);
    }
  }
  tests.sort((a, b) => a.body.performedAt.localeCompare(b.body.performedAt));
  const latest = tests.slice(-9);
  for (const test of tests) test.signed = !latest.includes(test) || test.tester !== "ines";
  return tests;
}

/** When and why a meter was tested. */
function occasions(
  random: Random,
  meter: DemoMeter,
  first: string,
  today: string,
): { date: string; reason: TestReason }[] {
  const found: { date: string; reason: TestReason }[] = [];
  const add = (date: string, reason: TestReason) => {
    const day = weekday(date);
    if (day >= first && day < today) found.push({ date: day, reason });
  };
  for (const event of meter.events) {
    const day = event.performedAt.toISOString().slice(0, 10);
    if (event.kind === "receive") add(dateAfter(day, random.whole(2, 4)), "new-shipment");
    if (event.kind === "return") add(dateAfter(day, random.whole(0, 2)), "removal");
  }
  const set = meter.events
    .find((event) => event.kind === "set")
    ?.performedAt.toISOString()
    .slice(0, 10);
  if (set !== undefined && meter.state === "in-service") {
    for (let year = 0; year < 3; year++) {
      const start = dateAfter(first, year * 365);
      const day = dateAfter(start, random.whole(20, 340));
      if (day <= dateAfter(set, 30)) continue;
      if (random.chance(0.3)) add(day, "in-service-sample");
      else if (random.chance(0.06)) add(day, "periodic");
      else if (random.chance(0.025)) add(day, "customer-request");
      else if (random.chance(0.006)) add(day, "investigation");
    }
    // Faulty meters are noticed sooner or later.
    if (meter.truth.fault !== "none" && random.chance(0.7)) {
      const day = dateAfter(first, random.whole(40, 1050));
      if (day > dateAfter(set, 30)) add(day, random.pick(["customer-request", "investigation"]));
    }
  }
  const inOrder = found
    .sort((a, b) => a.date.localeCompare(b.date))
    .filter((entry, index, all) => all[index - 1]?.date !== entry.date);
  // A meter that cannot be tested is found so once; before that it was like any other, and nobody doubted it.
  const untestable = ["not-registering", "dead", "damaged"].includes(meter.truth.fault);
  return untestable ? inOrder.slice(-1) : inOrder;
}

/**
 * A test of a meter on a day, as one of the technicians would have entered it; null when no working standard was in
 * calibration.
 */
export function demoTestOn(
  random: Random,
  meter: DemoMeter,
  types: readonly DemoType[],
  standards: readonly DemoStandard[],
  date: string,
  reason: TestReason,
  by?: string,
): DemoTest | null {
  const type = types[meter.typeIndex]?.type;
  const plan = demoPlans.find(({ code }) => code === type?.testPlanCode);
  if (type === undefined || plan === undefined) return null;
  const performedAt = instantAfter(date, 0, random.whole(13 * 60, 20 * 60 + 30));
  const tester = by ?? random.pick(technicians);
  const years = Math.max(0, daysBetween(meter.purchasedOn, date) / 365);
  const fresh = reason === "new-shipment";
  const fault = fresh && meter.truth.fault !== "damaged" ? "none" : meter.truth.fault;
  const common = {
    id: random.id(performedAt),
    meterId: meter.id,
    planCode: plan.code,
    reasons: [reason],
    workItemIds: [],
    performedAt: performedAt.toISOString(),
    conditions: { volts: null, amperes: null, temperatureCelsius: null },
    preconditionsConfirmed: [] as string[],
    readingBefore: fresh ? "0" : String(random.whole(120, 98_700)).padStart(5, "0"),
    readingAfter: null,
    sealsRemoved: [] as string[],
    sealsApplied: fresh ? [] : [`QV${random.whole(100_000, 999_999)}`],
    fileIds: [],
  };
  const recordedAt = new Date(performedAt.getTime() + random.whole(2, 9) * 60_000);
  if (fault === "not-registering" || fault === "dead" || fault === "damaged") {
    const note = {
      "not-registering": "Load on, register and test output still",
      dead: "No display, no test output",
      damaged: "Cover cracked, water inside",
    }[fault];
    return {
      tester,
      recordedAt,
      signed: true,
      body: {
        ...common,
        standardId: null,
        errorAppliedByBench: null,
        remarks: "",
        outcome: { kind: "no-test-possible", reason: fault, note },
      },
    };
  }
  const standard = standardFor(random, standards, date);
  if (standard === null) return null;
  const errors = errorsOf(meter, years, fault);
  const found = enterPass(random, plan.body, type, errors, fault === "creeping" ? "creeps" : "none");
  const average = (4 * errors.FL + errors.LL) / 5;
  const adjust =
    type.technology === "electromechanical" &&
    !fresh &&
    (Math.abs(average) > 1 || fault === "creeping") &&
    random.chance(0.8);
  const adjusted = { FL: random.normal() * 0.12, LL: random.normal() * 0.18, PF: random.normal() * 0.2 };
  return {
    tester,
    recordedAt,
    signed: true,
    body: {
      ...common,
      preconditionsConfirmed: [...plan.body.preconditions],
      conditions: { ...common.conditions, volts: type.designVolts },
      sealsRemoved: fresh ? [] : [`QV${random.whole(100_000, 999_999)}`],
      standardId: standard.id,
      errorAppliedByBench: standard.designation !== "WK-3",
      remarks: "",
      outcome: {
        kind: "tested",
        asFound: found,
        asLeft: adjust
          ? {
              kind: "entered",
              pass: enterPass(random, plan.body, type, adjusted, "none"),
              adjustment:
                fault === "creeping" ? "Disk cleaned, light load set" : "Full load and light load set",
            }
          : { kind: "same" },
      },
    },
  };
}

function standardFor(random: Random, standards: readonly DemoStandard[], date: string): DemoStandard | null {
  const valid = standards.filter(
    ({ rank, calibrations }) =>
      rank === "working" &&
      calibrations.some(
        ({ calibratedOn, dueOn }) => dateAfter(calibratedOn, daysUntilRecorded) <= date && date <= dueOn,
      ),
  );
  return valid.length === 0 ? null : random.pick(valid);
}

function errorsOf(
  { truth }: DemoMeter,
  years: number,
  fault: string,
): { FL: number; LL: number; PF: number } {
  const drift = truth.driftPerYear * years;
  const wrong = fault === "fast" ? 2.9 : fault === "slow" ? -4.1 : 0;
  const full = truth.fullLoad + drift + wrong;
  // Friction grows with age and shows at light load first.
  return { FL: full, LL: full + truth.lightLoadOffset + 1.6 * drift, PF: full + truth.powerFactorOffset };
}

/** Counts and the standard's energies that a bench would show for these true errors. */
function enterPass(
  random: Random,
  plan: TestPlanBody,
  type: DemoType["type"],
  errors: { FL: number; LL: number; PF: number },
  creep: "none" | "creeps",
) {
  const series = circuitFactor(type.form, "series");
  if (series.kind === "unknown") throw new RangeError(series.reason);
  return {
    creep,
    points: plan.points.map((point) => ({
      pointKey: point.key,
      runs: Array.from({ length: point.runs }, () => {
        const error = errors[point.key as keyof typeof errors] + random.normal() * 0.015;
        const constant = Number(point.countConstant === "Kt" ? type.kt : type.kh);
        const energy =
          (100 * Number(point.counts) * constant) / (series.factor.toDecimal().toNumber() * (100 + error));
        return { kind: "counts" as const, counts: point.counts, standardEnergy: energy.toPrecision(6) };
      }),
    })),
  };
}
