import { groupTasks } from "@sealbook/api/modules/groups/jobs";
import { newId } from "@sealbook/api/platform/transaction";
import type { Programme } from "@sealbook/contract/groups";
import type { Scheme } from "@sealbook/contract/sampling-schemes";
import { pino } from "pino";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { inServiceScheme, type SamplingBench, samplingBench } from "../support/sampling-bench.ts";

let shop: TestApp;
let bench: SamplingBench;
let scheme: Scheme;

beforeAll(async () => {
  shop = await testApp();
  bench = await samplingBench(shop);
  // Nobody works on the queue here: each test runs its job itself, and ends it where it likes.
  await bench.close();
  for (const letter of ["A", "B", "C"]) {
    await bench.inService(
      await bench.aType(),
      Array.from({ length: 30 }, (_, place) => `${letter}${place}`),
    );
  }
  scheme = await bench.aScheme(inServiceScheme);
});
afterAll(() => shop.close());

async function begun(year: number, under = scheme): Promise<Programme> {
  const { body } = await bench.engineer.agent
    .post("/api/programmes")
    .send({
      id: newId(),
      year,
      name: "The year's groups",
      schemeId: under.id,
      seed: { source: "system", announcement: null, notBefore: null },
      dueOn: `${year}-12-31`,
    })
    .expect(202);
  return body;
}

const programme = async (id: string): Promise<Programme> =>
  (await bench.engineer.agent.get(`/api/programmes/${id}`).expect(200)).body;

/** A signal that is aborted once it was looked at some times, as when the service stops in the middle. */
function abortedAfter(looks: number): AbortSignal {
  const controller = new AbortController();
  let left = looks;
  return new Proxy(controller.signal, {
    get(signal, name) {
      if (name === "aborted" && left-- <= 0) controller.abort();
      const value: unknown = Reflect.get(signal, name);
      return typeof value === "function" ? value.bind(signal) : value;
    },
  });
}

async function work(programmeId: string, actorId: string, signal: AbortSignal, lastAttempt = false) {
  const task = groupTasks(shop.app.database, pino({ level: "silent" }))["groups.form"];
  if (task === undefined) throw new Error("groups are formed by a job");
  await task({ programmeId, actorId }, { signal, lastAttempt });
}

