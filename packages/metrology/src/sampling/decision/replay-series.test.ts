import { describe, expect, it } from "vitest";
import { wholeMonthsBetween } from "../../calendar/whole-months-between.ts";
import { startSeries } from "../switching/start-series.ts";
import type { SwitchingEvent } from "../switching/switching-state.ts";
import { lotSeries } from "./lot-series.ts";
import { replaySeries } from "./replay-series.ts";
import { yearlyChange } from "./yearly-change.ts";

const attributes = {
  plan: { kind: "attributes", edition: "MIL-STD-105E", level: "II", aqlPercent: "1" },
  switching: true,
  limitNumbersDropped: false,
} as const;

const lot = (
  outcome: "accepted" | "not-accepted",
  over: Partial<Extract<SwitchingEvent, { kind: "lot" }>> = {},
) =>
  ({
    kind: "lot",
    inspection: "original",
    outcome,
    nonconforming: outcome === "accepted" ? 0 : 4,
    sampleUnits: 80,
    steady: true,
    reducedApproved: false,
    ...over,
  }) as const;

const after = (events: readonly SwitchingEvent[], scheme: Parameters<typeof replaySeries>[0] = attributes) =>
  replaySeries(scheme, "1", events).state.severity;

describe("a series", () => {
  it("is tightened after two of five lots are not accepted (MIL-STD-105E, 4.7.1)", () => {
    expect(
      after([lot("not-accepted"), lot("accepted"), lot("accepted"), lot("accepted"), lot("not-accepted")]),
    ).toBe("tightened");
    expect(after([lot("not-accepted"), lot("not-accepted", { inspection: "resubmitted" })])).toBe("normal");
  });

  it("stays where it is without switching, until a person directs it", () => {
    const still = { ...attributes, switching: false };
    expect(after([lot("not-accepted"), lot("not-accepted")], still)).toBe("normal");
    const directed = { kind: "directed", severity: "tightened", reason: "The authority says so" } as const;
    expect(after([lot("not-accepted"), directed, lot("accepted")], still)).toBe("tightened");
  });

  it("that goes on from others begins where the strictest stood, and one that takes others in never softens", () => {
    // Common practice, no source: the standards are silent on merges.
    const normal = startSeries("MIL-STD-105E");
    const tightened = startSeries("MIL-STD-105E", "tightened");
    const joined = (...parents: (typeof normal)[]) => ({ kind: "joined", parents }) as const;
    const replayed = (...events: Parameters<typeof replaySeries>[2]) => replaySeries(attributes, "1", events);

    const fresh = replayed(joined(normal, tightened));
    expect(fresh.state.severity).toBe("tightened");
    expect(fresh.steps[0]?.reasons).toEqual([
      "The series goes on from 2 others, of which the strictest counts: tightened inspection.",
    ]);
    expect(replayed(lot("accepted"), joined(tightened)).state.severity).toBe("tightened");
    const strict = replayed(joined(tightened), lot("accepted"), joined(normal));
    expect(strict.state.severity).toBe("tightened");
    // What it counted on the way goes on: 4.7.2 asks for five accepted in a row.
    expect(strict.state.lots).toHaveLength(1);
    expect(() => replayed(joined())).toThrow(RangeError);
  });

  it("takes a count between Ac and Re as accepted where reduced inspection has ended meanwhile", () => {
    expect(after([{ ...lot("accepted"), outcome: "accepted-return-to-normal" }])).toBe("normal");
  });

  it("has a key of its maker, type and contract, or of its group and part", () => {
    const one = { kind: "shipments", maker: "M", meterType: "T", contract: "C" } as const;
    expect(lotSeries(one)).not.toBe(lotSeries({ ...one, contract: "D" }));
    const group = (part: { number: number; of: number } | null) =>
      lotSeries({ kind: "group", group: "G", part });
    expect(
      new Set([
        group(null),
        group({ number: 1, of: 2 }),
        group({ number: 2, of: 2 }),
        group({ number: 1, of: 3 }),
      ]).size,
    ).toBe(4);
  });
});

describe("months and years between samples", () => {
  // Counted by hand on the calendar.
  it.each([
    ["2024-01-31", "2024-02-29", 1],
    ["2024-01-31", "2024-02-28", 0],
    ["2023-03-15", "2025-03-14", 23],
    ["2023-03-15", "2025-03-15", 24],
    ["2026-11-25", "2026-11-25", 0],
  ])("from %s to %s are %i whole months", (from, to, months) => {
    expect(wholeMonthsBetween(from, to)).toBe(months);
  });

  it("are refused the wrong way round", () => {
    expect(() => wholeMonthsBetween("2025-01-02", "2025-01-01")).toThrow(RangeError);
    const year = { year: 2025, mean: 100, s: 1, percentNonconforming: 0 };
    expect(() => yearlyChange(year, year)).toThrow(RangeError);
  });

  it("divide a change by the years between", () => {
    const change = yearlyChange(
      { year: 2022, mean: 100.25, s: 0.5, percentNonconforming: 4 },
      { year: 2026, mean: 99.75, s: null, percentNonconforming: 2 },
    );
    expect(change).toEqual({ sinceYear: 2022, mean: -0.125, s: null, percentNonconforming: -0.5 });
  });
});
