import { moveMeters } from "@sealbook/api/modules/meters/meters";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { Lot } from "@sealbook/contract/sampling";
import type { Scheme } from "@sealbook/contract/sampling-schemes";
import type { Series } from "@sealbook/contract/sampling-series";
import type { SamplingScheme } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { inServiceScheme, type SamplingBench, samplingBench } from "../support/sampling-bench.ts";

// The standards are silent on what a split or a merge does to switching. Common practice, no source: the strictest of the
// series that come together goes on, so that no change of the groups softens inspection.

let shop: TestApp;
let bench: SamplingBench;

beforeAll(async () => {
  shop = await testApp();
  bench = await samplingBench(shop);
});
afterAll(async () => {
  await bench.close();
  await shop.close();
});

/** Groups by type; those below 20 meters stand together where their technology is the same. */
const rules: SamplingScheme = {
  ...inServiceScheme,
  lotSize: { min: 20, max: 40, standAloneFrom: null },
  grouping: { years: null, firmware: false, area: false, merge: "same-technology" },
};

let letters = 0;
/** So many meters in service of a new type; their ids. */
async function aGroupOf(count: number, technology: string): Promise<{ typeId: string; ids: string[] }> {
  const typeId = await bench.aType({ technology });
  return { typeId, ids: await more(typeId, count) };
}

async function more(typeId: string, count: number): Promise<string[]> {
  letters += 1;
  const numbers = Array.from({ length: count }, (_, place) => `L${letters}-${place}`);
  return [...(await bench.inService(typeId, numbers)).values()];
}

async function move(ids: readonly string[], kind: "remove" | "set", placeId: string): Promise<void> {
  await inTransaction(shop.admin, null, (tx) =>
    moveMeters(
      tx,
      ids.map((meterId) => ({
        id: newId(),
        meterId,
        kind,
        performedAt: new Date(),
        placeId,
        registerReading: "0",
        reason: "For a test",
      })),
    ),
  );
}

async function placeOf(meterId: string | undefined): Promise<string> {
  const { rows } = await shop.admin.query<{ place_id: string }>("SELECT place_id FROM meter WHERE id = $1", [
    meterId,
  ]);
  return rows[0]?.place_id ?? "";
}

async function lotsOf(scheme: Scheme, year: number): Promise<Lot[]> {
  return await bench.lotsOf((await bench.aProgramme(scheme, { year })).id);
}

/** The lot of a year that these meters are in. */
async function lotWith(lots: readonly Lot[], meterId: string | undefined): Promise<Lot> {
  const { rows } = await shop.admin.query<{ lot_id: string }>(
    "SELECT lot_id FROM lot_member WHERE meter_id = $1 AND lot_id = ANY ($2)",
    [meterId, lots.map(({ id }) => id)],
  );
  const lot = lots.find(({ id }) => id === rows[0]?.lot_id);
  if (lot === undefined) throw new Error("the meter is in a lot of the year");
  return lot;
}

async function direct(lot: Lot, severity: "tightened" | "normal" | "reduced"): Promise<void> {
  await bench.engineer.agent
    .post("/api/sampling-series/events")
    .send({
      id: newId(),
      series: lot.series,
      schemeCode: lot.scheme.code,
      characteristic: null,
      kind: "directed",
      severity,
      reason: "Directed for a test",
    })
    .expect(201);
}

const severityOf = (lot: Lot) => lot.severities.map(({ severity }) => severity);

