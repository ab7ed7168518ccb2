import { limitNumberOfLots } from "@sealbook/metrology/sampling/switching/limit-number-of-lots";
import { nextSeverity, type SwitchingSettings } from "@sealbook/metrology/sampling/switching/next-severity";
import { seriesKey } from "@sealbook/metrology/sampling/switching/series-key";
import { severityOfMerged } from "@sealbook/metrology/sampling/switching/severity-of-merged";
import { startSeries } from "@sealbook/metrology/sampling/switching/start-series";
import {
  type SwitchingEditionName,
  switchingEditions,
} from "@sealbook/metrology/sampling/switching/switching-editions";
import type { SwitchingEvent, SwitchingState } from "@sealbook/metrology/sampling/switching/switching-state";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { z } from "zod";
import { readOpenCases } from "./read-data.ts";

const outcomes = { A: "accepted", AG: "accepted-return-to-normal", R: "not-accepted" } as const;
type Letter = keyof typeof outcomes;

/** A lot of 80 units with no nonconforming unit (two when not accepted), steady and with reduced inspection approved. */
function lot(
  letter: Letter,
  changes: Partial<Extract<SwitchingEvent, { kind: "lot" }>> = {},
): SwitchingEvent {
  return {
    kind: "lot",
    inspection: "original",
    outcome: outcomes[letter],
    nonconforming: letter === "A" ? 0 : 2,
    sampleUnits: 80,
    steady: true,
    reducedApproved: true,
    ...changes,
  };
}

/** Runs events and returns the severity after each, by its first letter. */
function run(
  edition: SwitchingEditionName,
  events: readonly SwitchingEvent[],
  settings: SwitchingSettings = { aql: 1 },
  start: SwitchingState = startSeries(edition),
): { trail: string; state: SwitchingState; reasons: string[] } {
  let state = start;
  let trail = "";
  let reasons: string[] = [];
  for (const event of events) {
    ({ state, reasons } = nextSeverity(state, event, settings));
    trail += state.severity[0];
  }
  return { trail, state, reasons };
}

const lots = (letters: string) => [...letters].map((letter) => lot(z.enum(["A", "R"]).parse(letter)));

describe("open cases of switching", () => {
  const cases = readOpenCases(
    "switching_rules",
    z.looseObject({
      outcomes: z.array(z.enum(["A", "AG", "R"])),
      discontinuation: z.tuple([z.string(), z.number()]),
    }),
    z.array(z.object({ lot: z.number(), severity_used: z.string(), severity_next: z.string() })),
    "open-sw",
  );
  it("has four cases", () => expect(cases).toHaveLength(4));
  it.each(cases)("$id: $source", ({ input, expected }) => {
    // Ten lots on tightened is the rule of MIL-STD-105D, five not accepted that of MIL-STD-105E and Z1.4-2003.
    const [rule, number] = input.discontinuation;
    const edition = rule === "tight_lots" ? "MIL-STD-105D" : "MIL-STD-105E";
    expect(switchingEditions[edition].discontinuation.lots).toBe(number);
    let state = startSeries(edition);
    input.outcomes.forEach((letter, place) => {
      const next = nextSeverity(state, lot(letter), { aql: 1 });
      expect([next.severityBefore, next.state.severity], `lot ${place + 1}`).toEqual([
        expected[place]?.severity_used,
        expected[place]?.severity_next,
      ]);
      if (next.severityBefore !== next.state.severity) expect(next.reasons.join(" ")).not.toBe("");
      state = next.state;
    });
  });
});

