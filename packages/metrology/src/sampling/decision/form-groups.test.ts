import { describe, expect, it } from "vitest";
import { type FormedGroup, formGroups, type InventoryCell } from "./form-groups.ts";
import type { SamplingScheme } from "./sampling-scheme.ts";

const cell = (over: Partial<InventoryCell>): InventoryCell => ({
  typeId: "t1",
  type: "Alderwick AW-1",
  form: "2S",
  technology: "solid-state",
  year: 2012,
  firmware: "1",
  area: "North",
  meters: 100,
  ...over,
});

type Rules = Pick<SamplingScheme, "grouping" | "lotSize" | "source">;
const rules = (over: {
  grouping?: Partial<NonNullable<SamplingScheme["grouping"]>>;
  lotSize?: Partial<SamplingScheme["lotSize"]>;
}): Rules => ({
  source: "a rule",
  grouping: { years: null, firmware: false, area: false, merge: "never", ...over.grouping },
  lotSize: { min: 1, max: null, standAloneFrom: null, ...over.lotSize },
});

const sizes = (groups: readonly FormedGroup[]) => groups.map(({ standing, lots }) => [standing, lots]);

describe("groups in service", () => {
  it("are the types, however many years and areas they have, unless the scheme tells these apart", () => {
    const cells = [cell({}), cell({ year: 2019, area: "South" }), cell({ typeId: "t2", type: "Corrigan C" })];
    expect(sizes(formGroups(cells, rules({})).groups)).toEqual([
      ["formed", [200]],
      ["formed", [100]],
    ]);
    const apart = formGroups(cells, rules({ grouping: { area: true, years: 5 } })).groups;
    expect(apart.map(({ title }) => title)).toEqual([
      "Alderwick AW-1, form 2S, bought 2010 to 2014, area North",
      "Alderwick AW-1, form 2S, bought 2015 to 2019, area South",
      "Corrigan C, form 2S, bought 2010 to 2014, area North",
    ]);
  });

  it("leave out what a rule needs to know and the book does not", () => {
    const { leftOut, groups } = formGroups(
      [cell({ year: null, meters: 3 }), cell({ area: null, meters: 2 })],
      rules({ grouping: { area: true, years: 1 } }),
    );
    expect(groups).toEqual([]);
    expect(leftOut.map(({ meters }) => meters)).toEqual([3, 2]);
  });

  it("by Michigan's sizes: 35,000 is one lot, 35,001 is two, 300 is too small", () => {
    // Mich. Admin. Code R 460.3613(3): lots of 301 to 35,000.
    const michigan = rules({ lotSize: { min: 301, max: 35_000, standAloneFrom: 8001 } });
    const lotsOf = (meters: number) => sizes(formGroups([cell({ meters })], michigan).groups);
    expect(lotsOf(35_000)).toEqual([["formed", [35_000]]]);
    expect(lotsOf(35_001)).toEqual([["split", [17_501, 17_500]]]);
    expect(lotsOf(301)).toEqual([["formed", [301]]]);
    expect(lotsOf(300)).toEqual([["too-small", []]]);
  });

  it("put small types together, but never one of 8,001 or more", () => {
    const michigan = rules({
      grouping: { merge: "same-technology" },
      lotSize: { min: 301, max: 35_000, standAloneFrom: 8001 },
    });
    const small = [cell({ typeId: "a", meters: 200 }), cell({ typeId: "b", form: "9S", meters: 150 })];
    expect(sizes(formGroups(small, michigan).groups)).toEqual([["merged", [350]]]);
    // Alone, the small one needs another: 8,000 may join it, 8,001 may not, nor a disk meter.
    const lone = cell({ typeId: "a", meters: 200 });
    expect(sizes(formGroups([lone, cell({ typeId: "c", meters: 8000 })], michigan).groups)).toEqual([
      ["merged", [8200]],
    ]);
    expect(sizes(formGroups([lone, cell({ typeId: "c", meters: 8001 })], michigan).groups)).toEqual([
      ["too-small", []],
      ["formed", [8001]],
    ]);
    expect(
      sizes(
        formGroups([lone, cell({ typeId: "c", meters: 500, technology: "electromechanical" })], michigan)
          .groups,
      ),
    ).toEqual([
      ["too-small", []],
      ["formed", [500]],
    ]);
  });

  it("lose nobody, whatever the inventory: lots, small groups and those left out are all meters", () => {
    // A plain congruential sequence: another inventory at every step, and the same at every run.
    let state = 20_261_125;
    const below = (bound: number) => {
      state = (state * 48_271) % 2_147_483_647;
      return state % bound;
    };
    for (let round = 0; round < 300; round += 1) {
      const cells = new Map<string, InventoryCell>();
      for (let place = 0; place < 1 + below(30); place += 1) {
        const type = below(6);
        const one = cell({
          typeId: `t${type}`,
          form: type % 2 === 0 ? "2S" : "9S",
          technology: type < 3 ? "solid-state" : "electromechanical",
          year: below(10) === 0 ? null : 2000 + below(20),
          area: below(10) === 0 ? null : `area ${below(3)}`,
          firmware: String(below(2)),
          meters: 1 + below(900),
        });
        cells.set([one.typeId, one.year, one.area, one.firmware].join(), one);
      }
      const min = 1 + below(300);
      const max = below(3) === 0 ? null : min * 2 + below(500);
      const scheme = rules({
        grouping: {
          years: below(2) === 0 ? null : 1 + below(8),
          area: below(2) === 0,
          firmware: below(2) === 0,
          merge: (["never", "same-form", "same-technology"] as const)[below(3)] ?? "never",
        },
        lotSize: { min, max, standAloneFrom: below(2) === 0 ? null : 500 + below(1000) },
      });
      const all = [...cells.values()].reduce((sum, { meters }) => sum + meters, 0);
      const { groups, leftOut } = formGroups([...cells.values()], scheme);
      const placed = groups.reduce(
        (sum, { lots, size }) => sum + (lots.length === 0 ? size : lots.reduce((a, b) => a + b, 0)),
        0,
      );
      expect(placed + leftOut.reduce((sum, { meters }) => sum + meters, 0)).toBe(all);
      expect(new Set(groups.map(({ key }) => key)).size).toBe(groups.length);
      for (const lot of groups.flatMap(({ lots }) => lots)) {
        expect(lot).toBeGreaterThanOrEqual(min);
        expect(lot).toBeLessThanOrEqual(max ?? Number.POSITIVE_INFINITY);
      }
    }
  });
});
