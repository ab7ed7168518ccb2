import { describe, expect, it } from "vitest";
import {
  demandFieldsOf,
  demandReadingOf,
  demandRows,
  mostReadings,
  typedReadings,
  withDemandField,
} from "./demand-form.ts";
import { fieldName } from "./field-name.ts";
import { newTestForm } from "./new-test-form.ts";
import { passForm } from "./pass-form.ts";
import { passEntryOf } from "./run-entry-of.ts";
import { testBody } from "./test-body.ts";
import { type PassForm, type TestForm, testFormSchema } from "./test-form.ts";

const blank = passForm([], "counts", "");
const typed = (form: PassForm, index: number, ...values: [string, string, string]) =>
  (["indicatedKw", "referenceKw", "fullScaleKw"] as const).reduce(
    (now, field, at) => withDemandField(now, index, field, values[at] ?? ""),
    form,
  );

describe("demand readings on the screen", () => {
  it("begin with one empty row, and go on with another that keeps the full scale", () => {
    expect(demandRows(blank.demand)).toHaveLength(1);
    const one = typed(blank, 0, "51", "50", "100");
    expect(demandRows(one.demand)).toMatchObject([
      { indicatedKw: "51" },
      { indicatedKw: "", referenceKw: "", fullScaleKw: "100" },
    ]);
    expect(typedReadings(one.demand)).toHaveLength(1);
    expect(demandRows(typed(one, 1, "81", "80", "100").demand)).toHaveLength(3);
  });

  it("do not lose a full scale that is typed first, and do not count as begun by it", () => {
    const first = withDemandField(blank, 0, "fullScaleKw", "100");
    expect(demandRows(first.demand)).toMatchObject([{ fullScaleKw: "100" }]);
    expect(passEntryOf(first).demand).toEqual([]);
  });

  it("end where the contract ends", () => {
    let form = blank;
    for (let index = 0; index < mostReadings; index += 1) form = typed(form, index, "51", "50", "100");
    expect(demandRows(form.demand)).toHaveLength(mostReadings);
  });

  it("ask for the full scale or for the load, by what the error is a percentage of", () => {
    expect(demandFieldsOf("full-scale")).toEqual(["indicatedKw", "referenceKw", "fullScaleKw"]);
    expect(demandFieldsOf("reading")).toEqual(["indicatedKw", "referenceKw", "loadPercent"]);
  });
});

describe("a pass as it is judged and sent", () => {
  it("carries the readings and the answer about the starting load", () => {
    const form: PassForm = { ...typed(blank, 0, " 51", "50 ", "100"), startingLoad: "does-not-start" };
    expect(passEntryOf(form)).toMatchObject({
      startingLoad: "does-not-start",
      demand: [{ indicatedKw: "51", referenceKw: "50", fullScaleKw: "100", loadPercent: null }],
    });
    expect(passEntryOf(blank).startingLoad).toBeUndefined();
    expect(
      demandReadingOf({ indicatedKw: "1", referenceKw: "1", fullScaleKw: " ", loadPercent: "10" }),
    ).toEqual({
      indicatedKw: "1",
      referenceKw: "1",
      fullScaleKw: null,
      loadPercent: "10",
    });
  });

  it("is read back from a draft that was kept before the plan could ask for either", () => {
    const { startingLoad: _, demand: __, ...older } = blank;
    expect(testFormSchema.shape.asFound.parse(older)).toEqual(blank);
  });

  it("names its fields in the summary of errors", () => {
    expect(fieldName("/outcome/asFound/demand/0/referenceKw", [])).toBe("Demand, reading 1, reference");
    expect(fieldName("/outcome/asLeft/pass/demand/1/fullScaleKw", [])).toBe(
      "Demand, as left, reading 2, full scale",
    );
    expect(fieldName("/outcome/asFound/startingLoad", [])).toBe("Starting load");
  });
});

describe("what is sent", () => {
  const plan = {
    preconditions: [],
    creep: "not-asked" as const,
    conditions: [],
    startingLoad: "asked" as const,
    demand: { basis: "full-scale" as const },
  };
  const planOnRecord = {
    id: "p",
    code: "PLAN-1",
    revision: 1,
    name: "Demand",
    recordedAt: "2026-01-01T00:00:00Z",
    current: true,
    body: {
      ...plan,
      format: 1 as const,
      points: [],
      creep: "not-asked" as const,
      standardRank: "any" as const,
      appliesVoltage: false,
    },
  };
  const opened = newTestForm(
    { plan: planOnRecord, standards: [], openWork: [] },
    { standardId: "", errorAppliedByBench: {}, entryKind: "counts", reasons: ["periodic"] },
    { id: "t", now: "2026-03-02T19:05:30.250Z", timeZone: "America/New_York", today: "2026-03-02" },
  );
  const made = (changes: Partial<TestForm>, asks: typeof plan | typeof nothing = plan) =>
    testBody(
      { ...opened, ...changes },
      { meterId: "m", planId: "p", reasons: ["periodic"], timeZone: "America/New_York", plan: asks },
    );
  const nothing = { ...plan, startingLoad: "not-asked" as const, demand: null };
  const openAt = (body: ReturnType<typeof made>) =>
    body.open.map(({ pointer }) => pointer).filter((pointer) => /startingLoad|demand/.test(pointer));

  it("waits for the answer about the starting load and for readings that were begun", () => {
    expect(openAt(made({}))).toEqual(["/outcome/asFound/startingLoad"]);
    const asFound: PassForm = { ...typed(opened.asFound, 0, "51", "0", ""), startingLoad: "starts" };
    expect(openAt(made({ asFound }))).toEqual([
      "/outcome/asFound/demand/0/referenceKw",
      "/outcome/asFound/demand/0/fullScaleKw",
    ]);
    expect(openAt(made({ asFound, asLeft: "entered", asLeftPass: opened.asLeftPass }))).toContain(
      "/outcome/asLeft/pass/startingLoad",
    );
  });

  it("carries the answer and the readings where the plan asks, and neither where it does not", () => {
    const asFound: PassForm = { ...typed(opened.asFound, 0, "0", "50", "100"), startingLoad: "not-checked" };
    expect(openAt(made({ asFound }))).toEqual([]);
    expect(made({ asFound }).body.outcome).toMatchObject({
      asFound: {
        startingLoad: "not-checked",
        demand: [{ indicatedKw: "0", referenceKw: "50", fullScaleKw: "100", loadPercent: null }],
      },
    });
    const unasked = made({ asFound }, nothing).body.outcome;
    expect(unasked.kind === "tested" && Object.keys(unasked.asFound)).toEqual(["points", "creep"]);
  });
});
