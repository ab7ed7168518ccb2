import type { PlanPoint } from "@sealbook/metrology/accuracy/test-terms";
import { describe, expect, it } from "vitest";
import { keepDraft, readDraft } from "./draft.ts";
import { evaluateForm, type JudgingContext } from "./evaluate-form.ts";
import { fieldName } from "./field-name.ts";
import { formFromTest } from "./form-from-test.ts";
import { formPointer } from "./form-pointer.ts";
import { keepHabits, readHabits } from "./habits.ts";
import { judgeForm } from "./judge-form.ts";
import { newTestForm } from "./new-test-form.ts";
import { passForm, withEntryKind, withRunField } from "./pass-form.ts";
import { percentPlaces } from "./percent-places.ts";
import { reasonsOf } from "./reasons-of.ts";
import { testBody } from "./test-body.ts";
import type { TestForm } from "./test-form.ts";
import { whyNotUsable } from "./why-not-usable.ts";

const fullLoad: PlanPoint = {
  key: "FL",
  label: "Full load",
  loadPercent: "100",
  powerFactor: "1",
  powerFactorSense: "unity",
  quantity: "Wh",
  direction: "delivered",
  circuits: "series",
  counts: "12",
  countConstant: "Kh",
  runs: 1,
  role: "full-load",
  limits: {},
};
const points: PlanPoint[] = [
  fullLoad,
  {
    ...fullLoad,
    key: "LL",
    label: "Light load",
    loadPercent: "10",
    counts: "2",
    runs: 2,
    role: "light-load",
  },
  {
    ...fullLoad,
    key: "PF",
    label: "Power factor",
    powerFactor: "0.5",
    powerFactorSense: "lagging",
    counts: "6",
    role: "power-factor",
  },
];

const planBody = {
  format: 1 as const,
  points,
  creep: "asked" as const,
  startingLoad: "not-asked" as const,
  demand: null,
  conditions: [],
  preconditions: ["Voltage and form checked"],
  standardRank: "any" as const,
  appliesVoltage: true,
};
const plan = {
  id: "p",
  code: "PLAN-1",
  revision: 1,
  name: "Three points",
  body: planBody,
  recordedAt: "2026-01-01T00:00:00Z",
  current: true,
};
const limits = { minPercent: "98", maxPercent: "102", source: "04 NCAC 11 R08-11" };
const context: JudgingContext = {
  // Three elements, 120 V, 2.5 A, Kh 1.8: the nameplate example of the trade (common practice, no source).
  nameplate: { form: "9S", kh: "1.8", kt: null, circuitFactors: {}, testAmperes: "2.5", designVolts: "120" },
  points,
  rules: {
    average: {
      label: "Method 4",
      weights: [
        { role: "full-load", weight: "4" },
        { role: "light-load", weight: "2" },
        { role: "power-factor", weight: "1" },
      ],
      source: "04 NCAC 11 R08-11, method 4",
    },
    averageLimits: { "in-service": limits },
    pointLimits: [{ role: "full-load", occasion: "in-service", limits }],
    decisionRule: { kind: "simple", source: "the profile" },
    creepAllowed: false,
    creepSource: "the profile",
    startingLoad: {},
    demandLimits: [],
    outsideCertifiedRange: "take-uncorrected",
  },
  asks: planBody,
  reasons: ["periodic"],
  certifiedPoints: null,
};

function aForm(changes: Partial<TestForm> = {}): TestForm {
  const form = newTestForm(
    { plan, standards: [], openWork: [] },
    { standardId: "", errorAppliedByBench: {}, entryKind: "counts", reasons: ["periodic"] },
    { id: "t", now: "2026-03-02T19:05:30.250Z", timeZone: "America/New_York", today: "2026-03-02" },
  );
  return { ...form, ...changes };
}

function entered(form: TestForm, energies: Record<string, string[]>): TestForm {
  let asFound = form.asFound;
  for (const [key, texts] of Object.entries(energies)) {
    texts.forEach((text, index) => {
      asFound = withRunField(asFound, key, index, "standardEnergy", text);
    });
  }
  return { ...form, asFound };
}

function storage() {
  const kept = new Map<string, string>();
  return {
    kept,
    getItem: (name: string) => kept.get(name) ?? null,
    setItem: (name: string, text: string) => void kept.set(name, text),
  };
}

const bodyContext = {
  meterId: "m",
  planId: "p",
  reasons: ["periodic" as const],
  timeZone: "America/New_York",
  plan: planBody,
};

