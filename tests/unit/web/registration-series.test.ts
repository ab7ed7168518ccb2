import { type TestRow, testRowSchema } from "@sealbook/contract/meters";
import { describe, expect, test } from "vitest";
import { registrationSeries } from "../../../apps/web/src/features/meters/registration-series.ts";

function aTest(changes: Partial<TestRow> & { id: string; performedAt: string }): TestRow {
  return testRowSchema.parse({
    meterId: "0193a8f0-5c00-7000-8000-0000000000aa",
    utilityNumber: "00041287",
    performedOn: changes.performedAt.slice(0, 10),
    reasons: ["periodic"],
    planCode: "SP-DISK",
    asFound: "pass",
    asLeft: null,
    averageAsFound: "99.9",
    averageAsLeft: null,
    fullLoadAsFound: "100.1",
    lightLoadAsFound: "99.7",
    powerFactorAsFound: null,
    tester: null,
    standard: null,
    method: "entered",
    signed: true,
    supersedesId: null,
    supersededById: null,
    ...changes,
  });
}

const earlier = "0193a8f0-5c00-7000-8000-000000000001";
const later = "0193a8f0-5c00-7000-8000-000000000002";
const third = "0193a8f0-5c00-7000-8000-000000000003";

describe("the registration chart of a meter", () => {
  test("runs from the oldest test to the newest, one series a figure", () => {
    const series = registrationSeries([
      aTest({ id: later, performedAt: "2026-03-02T19:05:00.000Z", averageAsFound: "99.5" }),
      aTest({ id: earlier, performedAt: "2024-03-02T19:05:00.000Z" }),
    ]);
    expect(series.map(({ name }) => name)).toEqual(["average", "full-load", "light-load"]);
    expect(series[0]?.points.map(({ testId, percent }) => [testId, percent])).toEqual([
      [earlier, 99.9],
      [later, 99.5],
    ]);
  });

  test("leaves out what an amendment superseded or withdrew, which no longer says anything of the meter", () => {
    const series = registrationSeries([
      aTest({ id: earlier, performedAt: "2024-03-02T19:05:00.000Z", supersededById: later }),
      aTest({ id: later, performedAt: "2024-03-02T19:05:00.000Z", supersedesId: earlier }),
      aTest({ id: third, performedAt: "2025-03-02T19:05:00.000Z", asFound: "withdrawn" }),
    ]);
    expect(series[0]?.points.map(({ testId }) => testId)).toEqual([later]);
  });

  test("has no series where no test gave a figure", () => {
    const figures = { averageAsFound: null, fullLoadAsFound: null, lightLoadAsFound: null };
    const untestable = aTest({
      id: earlier,
      performedAt: "2024-03-02T19:05:00.000Z",
      asFound: "no-test-possible",
      ...figures,
    });
    expect(registrationSeries([untestable])).toEqual([]);
  });
});