describe("a group whose meters come together with those of a series that goes on", () => {
  it("keeps the series tightened, leaves it with its state, and is not moved by what its old series says later", {
    timeout: 120_000,
  }, async () => {
    const scheme = await bench.aScheme(rules);
    const shrinking = await aGroupOf(30, "solid-state");
    const small = await aGroupOf(12, "solid-state");
    const other = await aGroupOf(13, "solid-state");

    const first = await lotsOf(scheme, 2026);
    const own = await lotWith(first, shrinking.ids[0]);
    const together = await lotWith(first, small.ids[0]);
    expect((await lotWith(first, other.ids[0])).id).toBe(together.id);
    await direct(own, "tightened");

    // Eighteen are retired: the other twelve are below the least lot and stand with the small ones.
    await bench.retire(shrinking.ids.slice(12));
    const second = await lotsOf(scheme, 2027);
    const merged = await lotWith(second, shrinking.ids[0]);
    expect(merged).toMatchObject({ series: together.series, inherits: [own.series] });
    expect(severityOf(merged)).toEqual(["tightened"]);
    expect(merged.plan?.characteristics[0]?.reasons.join(" ")).toContain(
      "goes on from another: tightened inspection",
    );

    // What is said of the old series after the merge is not said of the merged one.
    await direct(own, "reduced");
    const third = await lotsOf(scheme, 2028);
    const goesOn = await lotWith(third, small.ids[0]);
    expect(goesOn).toMatchObject({ series: together.series, inherits: [] });
    expect(severityOf(goesOn)).toEqual(["tightened"]);

    // The group grows and is sampled by itself again after two years: it goes on from where its meters were.
    await more(shrinking.typeId, 20);
    const fourth = await lotsOf(scheme, 2029);
    const again = await lotWith(fourth, shrinking.ids[0]);
    expect(again).toMatchObject({ series: own.series, inherits: [together.series] });
    expect(severityOf(again)).toEqual(["tightened"]);
    // The series that it leaves goes on by itself.
    expect(await lotWith(fourth, small.ids[0])).toMatchObject({ inherits: [], series: together.series });

    const { body } = await bench.engineer.agent
      .get(`/api/sampling-series?series=${encodeURIComponent(own.series)}&schemeCode=${scheme.code}`)
      .expect(200);
    const [characteristic] = (body as Series).characteristics;
    expect(characteristic?.steps.map(({ kind, severityAfter }) => [kind, severityAfter])).toEqual([
      ["directed", "tightened"],
      ["directed", "reduced"],
      ["joined", "tightened"],
    ]);
    expect(characteristic?.steps.at(-1)?.lotNumber).toBe(again.number);
  });

  it("is split with the state of the whole, and the parts do not follow what comes to the whole later", {
    timeout: 120_000,
  }, async () => {
    const scheme = await bench.aScheme({
      ...rules,
      grouping: { years: null, firmware: false, area: false, merge: "never" },
    });
    const group = await aGroupOf(24, "solid-state");
    const whole = await lotWith(await lotsOf(scheme, 2026), group.ids[0]);
    await direct(whole, "tightened");
    await more(group.typeId, 20);
    const parts = (await lotsOf(scheme, 2027)).filter(({ title }) => title.includes("part"));
    const split = parts.filter(({ inherits }) => inherits.includes(whole.series));
    // The meters of before are in at least one of the two; a part of new meters alone begins anew.
    expect(split.length).toBeGreaterThan(0);
    for (const part of split) expect(severityOf(part)).toEqual(["tightened"]);
    await direct(whole, "normal");
    const later = await lotsOf(scheme, 2028);
    for (const part of split) {
      const next = later.find(({ series }) => series === part.series);
      expect(next?.inherits).toEqual([]);
      expect(next === undefined ? [] : severityOf(next)).toEqual(["tightened"]);
    }
  });

  it("goes on from the series that its meters were last in, though a year passed in which they were in none", {
    timeout: 120_000,
  }, async () => {
    const scheme = await bench.aScheme(rules);
    const group = await aGroupOf(22, "electromechanical");
    const small = await aGroupOf(12, "electromechanical");
    await aGroupOf(13, "electromechanical");
    const first = await lotWith(await lotsOf(scheme, 2026), group.ids[0]);
    await direct(first, "tightened");
    const point = await placeOf(group.ids[0]);
    await move(group.ids, "remove", bench.meters.placeId);
    const between = await lotWith(await lotsOf(scheme, 2027), small.ids[0]);
    expect(severityOf(between)).toEqual(["normal"]);
    // Ten of them are set again: too few for a lot of their own, they come into one that has had two.
    await move(group.ids.slice(0, 10), "set", point);
    const merged = await lotWith(await lotsOf(scheme, 2028), group.ids[0]);
    expect(merged).toMatchObject({ series: between.series, inherits: [first.series] });
    expect(severityOf(merged)).toEqual(["tightened"]);
  });

  it("does not follow a meter that strayed into it from a series that goes on", {
    timeout: 120_000,
  }, async () => {
    const scheme = await bench.aScheme({
      ...rules,
      grouping: { years: null, firmware: false, area: true, merge: "never" },
    });
    const typeId = await bench.aType();
    const inArea = async (area: string) => {
      letters += 1;
      const numbers = Array.from({ length: 21 }, (_, place) => `L${letters}-${place}`);
      return [...(await bench.inService(typeId, numbers, { area })).values()];
    };
    const [north, south] = [await inArea("North"), await inArea("South")];
    const first = await lotsOf(scheme, 2026);
    await direct(await lotWith(first, north[0]), "tightened");
    await move(north.slice(0, 1), "remove", bench.meters.placeId);
    await move(north.slice(0, 1), "set", await placeOf(south[0]));
    const second = await lotsOf(scheme, 2027);
    const moved = await lotWith(second, north[0]);
    expect(moved.inherits).toEqual([]);
    expect(severityOf(moved)).toEqual(["normal"]);
    expect(severityOf(await lotWith(second, north[1]))).toEqual(["tightened"]);
  });
});