describe("the job of a programme", () => {
  it.each([1, 2, 4, 5])(
    "goes on where it was stopped (after %i steps), and forms and draws each group once",
    async (steps) => {
      const { id } = await begun(2030 + steps);
      await expect(work(id, bench.engineer.id, abortedAfter(steps))).rejects.toThrow("the service stops");
      const half = await programme(id);
      expect(half.state).toBe("forming");
      await work(id, bench.engineer.id, new AbortController().signal);
      await work(id, bench.engineer.id, new AbortController().signal);
      expect(await programme(id)).toMatchObject({ state: "drawn", counts: { lots: 3, members: 90 } });
      const lots = await bench.lotsOf(id);
      expect(new Set(lots.map(({ series }) => series)).size).toBe(3);
      expect(lots.map(({ number }) => number.slice(-3)).sort()).toEqual(["001", "002", "003"]);
      for (const { lists } of lots)
        expect(lists).toMatchObject([{ ordinal: 1, draw: { algorithm: "sealbook-draw-1" } }]);
    },
  );

  it("stops when it is asked to, and what is formed stays", async () => {
    const { id, version } = await begun(2045);
    await expect(work(id, bench.engineer.id, abortedAfter(1))).rejects.toThrow();
    const stale = await bench.engineer.agent
      .post(`/api/programmes/${id}/cancel`)
      .set("if-match", `"${version + 1}"`);
    expect(stale.status).toBe(412);
    await bench.engineer.agent
      .post(`/api/programmes/${id}/cancel`)
      .set("if-match", `"${version}"`)
      .expect(200);
    await work(id, bench.engineer.id, new AbortController().signal);
    const cancelled = await programme(id);
    expect(cancelled).toMatchObject({ state: "cancelled", counts: { lots: 1 } });
    const again = await bench.engineer.agent
      .post(`/api/programmes/${id}/cancel`)
      .set("if-match", `"${cancelled.version}"`);
    expect(again.body.type).toBe("/problems/wrong-state");

    const resume = (from: number) =>
      bench.engineer.agent.post(`/api/programmes/${id}/resume`).set("if-match", `"${from}"`);
    expect((await resume(cancelled.version + 1)).status).toBe(412);
    const { body: resumed } = await resume(cancelled.version).expect(202);
    expect(resumed.state).toBe("forming");
    expect((await resume(resumed.version)).body.type).toBe("/problems/wrong-state");
    await work(id, bench.engineer.id, new AbortController().signal);
    expect(await programme(id)).toMatchObject({ state: "drawn", counts: { lots: 3 }, failure: null });
  });

  it("ends for whoever may not run programmes any more", async () => {
    const { id } = await begun(2046);
    await work(id, bench.technician.id, new AbortController().signal);
    expect(await programme(id)).toMatchObject({ state: "failed", counts: { lots: 0 } });
    expect((await programme(id)).failure).toContain("may not run programmes");
  });

  it("passes over a group that a rule stands against, and says so", async () => {
    const first = await begun(2047);
    await work(first.id, bench.engineer.id, new AbortController().signal);
    const [lot] = await bench.lotsOf(first.id);
    if (lot === undefined) throw new Error("the programme has lots");
    // MIL-STD-414 has no reduced plan here: a lot directed to it cannot be planned.
    const { body: revised } = await bench.engineer.agent
      .post("/api/sampling-schemes")
      .send({
        id: newId(),
        code: scheme.code,
        revision: 2,
        name: "By MIL-STD-414",
        body: {
          ...inServiceScheme,
          plan: { kind: "variables", edition: "MIL-STD-414", form: 2, level: "IV", aqlPercent: "2.5" },
        },
        reason: "The older standard from now on",
      })
      .expect(201);
    await bench.engineer.agent
      .post("/api/sampling-series/events")
      .send({
        id: newId(),
        series: lot.series,
        schemeCode: scheme.code,
        characteristic: null,
        kind: "directed",
        severity: "reduced",
        reason: "Directed for a test",
      })
      .expect(201);
    scheme = revised;
    const second = await begun(2048);
    await work(second.id, bench.engineer.id, new AbortController().signal);
    const found = await programme(second.id);
    expect(found).toMatchObject({ state: "drawn", counts: { lots: 2 }, leftOut: [{ meters: 30 }] });
    expect(found.leftOut[0]?.reason).toContain("Reduced inspection of MIL-STD-414");
  });

  it("puts every meter into one lot when the inventory has changed between two parts of a split", async () => {
    const typeId = await bench.aType();
    await bench.inService(
      typeId,
      Array.from({ length: 40 }, (_, place) => `D${place}`),
    );
    const split = await bench.aScheme({
      ...inServiceScheme,
      lotSize: { min: 1, max: 25, standAloneFrom: null },
    });
    const { id } = await begun(2048, split);
    // Types A to C have two lots of 15 each, type D two of 20: the job ends before the last of them.
    await expect(work(id, bench.engineer.id, abortedAfter(7))).rejects.toThrow("the service stops");
    expect((await programme(id)).counts).toMatchObject({ lots: 7, members: 110 });
    await bench.inService(typeId, ["D-older"], { purchasedOn: "2009-01-01" });
    await work(id, bench.engineer.id, new AbortController().signal);
    // 90 of types A to C, 40 of type D and the one that came between.
    expect((await programme(id)).counts).toMatchObject({ lots: 8, members: 131 });
    const members = await Promise.all(
      (await bench.lotsOf(id)).map(
        async (lot) =>
          (await bench.engineer.agent.get(`/api/lots/${lot.id}/members?limit=200`).expect(200)).body.rows,
      ),
    );
    const numbers = members.flat().map(({ utilityNumber }: { utilityNumber: string }) => utilityNumber);
    expect(new Set(numbers).size).toBe(131);
    expect(numbers).toContain("D-older");
  });
});