describe("MIL-STD-105E, 4.7 and 4.8", () => {
  it("tightens when two of two, three, four or five lots in a row are not accepted, and not for two of six", () => {
    expect(run("MIL-STD-105E", lots("RR")).trail).toBe("nt");
    expect(run("MIL-STD-105E", lots("RAR")).trail).toBe("nnt");
    expect(run("MIL-STD-105E", lots("RAAR")).trail).toBe("nnnt");
    expect(run("MIL-STD-105E", lots("RAAAR")).trail).toBe("nnnnt");
    expect(run("MIL-STD-105E", lots("RAAAAR")).trail).toBe("nnnnnn");
    expect(run("MIL-STD-105E", lots("RAAAR")).reasons).toEqual([
      "Two of the last 5 lots were not accepted on original inspection.",
    ]);
  });

  it("does not count resubmitted lots nor resamples", () => {
    const events = [
      lot("R"),
      lot("R", { inspection: "resubmitted" }),
      lot("R", { inspection: "resample" }),
      lot("A"),
    ];
    const { trail, state } = run("MIL-STD-105E", events);
    expect(trail).toBe("nnnn");
    expect(state.lots).toHaveLength(2);
    const tightened = run("MIL-STD-105E", [...lots("RRAAAA"), lot("A", { inspection: "resubmitted" })]);
    expect(tightened.state.severity).toBe("tightened");
  });

  it("returns to normal after five accepted in a row, not after five in all", () => {
    expect(run("MIL-STD-105E", lots("RRAAAAA")).trail).toBe("nttttt" + "n");
    expect(run("MIL-STD-105E", lots("RRAAAARA")).trail).toBe("ntttttt" + "t");
  });

  it("discontinues when five lots in total were not accepted on tightened, and resumes tightened after action", () => {
    const stopped = run("MIL-STD-105E", lots("RR" + "RARARARAR"));
    expect(stopped.trail).toBe("nt" + "ttttttttd");
    const after = run("MIL-STD-105E", lots("AAAAA"), { aql: 1 }, stopped.state);
    expect(after.trail).toBe("ddddd");
    expect(after.reasons.join(" ")).toContain("discontinued");
    const resumed = nextSeverity(
      stopped.state,
      { kind: "corrective-action", reason: "New seals." },
      { aql: 1 },
    );
    expect(resumed.state).toEqual({ edition: "MIL-STD-105E", severity: "tightened", lots: [] });
    expect(run("MIL-STD-105E", lots("RRRR"), { aql: 1 }, resumed.state).trail).toBe("tttt");
  });

  it("counts the lots not accepted on tightened anew when tightened inspection begins again", () => {
    // Four not accepted, five accepted: normal. Tightened again: four more do not stop it, the fifth does.
    const { trail } = run("MIL-STD-105E", lots("RR" + "RRRRAAAAA" + "RR" + "RRRRR"));
    expect(trail).toBe("nt" + "ttttttttn" + "nt" + "ttttd");
  });

  it("reduces after ten accepted lots within the limit number, when steady and approved", () => {
    // Ten lots of 80 units: Table VIII for 800 to 1,249 units at AQL 1.0 is 4.
    const ten = (nonconforming: number, changes = {}) =>
      Array.from({ length: 10 }, (_, place) =>
        lot("A", { nonconforming: place === 3 ? nonconforming : 0, ...changes }),
      );
    expect(run("MIL-STD-105E", ten(4)).trail).toBe("nnnnnnnnnr");
    const over = run("MIL-STD-105E", ten(5));
    expect(over.trail).toBe("nnnnnnnnnn");
    expect(over.reasons.join(" ")).toContain(
      "5 nonconforming in 800 units of 10 lots; the limit number is 4",
    );
    expect(run("MIL-STD-105E", ten(0, { reducedApproved: false })).trail).toBe("nnnnnnnnnn");
    expect(run("MIL-STD-105E", ten(0, { steady: false })).trail).toBe("nnnnnnnnnn");
    expect(run("MIL-STD-105E", [...ten(5), lot("A"), lot("A"), lot("A"), lot("A")]).trail).toBe(
      "nnnnnnnnnn" + "nnnr",
    );
  });

  it("counts more than ten lots where ten have too few sample units (note to Table VIII)", () => {
    // AQL 1.0: 130 to 199 units have no limit number, 200 to 319 have 0. Ten lots of 13 units are 130, sixteen 208.
    const small = (count: number) => Array.from({ length: count }, () => lot("A", { sampleUnits: 13 }));
    expect(run("MIL-STD-105E", small(15)).trail).toBe("n".repeat(15));
    expect(run("MIL-STD-105E", small(15)).reasons.join(" ")).toContain("too few");
    expect(run("MIL-STD-105E", small(16)).trail).toBe(`${"n".repeat(15)}r`);
    const counted = Array.from({ length: 20 }, () => ({ accepted: true, nonconforming: 0, sampleUnits: 13 }));
    expect(limitNumberOfLots(counted, 1)).toEqual({
      holds: true,
      lotsCounted: 16,
      sampleUnits: 208,
      nonconforming: 0,
      limit: 0,
    });
  });

  it("returns from reduced to normal on a lot not accepted, a gap, irregular production or direction", () => {
    const reduced = startSeries("MIL-STD-105E", "reduced");
    const after = (event: SwitchingEvent) => nextSeverity(reduced, event, { aql: 1 }).state.severity;
    expect(after(lot("A"))).toBe("reduced");
    expect(after(lot("R"))).toBe("normal");
    expect(after(lot("AG"))).toBe("normal");
    expect(after(lot("A", { steady: false }))).toBe("normal");
    expect(after({ kind: "irregular", reason: "The line stood still." })).toBe("normal");
    expect(after({ kind: "directed", severity: "normal", reason: "Doubt about the records." })).toBe(
      "normal",
    );
    expect(after({ kind: "corrective-action", reason: "None needed." })).toBe("reduced");
    const normal = startSeries("MIL-STD-105E");
    expect(nextSeverity(normal, { kind: "irregular", reason: "A pause." }, { aql: 1 }).state).toEqual(normal);
  });

  it("refuses a gap outside reduced inspection, impossible numbers and dropped limit numbers", () => {
    const normal = startSeries("MIL-STD-105E");
    expect(() => nextSeverity(normal, lot("AG"), { aql: 1 })).toThrow(RangeError);
    expect(() => nextSeverity(normal, lot("A", { nonconforming: -1 }), { aql: 1 })).toThrow(RangeError);
    expect(() => nextSeverity(normal, lot("A"), { aql: 1, limitNumbersDropped: true })).toThrow(RangeError);
  });
});

