import { meterTypeEditSchema, meterTypeSchema } from "@sealbook/contract/meter-types";
import { addTestPlan, testPlanSchema } from "@sealbook/contract/test-plans";
import { describe, expect, test } from "vitest";
import * as typeDraft from "../../../apps/web/src/features/meter-types/meter-type-draft.ts";
import * as planDraft from "../../../apps/web/src/features/test-plans/plan-draft.ts";

// A form that changes what it was opened with would corrupt a record that nobody meant to change.

const type = meterTypeSchema.parse({
  id: "0193a8f0-5c00-7000-8000-000000000001",
  maker: "Maker",
  model: "Model 2",
  form: "6S",
  phases: 3,
  wires: 4,
  elements: "2.5",
  classAmperes: "20",
  testAmperes: "2.50",
  voltsMin: "120",
  voltsMax: "277",
  designVolts: "120",
  kh: "1.80",
  kt: null,
  accuracyClass: "0.5",
  technology: "solid-state",
  registerDials: 6,
  registerMultiplier: "1",
  testPlanCode: "PP-DISK",
  circuitFactors: { "common-coil": "2" },
  retired: false,
  version: 4,
});

const plan = testPlanSchema.parse({
  id: "0193a8f0-5c00-7000-8000-000000000002",
  code: "PP-DISK",
  revision: 3,
  name: "Polyphase disk meter",
  recordedAt: "2026-03-02T19:05:00.000Z",
  current: true,
  body: {
    format: 1,
    creep: "asked",
    startingLoad: "asked",
    demand: { basis: "full-scale" },
    conditions: ["volts", "temperature"],
    preconditions: ["Form and voltage match", "Voltage applied ten minutes"],
    standardRank: "reference",
    appliesVoltage: true,
    points: [
      {
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
        runs: 2,
        role: "full-load",
        limits: { "as-left": { minPercent: "99.50", maxPercent: "100.5", source: "house limit" } },
      },
      {
        key: "PF",
        label: "Power factor",
        loadPercent: "100",
        powerFactor: "0.5",
        powerFactorSense: "lagging",
        quantity: "Wh",
        direction: "received",
        circuits: "common-coil",
        counts: "5",
        countConstant: "Kt",
        runs: 1,
        role: "power-factor",
        limits: {},
      },
    ],
  },
});

describe("the form of a meter type", () => {
  test("gives back exactly what it was opened with, trailing zeros too", () => {
    const { id, version, ...fields } = type;
    expect({ ...typeDraft.fieldsOf(typeDraft.draftOf(type)), retired: type.retired }).toEqual(fields);
    expect(id).not.toBe("");
    expect(version).toBe(4);
  });

  test("is refused by the contract while it is empty, field by field", () => {
    const read = meterTypeEditSchema.safeParse({
      ...typeDraft.fieldsOf(typeDraft.emptyDraft),
      retired: false,
      reason: "first",
    });
    const fields = new Set(read.error?.issues.map((issue) => String(issue.path[0])));
    expect(fields).toEqual(
      new Set([
        "maker",
        "model",
        "form",
        "phases",
        "wires",
        "elements",
        "classAmperes",
        "testAmperes",
        "voltsMin",
        "voltsMax",
        "designVolts",
        "kh",
        "accuracyClass",
        "technology",
        "testPlanCode",
      ]),
    );
  });
});

describe("the form of a test plan", () => {
  test("gives back exactly the body it was opened with", () => {
    expect(planDraft.bodyOf(planDraft.draftOf(plan))).toEqual(plan.body);
  });

  test("leaves limits out that nobody wrote, and sends half-written ones to be refused", () => {
    const draft = planDraft.draftOf(plan);
    const [first] = draft.points;
    if (first === undefined) throw new Error("the plan has a first point");
    const half = {
      ...first,
      limits: { ...first.limits, new: { minPercent: "98", maxPercent: "", source: "" } },
    };
    const body = planDraft.bodyOf({ ...draft, points: [half] });
    const read = addTestPlan.body?.safeParse({
      id: plan.id,
      code: plan.code,
      revision: 4,
      name: plan.name,
      reason: "half a limit",
      body,
    });
    expect(read?.error?.issues.map((issue) => issue.path.join("/"))).toEqual(
      expect.arrayContaining(["body/points/0/limits/new/maxPercent", "body/points/0/limits/new/source"]),
    );
  });

  test("refuses a number of runs that is none", () => {
    const draft = planDraft.draftOf(plan);
    const body = planDraft.bodyOf({
      ...draft,
      points: draft.points.map((point) => ({ ...point, runs: "" })),
    });
    expect(body.points.every((point) => Number.isNaN(point.runs))).toBe(true);
  });
});