describe("the form of a test", () => {
  it("opens with the plan's counts and runs, and fills in nothing that decides the result", () => {
    const form = aForm();
    expect(
      form.asFound.points.map(({ pointKey, runs }) => [pointKey, runs.map(({ counts }) => counts)]),
    ).toEqual([
      ["FL", ["12"]],
      ["LL", ["2", "2"]],
      ["PF", ["6"]],
    ]);
    expect([form.asLeft, form.asFound.creep, form.errorAppliedByBench, form.preconditionsConfirmed]).toEqual([
      "",
      "",
      "",
      [],
    ]);
  });

  it("keeps what was typed when the way of entry is switched and switched back", () => {
    const typed = withRunField(passForm(points, "counts", ""), "FL", 0, "standardEnergy", "21.6");
    const back = withEntryKind(withEntryKind(typed, "registration"), "counts");
    expect(back).toEqual(typed);
  });

  it("carries a standard's constant to the other runs of its point while they agree", () => {
    let pass = passForm(points, "revolutions", "");
    pass = withRunField(pass, "LL", 0, "standardConstant", "0.6");
    pass = withRunField(pass, "LL", 1, "standardConstant", "0.12");
    pass = withRunField(pass, "LL", 0, "standardConstant", "6");
    expect(pass.points[1]?.runs.map((run) => run.standardConstant)).toEqual(["6", "0.12"]);
    expect(pass.points[0]?.runs[0]?.standardConstant).toBe("");
  });

  it("gathers the reasons of ticked open work and of hand, each once", () => {
    const work = [
      { id: "a", reason: "customer-request" as const },
      { id: "b", reason: "periodic" as const },
    ];
    expect(reasonsOf({ reasons: ["periodic"], workItemIds: ["a", "b"] }, work)).toEqual([
      "periodic",
      "customer-request",
    ]);
    expect(reasonsOf({ reasons: [], workItemIds: ["a"] }, work)).toEqual(["customer-request"]);
  });
});

describe("judging while typing", () => {
  it("gives the registration of the definition: R = 100 n K / (m W)", () => {
    // By hand: 100 x 12 x 1.8 / (3 x 7.2) = 100.
    const evaluation = judgeForm(entered(aForm(), { FL: ["7.2"] }), "asFound", context);
    expect(evaluation?.points[0]?.meanPercent).toBe("100");
    expect(evaluation?.points[0]?.verdict).toBe("pass");
    expect(evaluation?.verdict).toBe("incomplete");
  });

  it("takes counts that merely stand there from the plan for not entered", () => {
    const evaluation = judgeForm(aForm(), "asFound", context);
    expect(evaluation?.missingPoints).toEqual(["FL", "LL", "PF"]);
    expect(evaluation?.refusals).toEqual([]);
  });

  it("says at the run and field why a number cannot be taken", () => {
    const evaluation = judgeForm(entered(aForm(), { LL: ["0.6", "0,6"] }), "asFound", context);
    expect(evaluation?.refusals).toMatchObject([
      { pointKey: "LL", runIndex: 1, field: "standardEnergy", text: "0,6" },
    ]);
  });

  it("judges nothing before a reason says which limits hold", () => {
    expect(judgeForm(aForm(), "asFound", { ...context, reasons: [] })).toBeNull();
  });

  it("gives the registration before a reason is chosen, since it does not depend on one", () => {
    // By hand: 100 x 12 x 1.8 / (3 x 7.2) = 100, on every occasion.
    const form = entered(aForm(), { FL: ["7.2"] });
    for (const occasion of ["new", "in-service", "as-left", "request"] as const) {
      const evaluation = evaluateForm(form, "asFound", { ...context, reasons: [] }, occasion);
      expect(evaluation.points[0]?.meanPercent).toBe("100");
    }
  });

  it("shows as many decimals as it takes not to contradict a limit", () => {
    const registration = (text: string) => {
      const form = aForm({ asFound: withEntryKind(aForm().asFound, "registration") });
      const asFound = withRunField(form.asFound, "FL", 0, "registrationPercent", text);
      const evaluation = judgeForm({ ...form, asFound }, "asFound", context);
      if (evaluation === null) throw new Error("the form has a reason");
      return percentPlaces(evaluation);
    };
    expect(registration("100.25")).toBe(3);
    expect(registration("102")).toBe(3);
    // 102.00004 rounds to 102.0000 at four places, which is not outside; five show that it is.
    expect(registration("102.00004")).toBe(5);
  });
});