describe("ANSI/ASQ Z1.4-2003, 8.3 to 8.5", () => {
  it("lets the limit numbers be dropped by agreement", () => {
    const ten = Array.from({ length: 10 }, () => lot("A", { nonconforming: 3 }));
    expect(run("ANSI/ASQ Z1.4-2003", ten).trail).toBe("nnnnnnnnnn");
    expect(run("ANSI/ASQ Z1.4-2003", ten, { aql: 1, limitNumbersDropped: true }).trail).toBe("nnnnnnnnnr");
  });

  it("discontinues at five lots not accepted on tightened", () => {
    expect(run("ANSI/ASQ Z1.4-2003", lots("RRRRRRR")).trail).toBe("nttttt" + "d");
  });
});

describe("standards whose switching text was not read", () => {
  it.each(["ANSI/ASQ Z1.9", "MIL-STD-414"] as const)(
    "%s: nothing is switched, the step says what is missing",
    (edition) => {
      const { trail, state, reasons } = run(edition, lots("RRRRR"));
      expect(trail).toBe("nnnnn");
      expect(state.lots).toHaveLength(5);
      expect(reasons.join(" ")).toContain("has not read");
      const directed = nextSeverity(
        state,
        {
          kind: "directed",
          severity: "tightened",
          reason: "Read in the standard, clause named in the order.",
        },
        { aql: 1 },
      );
      expect(directed.state).toEqual({ edition, severity: "tightened", lots: [] });
    },
  );
});

describe("series, splits and merges", () => {
  it("keeps apart what must not count together", () => {
    const base = {
      kind: "shipments",
      maker: "Orvane",
      meterType: "OV-2",
      contract: "C1",
      characteristic: "full load",
    } as const;
    const keys = [
      base,
      { ...base, contract: "C2" },
      { ...base, characteristic: "light load" },
      { ...base, maker: 'Orvane","OV-2', meterType: "C1" },
      { kind: "group", lineage: "G1", characteristic: "full load" } as const,
    ].map(seriesKey);
    expect(new Set(keys).size).toBe(5);
    expect(seriesKey({ ...base })).toBe(keys[0]);
  });

  it("goes on with the strictest parent when series merge, and never softens", () => {
    const tightened = run("MIL-STD-105E", lots("RRR")).state;
    const worse = run("MIL-STD-105E", lots("RRRR")).state;
    const normal = startSeries("MIL-STD-105E");
    const reduced = startSeries("MIL-STD-105E", "reduced");
    expect(severityOfMerged([reduced, normal])).toBe(normal);
    expect(severityOfMerged([normal, tightened, worse, reduced])).toBe(worse);
    expect(severityOfMerged([tightened])).toBe(tightened);
    expect(() => severityOfMerged([])).toThrow(RangeError);
    expect(() => severityOfMerged([normal, startSeries("ANSI/ASQ Z1.4-2003")])).toThrow(RangeError);
  });
});

describe("laws of the machine", () => {
  it("never moves but by its rules, whatever the lots", () => {
    const letters = fc.array(fc.constantFrom("A" as const, "A" as const, "A" as const, "R" as const), {
      maxLength: 80,
    });
    fc.assert(
      fc.property(
        letters,
        fc.constantFrom("MIL-STD-105E" as const, "ANSI/ASQ Z1.4-2003" as const),
        (sequence, edition) => {
          let state = startSeries(edition);
          for (const letter of sequence) {
            const { state: next, severityBefore, reasons } = nextSeverity(state, lot(letter), { aql: 1 });
            const allowed: Record<string, string[]> = {
              normal: ["normal", "tightened", "reduced"],
              tightened: ["tightened", "normal", "discontinued"],
              reduced: ["reduced", "normal"],
              discontinued: ["discontinued"],
            };
            expect(allowed[severityBefore]).toContain(next.severity);
            if (next.severity !== severityBefore) {
              expect(reasons.length).toBeGreaterThan(0);
              expect(next.lots).toEqual([]);
            }
            state = next;
          }
        },
      ),
      { numRuns: 300, seed: 20260115 },
    );
  });
});