describe("the body that records a test", () => {
  it("asks for every choice that is still open, at its field", () => {
    const { open } = testBody(aForm(), { ...bodyContext, reasons: [] });
    expect(open.map(({ pointer }) => pointer)).toEqual([
      "/reasons",
      "/standardId",
      "/errorAppliedByBench",
      "/preconditionsConfirmed",
      "/outcome/asFound",
      "/outcome/asFound/creep",
      "/outcome/asLeft",
    ]);
  });

  it("names a run's field that is missing or cannot be read, as it does while typing", () => {
    const form = withRunField(entered(aForm(), { LL: ["0.6", "0,6"] }).asFound, "LL", 0, "counts", "");
    const { open } = testBody(aForm({ asFound: form }), bodyContext);
    const judged = judgeForm(aForm({ asFound: form }), "asFound", context);
    expect(open.filter(({ pointer }) => pointer.includes("/runs/"))).toEqual([
      { pointer: "/outcome/asFound/points/LL/runs/0/counts", detail: "This is needed." },
      { pointer: "/outcome/asFound/points/LL/runs/1/standardEnergy", detail: judged?.refusals[0]?.reason },
    ]);
  });

  it("leaves out blank runs and leads a refusal back to the run it is about", () => {
    const form = entered(aForm(), { LL: ["", "0.6"], PF: ["1.8"] });
    const { body, places } = testBody(form, bodyContext);
    expect(body.outcome).toMatchObject({
      kind: "tested",
      asFound: {
        points: [
          { pointKey: "LL", runs: [{ kind: "counts", counts: "2", standardEnergy: "0.6" }] },
          { pointKey: "PF" },
        ],
      },
    });
    expect(formPointer("/outcome/asFound/points/0/runs/0/standardEnergy", places)).toBe(
      "/outcome/asFound/points/LL/runs/1/standardEnergy",
    );
    expect(formPointer("/outcome/asFound/points/1/runs/0/counts", places)).toBe(
      "/outcome/asFound/points/PF/runs/0/counts",
    );
    expect(formPointer("/standardId", places)).toBe("/standardId");
    expect(fieldName("/outcome/asFound/points/LL/runs/1/standardEnergy", points)).toBe(
      "Light load, run 2, standard's energy",
    );
  });

  it("sends the moment the form opened until the time is changed, then the shop's local time", () => {
    expect(testBody(aForm(), bodyContext).body.performedAt).toBe("2026-03-02T19:05:30.250Z");
    // New York is five hours behind UTC in March before summer time (IANA time zone database).
    const changed = aForm({ performedAt: "2026-03-02 09:15" });
    expect(testBody(changed, bodyContext).body.performedAt).toBe("2026-03-02T14:15:00.000Z");
    expect(testBody(aForm({ performedAt: "yesterday" }), bodyContext).open).toMatchObject([
      { pointer: "/performedAt" },
      {},
      {},
      {},
      {},
      {},
      {},
    ]);
  });

  it("names no standard where no test was possible", () => {
    const form = aForm({
      outcome: "no-test-possible",
      untestableReason: "dead",
      standardId: "s",
      errorAppliedByBench: "yes",
    });
    const { body, open } = testBody(form, bodyContext);
    expect(open).toEqual([]);
    expect([body.standardId, body.errorAppliedByBench, body.outcome]).toEqual([
      null,
      null,
      { kind: "no-test-possible", reason: "dead", note: "" },
    ]);
  });
});

describe("the form that amends a test", () => {
  const recorded = {
    plan,
    reasons: ["periodic" as const, "customer-request" as const],
    workItemIds: ["w"],
    performedAt: "2026-03-02T14:15:16.789Z",
    errorAppliedByBench: true,
    preconditionsConfirmed: ["Voltage and form checked"],
    conditions: { volts: "120.1", amperes: null, temperatureCelsius: "-3.5" },
    readingBefore: "00123",
    readingAfter: null,
    sealsRemoved: ["A1"],
    sealsApplied: ["B2"],
    remarks: "Cover scratched",
    standardInUse: { id: "s" },
    files: [{ id: "f", name: "photo.png" }],
    outcome: {
      kind: "tested" as const,
      asFound: {
        points: [
          { pointKey: "FL", runs: [{ kind: "registration" as const, registrationPercent: "103.10" }] },
          { pointKey: "LL", runs: [{ kind: "counts" as const, counts: "3", standardEnergy: "1.795" }] },
        ],
        creep: "none" as const,
      },
      asLeft: {
        kind: "entered" as const,
        adjustment: "Full load set",
        pass: {
          points: [
            {
              pointKey: "FL",
              runs: [
                {
                  kind: "revolutions" as const,
                  counts: "12",
                  standardRevolutions: "12.01",
                  standardConstant: "0.6",
                },
              ],
            },
          ],
          creep: "none" as const,
        },
      },
    },
  };

  it("sends back exactly what was recorded as long as nothing is changed", () => {
    const form = formFromTest(recorded, "new-id", "America/New_York");
    expect(form.performedAt).toBe("2026-03-02 09:15");
    const { body, open } = testBody(form, { ...bodyContext, reasons: form.reasons });
    expect(open).toEqual([]);
    expect(body).toEqual({
      id: "new-id",
      meterId: "m",
      planId: "p",
      reasons: recorded.reasons,
      workItemIds: ["w"],
      performedAt: recorded.performedAt,
      standardId: "s",
      errorAppliedByBench: true,
      conditions: recorded.conditions,
      preconditionsConfirmed: recorded.preconditionsConfirmed,
      readingBefore: "00123",
      readingAfter: null,
      sealsRemoved: ["A1"],
      sealsApplied: ["B2"],
      remarks: "Cover scratched",
      fileIds: ["f"],
      outcome: recorded.outcome,
    });
  });

  it("does not ask of an imported test what the bench's file did not say", () => {
    const imported = {
      ...recorded,
      preconditionsConfirmed: [],
      conditions: { volts: null, amperes: null, temperatureCelsius: null },
      outcome: {
        kind: "tested" as const,
        asFound: { points: recorded.outcome.asFound.points, creep: "not-checked" as const },
        asLeft: { kind: "same" as const },
      },
    };
    const form = formFromTest(imported, "new-id", "America/New_York");
    const context = { ...bodyContext, reasons: form.reasons };
    expect(testBody(form, { ...context, amended: imported }).open).toEqual([]);
    // The same entry as a new test leaves the plan's own questions open.
    expect(testBody(form, context).open.map(({ pointer }) => pointer)).toContain("/preconditionsConfirmed");
  });

  it("keeps a withdrawn record withdrawn", () => {
    const form = formFromTest({ ...recorded, outcome: { kind: "withdrawn" } }, "new-id", "America/New_York");
    expect(testBody(form, bodyContext).body.outcome).toEqual({ kind: "withdrawn" });
  });
});

describe("standards offered", () => {
  const standard = {
    withdrawn: false,
    rank: "working" as const,
    status: "valid" as const,
    dueOn: "2026-03-02",
    calibration: null,
  };

  it("may be used up to and on the due date, not after", () => {
    expect(whyNotUsable(standard, "any", "2026-03-02")).toBeNull();
    expect(whyNotUsable(standard, "any", "2026-03-03")).toBe("overdue since 2026-03-02");
  });

  it("say when the plan wants a reference standard, and when they were never calibrated", () => {
    expect(whyNotUsable(standard, "reference", "2026-03-01")).toBe("the plan asks for a reference standard");
    expect(whyNotUsable({ ...standard, dueOn: null }, "any", "2026-03-01")).toBe("never calibrated");
  });
});

describe("what stays on the device", () => {
  it("is the draft without free text, where names of people end up", () => {
    const device = storage();
    const form = entered(aForm({ remarks: "Ask Ms Example", readingBefore: "01234" }), { FL: ["7.2"] });
    keepDraft(device, "m", "p", form);
    expect([...device.kept.values()].join()).not.toContain("Example");
    expect(readDraft(device, "m", "p")).toEqual({ ...form, remarks: "" });
  });

  it("is no draft for another plan, and none that cannot be read", () => {
    const device = storage();
    keepDraft(device, "m", "p", aForm());
    expect(readDraft(device, "m", "other-plan")).toBeNull();
    device.setItem("sealbook.test-draft.m", "{half");
    expect(readDraft(device, "m", "p")).toBeNull();
  });

  it("are the habits of the last test; a broken note of them is as good as none", () => {
    const device = storage();
    const habits = {
      standardId: "s",
      errorAppliedByBench: { s: "no" as const },
      entryKind: "registration" as const,
      reasons: [],
    };
    keepHabits(device, habits);
    expect(readHabits(device)).toEqual(habits);
    device.setItem("sealbook.test-habits", '{"standardId":7}');
    expect(readHabits(device).standardId).toBe("");
  });
});
