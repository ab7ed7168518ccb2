import { writeEntry } from "@sealbook/api/platform/ledger";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { DrawUnit } from "@sealbook/contract/follow-up";
import type { Lot } from "@sealbook/contract/sampling";
import type { SamplingScheme } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { drawSample } from "@sealbook/metrology/sampling/draw/draw-sample";
import pg from "pg";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { readPdf } from "../support/read-pdf.ts";
import {
  approval,
  decision,
  inServiceScheme,
  type SamplingBench,
  samplingBench,
  shipmentScheme,
} from "../support/sampling-bench.ts";

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

const slug = (reply: { body: { type?: string } }) => reply.body.type?.replace("/problems/", "");

/** Variables for shipments, so that small lots can be walked by hand: Z1.9, level II, AQL 2.5, full load. */
const variables: SamplingScheme = {
  ...shipmentScheme,
  plan: inServiceScheme.plan,
  switching: false,
};

async function drawnShipment(body: SamplingScheme, count: number): Promise<{ lot: Lot; units: DrawUnit[] }> {
  const { lot } = await bench.aShipment(await bench.aScheme(body), count);
  return { lot, units: await bench.drawn(lot.id) };
}

const sampleOf = (units: readonly DrawUnit[]) => units.filter(({ spare }) => !spare);

async function testAll(units: readonly DrawUnit[], readings: readonly string[]): Promise<void> {
  for (const [place, unit] of sampleOf(units).entries()) {
    await bench.test(unit, readings[place] ?? readings.at(-1) ?? "100", "new-shipment");
  }
}

describe("a sampling scheme", () => {
  it("counts its revisions up without gaps and keeps each", async () => {
    const first = await bench.aScheme(shipmentScheme);
    const next = {
      id: newId(),
      code: first.code,
      revision: 2,
      name: "Second",
      body: { ...shipmentScheme, notes: ["Agreed anew"] },
      reason: "Agreed anew with the maker",
    };
    const skipped = await bench.engineer.agent
      .post("/api/sampling-schemes")
      .send({ ...next, id: newId(), revision: 3 });
    expect(slug(skipped)).toBe("already-exists");
    await bench.engineer.agent.post("/api/sampling-schemes").send(next).expect(201);
    const { body: old } = await bench.engineer.agent.get(`/api/sampling-schemes/${first.id}`).expect(200);
    expect(old).toMatchObject({ revision: 1, current: false, body: { notes: [] } });
    expect(old.revisions.map(({ revision }: { revision: number }) => revision)).toEqual([2, 1]);
  });

  it.each([
    [
      "an AQL that the tables do not have",
      { plan: { ...shipmentScheme.plan, aqlPercent: "0.9" } },
      "refused-by-rule",
    ],
    ["a level of another standard", { plan: { ...shipmentScheme.plan, level: "IV" } }, "refused-by-rule"],
    [
      "limits for a verdict",
      { characteristics: [{ ...shipmentScheme.characteristics[0], characteristic: "verdict" }] },
      "malformed-request",
    ],
    [
      "a characteristic without limits",
      { characteristics: [{ characteristic: "full-load", limits: null, aqlPercent: null }] },
      "malformed-request",
    ],
    ["Form 1 with two limits", { plan: { ...inServiceScheme.plan, form: 1 } }, "malformed-request"],
    ["a profile that is not on record", { jurisdiction: "us-zz" }, "refused-by-rule"],
    [
      "a greatest lot below twice the least, between which no group could be split",
      { ...inServiceScheme, lotSize: { min: 301, max: 600, standAloneFrom: null } },
      "refused-by-rule",
    ],
  ])("is refused with %s", async (_, over, problem) => {
    const reply = await bench.engineer.agent.post("/api/sampling-schemes").send({
      id: newId(),
      code: "REFUSED",
      revision: 1,
      name: "Refused",
      body: { ...shipmentScheme, ...over },
      reason: "For a test",
    });
    expect(slug(reply)).toBe(problem);
  });
});

describe("a draw", () => {
  it("is one a list, later than the list, and repeatable from the kept file alone", async () => {
    const scheme = await bench.aScheme(shipmentScheme);
    const { lot, numbers } = await bench.aShipment(scheme, 60);
    // MIL-STD-105E Tables I and II-A: 51 to 90 at level II is letter E; AQL 1.0 leads by the arrow to n 13, Ac 0, Re 1.
    expect(lot.plan?.characteristics[0]?.plan).toMatchObject({ letter: "E", n: 13, ac: 0, re: 1 });
    const listId = newId();
    const list = {
      id: listId,
      seed: { source: "typed-dice", announcement: null, notBefore: null },
      repeats: null,
    };
    await bench.engineer.agent.post(`/api/lots/${lot.id}/lists`).send(list).expect(201);
    const second = await bench.engineer.agent
      .post(`/api/lots/${lot.id}/lists`)
      .send({ ...list, id: newId() });
    expect(slug(second)).toBe("already-exists");

    const seedless = await bench.engineer.agent
      .post(`/api/draw-lists/${listId}/draw`)
      .send({ id: newId(), seed: null });
    expect(slug(seedless)).toBe("refused-by-rule");
    await bench.engineer.agent
      .post(`/api/draw-lists/${listId}/draw`)
      .send({ id: newId(), seed: "3 3 1 6" })
      .expect(201);
    const again = await bench.engineer.agent
      .post(`/api/draw-lists/${listId}/draw`)
      .send({ id: newId(), seed: "1 1 1 1" });
    expect(slug(again)).toBe("already-exists");

    const file = await bench.engineer.agent.get(`/api/draw-lists/${listId}/candidates`).expect(200);
    const candidates = file.text.trimEnd().split("\n");
    expect(candidates).toEqual([...numbers].sort());
    const repeated = drawSample({ candidates: candidates.toReversed(), seed: "3 3 1 6", n: 13, spares: 0 });
    if (repeated.kind !== "drawn") throw new Error(repeated.sentence);
    const drawn = await bench.lot(lot.id);
    expect(drawn.lists[0]).toMatchObject({ listHash: repeated.listHash, draw: { key: repeated.key } });
    expect((await bench.unitsOf(lot.id)).map(({ utilityNumber }) => utilityNumber)).toEqual(repeated.sample);
  });

  it("is repeated only from a second list with a reason, which stands beside the first", async () => {
    const { lot, units } = await drawnShipment(shipmentScheme, 60);
    const first = (await bench.lot(lot.id)).lists[0];
    const listId = newId();
    const { body: relisted } = await bench.engineer.agent
      .post(`/api/lots/${lot.id}/lists`)
      .send({
        id: listId,
        seed: { source: "system", announcement: null, notBefore: null },
        repeats: { id: first?.id, reason: "The dice were thrown without a witness" },
      })
      .expect(201);
    expect(relisted).toMatchObject({
      state: "listed",
      lists: [{ ordinal: 1 }, { ordinal: 2, repeatsId: first?.id }],
    });
    const old = await bench.engineer.agent
      .post(`/api/draw-lists/${first?.id}/draw`)
      .send({ id: newId(), seed: "2 2" });
    expect(slug(old)).toBe("wrong-state");
    const typed = await bench.engineer.agent
      .post(`/api/draw-lists/${listId}/draw`)
      .send({ id: newId(), seed: "5" });
    expect(slug(typed)).toBe("refused-by-rule");
    const { body: drawn } = await bench.engineer.agent
      .post(`/api/draw-lists/${listId}/draw`)
      .send({ id: newId(), seed: null })
      .expect(201);
    expect(drawn.lists[1].draw.seed).toMatch(/^[0-9a-f]{64}$/);
    expect(drawn.lists[0].draw).not.toBeNull();
    const now = (await bench.unitsOf(lot.id)).map(({ utilityNumber }) => utilityNumber);
    expect(now).not.toEqual(units.map(({ utilityNumber }) => utilityNumber));
  });

  it("closes the work of the draw that it replaces, with the reason, and leaves one piece a sampled meter", async () => {
    const { lot, units } = await drawnShipment(shipmentScheme, 20);
    const [tested] = units;
    if (tested === undefined) throw new Error("the draw has units");
    await bench.test(tested, "100", "new-shipment");
    const listId = newId();
    await bench.engineer.agent
      .post(`/api/lots/${lot.id}/lists`)
      .send({
        id: listId,
        seed: { source: "typed-dice", announcement: null, notBefore: null },
        repeats: {
          id: (await bench.lot(lot.id)).lists[0]?.id,
          reason: "The dice were thrown without a witness",
        },
      })
      .expect(201);
    await bench.engineer.agent
      .post(`/api/draw-lists/${listId}/draw`)
      .send({ id: newId(), seed: "6 6 1 3 2 4" })
      .expect(201);
    const now = await bench.unitsOf(lot.id);
    const held = new Map(now.map(({ meterId, place }) => [meterId, place]));
    const gone = units.filter(({ meterId }) => !held.has(meterId));
    const kept = units.filter(({ meterId }) => held.has(meterId));
    // MIL-STD-105E Tables I and II-A: 20 at level II is letter C, and AQL 1.0 leads by the arrow to n 13. Two samples of
    // 13 out of 20 share six meters at least, and are the same once in 77,520 times.
    expect(gone.length).toBeGreaterThan(0);
    expect(kept.length).toBeGreaterThan(0);
    const openOf = async (meterId: string) =>
      (await bench.engineer.agent.get(`/api/work-items?meterId=${meterId}`).expect(200)).body.rows;
    for (const unit of gone) {
      expect(await openOf(unit.meterId)).toEqual([]);
      if (unit.meterId === tested.meterId) continue;
      const { body } = await bench.engineer.agent
        .get(`/api/ledger?subjectId=${unit.workItemId}&action=workItem.close`)
        .expect(200);
      expect(body.rows).toMatchObject([
        { reason: expect.stringContaining("The dice were thrown without a witness") },
      ]);
      expect(body.rows[0].reason).toContain("its sample does not hold this meter");
    }
    for (const unit of now) {
      expect(await openOf(unit.meterId)).toMatchObject([
        { id: unit.workItemId, note: `Lot ${lot.number}, place ${unit.place} of the sample` },
      ]);
    }
    // What a test answered stays answered by it.
    const { rows } = await shop.admin.query(
      "SELECT closed_reason, done_by_test_id IS NOT NULL AS done FROM work_item WHERE id = $1",
      [tested.workItemId],
    );
    expect(rows).toEqual([{ closed_reason: null, done: true }]);
    // Work that is closed is answered by no test any more.
    const [lost] = gone.filter(({ meterId }) => meterId !== tested.meterId);
    if (lost === undefined) throw new Error("a meter left the sample");
    await expect(bench.test(lost, "100", "new-shipment")).rejects.toThrow("closed meanwhile");
  });

  it("that was repeated leaves nobody waiting for a test of the first draw that is taken back later", async () => {
    const { lot, units } = await drawnShipment(shipmentScheme, 20);
    const [tested] = units;
    if (tested === undefined) throw new Error("the draw has units");
    const testId = await bench.test(tested, "100", "new-shipment");
    const list = {
      id: newId(),
      seed: { source: "system", announcement: null, notBefore: null },
      repeats: {
        id: (await bench.lot(lot.id)).lists[0]?.id,
        reason: "The dice were thrown without a witness",
      },
    };
    await bench.engineer.agent.post(`/api/lots/${lot.id}/lists`).send(list).expect(201);
    const { body: test } = await bench.engineer.agent.get(`/api/meter-tests/${testId}`).expect(200);
    const { signature: _, ...entered } = bench.meters.aTest(tested.meterId, bench.planId, {
      standardId: null,
      errorAppliedByBench: null,
    });
    await bench.engineer.agent
      .post(`/api/meter-tests/${testId}/amendments`)
      .send({
        ...entered,
        performedAt: test.performedAt,
        reasons: ["new-shipment"],
        outcome: { kind: "withdrawn" },
        amendmentReason: "Another meter was on the bench",
        signature: null,
      })
      .expect(201);
    const { rows } = await shop.admin.query<{ done_by_test_id: string | null; closed_reason: string | null }>(
      "SELECT done_by_test_id, closed_reason FROM work_item WHERE id = $1",
      [tested.workItemId],
    );
    expect(rows[0]?.done_by_test_id).toBeNull();
    expect(rows[0]?.closed_reason).toContain("nobody waits for another");
  });

  it("names a meter of its list that has another number by now", async () => {
    const { lot } = await bench.aShipment(await bench.aScheme(shipmentScheme), 20);
    const listId = newId();
    const { body: listed } = await bench.engineer.agent
      .post(`/api/lots/${lot.id}/lists`)
      .send({ id: listId, seed: { source: "system", announcement: null, notBefore: null }, repeats: null })
      .expect(201);
    const { rows } = await shop.admin.query<{ meter_id: string; utility_number: string }>(
      "SELECT b.meter_id, m.utility_number FROM lot_member b JOIN meter m ON m.id = b.meter_id WHERE b.lot_id = $1",
      [lot.id],
    );
    // All of them, so that whichever is drawn has another.
    await inTransaction(shop.admin, null, async (tx) => {
      const entryId = await writeEntry(tx, {
        action: "lot.follow",
        subjectType: "lot",
        subjectId: lot.id,
        payload: {},
      });
      await tx.query(
        "UPDATE meter SET utility_number = 'X' || utility_number, entry_id = $2 WHERE id = ANY ($1)",
        [rows.map(({ meter_id }) => meter_id), entryId],
      );
    });
    expect(listed.state).toBe("listed");
    const { body } = await bench.engineer.agent
      .post(`/api/draw-lists/${listId}/draw`)
      .send({ id: newId(), seed: null })
      .expect(409);
    expect(body.type).toBe("/problems/wrong-state");
    expect(body.detail).toMatch(/^The list names meter N\d+, which has another utility number now/);
  });

  it("cannot be made with a seed that was on record before its list was published", async () => {
    const { lot } = await drawnShipment(shipmentScheme, 20);
    const first = (await bench.lot(lot.id)).lists[0];
    const list = {
      id: newId(),
      seed: { source: "typed-dice", announcement: null, notBefore: null },
      repeats: { id: first?.id, reason: "A meter had been left off the list" },
    };
    await bench.engineer.agent.post(`/api/lots/${lot.id}/lists`).send(list).expect(201);
    const withSeed = (seed: string | undefined) =>
      bench.engineer.agent.post(`/api/draw-lists/${list.id}/draw`).send({ id: newId(), seed });
    const again = await withSeed(first?.draw?.seed);
    expect(slug(again)).toBe("refused-by-rule");
    expect(again.body.errors).toMatchObject([{ pointer: "/seed" }]);
    await withSeed("1 1 6 4 3 2").expect(201);
  });

  it("waits for a number that was announced", async () => {
    const { lot } = await bench.aShipment(await bench.aScheme(shipmentScheme), 20);
    const list = (notBefore: string | null) => ({
      id: newId(),
      seed: {
        source: "announced-number",
        announcement: "Evening number of the invented state lottery, published at 21:00",
        notBefore,
      },
      repeats: null,
    });
    for (const notBefore of [null, "2026-01-01T00:00:00Z"]) {
      const reply = await bench.engineer.agent.post(`/api/lots/${lot.id}/lists`).send(list(notBefore));
      expect(slug(reply)).toBe("refused-by-rule");
    }
    const later = list(new Date(Date.now() + 3_600_000).toISOString());
    await bench.engineer.agent.post(`/api/lots/${lot.id}/lists`).send(later).expect(201);
    const early = await bench.engineer.agent
      .post(`/api/draw-lists/${later.id}/draw`)
      .send({ id: newId(), seed: "104 772" });
    expect(slug(early)).toBe("refused-by-rule");
    expect((await bench.lot(lot.id)).state).toBe("listed");
  });

  it("cannot be made by the server's role before the list is committed, nor early, nor twice", async () => {
    const { lot } = await bench.aShipment(await bench.aScheme(shipmentScheme), 20);
    const client = new pg.Client({ connectionString: shop.database.appUrl });
    await client.connect();
    const hash = "0".repeat(64);
    try {
      await client.query("BEGIN");
      await client.query("SELECT set_config('sealbook.actor', $1, true)", [bench.engineer.id]);
      const [entry, list, file] = [newId(), newId(), newId()];
      await client.query(
        "INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload) VALUES ($1, 'lot.list', 'lot', $2, '{}')",
        [entry, lot.id],
      );
      await client.query(
        "INSERT INTO file (id, name, media_type, size, sha256, entry_id) VALUES ($1, 'x', 'text/plain', 0, $2, $3)",
        [file, hash, entry],
      );
      await client.query(
        `INSERT INTO draw_list (id, lot_id, ordinal, list_hash, candidates, file_id, n, spares, seed_source, entry_id)
         VALUES ($1, $2, 1, $3, 20, $4, 5, 0, 'system', $5)`,
        [list, lot.id, hash, file, entry],
      );
      await expect(
        client.query(
          "INSERT INTO draw (id, list_id, seed, algorithm, key, entry_id) VALUES ($1, $2, 'x', 'a', $3, $4)",
          [newId(), list, hash, entry],
        ),
      ).rejects.toMatchObject({ code: "23001" });
    } finally {
      await client.end();
    }
  });
});

describe("follow-up", () => {
  it("calls up the next spare for reasons that the scheme allows, and leaves the place empty for others", async () => {
    const { lot, units } = await drawnShipment(
      {
        ...variables,
        replacement: { allowed: true, sparesPercent: 10, reasons: ["no-access", "moved"] },
      },
      60,
    );
    // Z1.9 Tables A-2 and B-3: 51 to 90 at level II is letter E, n 7; a tenth more is one spare.
    expect(units.map(({ spare }) => spare)).toEqual([...Array(7).fill(false), true]);
    const send = (events: Record<string, unknown>[]) =>
      bench.engineer.agent
        .post(`/api/lots/${lot.id}/events`)
        .set("idempotency-key", newId())
        .send({ events: events.map((event) => ({ id: newId(), reason: null, note: "", ...event })) });

    await send([{ position: 1, kind: "asked" }]).expect(200);
    const { body: out } = await send([{ position: 2, kind: "not-reached", reason: "no-access" }]).expect(200);
    expect(out).toMatchObject({ calledUp: [{ position: 8, place: 2 }], withoutSpare: [] });
    const { body: none } = await send([{ position: 3, kind: "moved" }]).expect(200);
    expect(none).toMatchObject({ calledUp: [], withoutSpare: [3] });
    const { body: left } = await send([
      { position: 4, kind: "left-out", reason: "other", note: "Lost in a fire" },
    ]).expect(200);
    expect(left).toMatchObject({ calledUp: [], withoutSpare: [4] });

    const now = await bench.unitsOf(lot.id);
    expect(now.map(({ state }) => state)).toEqual([
      "asked",
      "replaced",
      "left-out",
      "left-out",
      "waiting",
      "waiting",
      "waiting",
      "waiting",
    ]);
    expect(now[7]).toMatchObject({ place: 2, spare: true });
    expect(now[7]?.workItemId).not.toBeNull();

    for (const event of [
      { position: 2, kind: "pulled" },
      { position: 5, kind: "not-reached" },
      { position: 5, kind: "left-out", reason: "other" },
      { position: 5, kind: "asked", reason: "no-access" },
      { position: 9, kind: "asked" },
      { position: 5, kind: "left-out", reason: "no-test-possible" },
    ]) {
      expect(slug(await send([event])), JSON.stringify(event)).toBe("refused-by-rule");
    }
    const first = now[0];
    if (first === undefined) throw new Error("the draw has units");
    await bench.test(first, "100.1", "new-shipment");
    expect(slug(await send([{ position: 1, kind: "left-out", reason: "unsafe" }]))).toBe("refused-by-rule");
    expect(await bench.lot(lot.id)).toMatchObject({
      counts: { sample: 7, done: 3, leftOut: 2, sparesUsed: 1 },
    });
  });

  it("recorded in error is taken back by an event that names it, and its untested spare goes back", async () => {
    const { lot, units } = await drawnShipment(
      { ...variables, replacement: { allowed: true, sparesPercent: 30, reasons: ["no-access", "moved"] } },
      60,
    );
    // Z1.9 Tables A-2 and B-3: 51 to 90 at level II is letter E, n 7; 30 % of 7 rounds up to three spares.
    expect(units.map(({ spare }) => spare)).toEqual([...Array(7).fill(false), true, true, true]);
    const send = (event: Record<string, unknown>) =>
      bench.technician.agent
        .post(`/api/lots/${lot.id}/events`)
        .set("idempotency-key", newId())
        .send({ events: [{ id: newId(), reason: null, note: "", ...event }] });
    const reason = "The entry was meant for the meter next door";
    const takeBack = (eventId: string, id = newId()) =>
      bench.technician.agent.post(`/api/lots/${lot.id}/taken-back-events`).send({ id, eventId, reason });
    const asked = newId();
    const missed = newId();
    await send({ id: asked, position: 2, kind: "asked" }).expect(200);
    await send({ id: missed, position: 2, kind: "not-reached", reason: "no-access" }).expect(200);
    const spare = (await bench.unitsOf(lot.id))[7];
    if (spare === undefined) throw new Error("the draw has spares");
    expect(spare).toMatchObject({ state: "waiting", place: 2 });
    const openWork = async () =>
      (await bench.engineer.agent.get(`/api/work-items?meterId=${spare.meterId}`).expect(200)).body.rows;
    expect(await openWork()).toHaveLength(1);

    // The spare goes back with what called it up, and not by itself.
    expect(slug(await takeBack(spare.events[0]?.id ?? ""))).toBe("refused-by-rule");
    expect(slug(await takeBack(newId()))).toBe("not-found");
    const counter = newId();
    const { body } = await takeBack(missed, counter).expect(201);
    expect(body.units).toMatchObject([
      {
        position: 2,
        place: 2,
        state: "asked",
        events: [
          { id: asked, takenBack: null },
          { id: missed, kind: "not-reached", takenBack: { reason, by: { id: bench.technician.id } } },
        ],
      },
      { position: 8, place: null, state: "spare", workItemId: null, events: [{ takenBack: { reason } }] },
    ]);
    expect(await openWork()).toEqual([]);
    expect(await bench.lot(lot.id)).toMatchObject({ counts: { done: 0, leftOut: 0, sparesUsed: 0 } });
    const { body: ledger } = await bench.engineer.agent
      .get(`/api/ledger?subjectId=${lot.id}&action=lot.takeBack`)
      .expect(200);
    expect(ledger.rows).toMatchObject([{ reason }]);
    expect(JSON.parse(ledger.rows[0].payload).events).toMatchObject([
      { id: counter, position: 2, takesBackId: missed },
      { position: 8 },
    ]);
    expect(slug(await takeBack(missed))).toBe("already-exists");
    await takeBack(asked).expect(201);
    expect((await bench.unitsOf(lot.id))[1]?.state).toBe("waiting");

    // The meter may leave again, and the same spare is called up again; one of its own must be taken back first.
    const again = newId();
    const { body: out } = await send({ id: again, position: 2, kind: "moved" }).expect(200);
    expect(out.calledUp).toMatchObject([{ position: 8, place: 2 }]);
    const spareMoved = newId();
    await send({ id: spareMoved, position: 8, kind: "moved" }).expect(200);
    expect(slug(await takeBack(again))).toBe("refused-by-rule");
    await takeBack(spareMoved).expect(201);
    const called = (await bench.unitsOf(lot.id))[7];
    if (called === undefined) throw new Error("the draw has spares");
    expect(called).toMatchObject({ state: "waiting", place: 2 });
    // A result that counts is not taken from under its place.
    await bench.test(called, "100", "new-shipment");
    expect(slug(await takeBack(again))).toBe("refused-by-rule");
    expect((await bench.unitsOf(lot.id))[1]?.state).toBe("replaced");

    // Nor does the database let a meter leave twice, or an event be taken back at another meter.
    const raw = async (kind: string, position: number, takesBack: string | null) => {
      const client = new pg.Client({ connectionString: shop.database.adminUrl });
      await client.connect();
      try {
        await client.query("BEGIN");
        const entry = newId();
        await client.query(
          "INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload) VALUES ($1, 'lot.follow', 'lot', $2, '{}')",
          [entry, lot.id],
        );
        await client.query(
          `INSERT INTO draw_event (id, draw_id, position, kind, reason, note, takes_back_id, ordinal, entry_id)
           SELECT $6, draw_id, $2, $3, $4, 'Raw', $5, 99, $7 FROM draw_event WHERE id = $1`,
          [again, position, kind, kind === "moved" ? "moved" : null, takesBack, newId(), entry],
        );
      } finally {
        await client.end();
      }
    };
    await expect(raw("moved", 2, null)).rejects.toMatchObject({
      code: "23505",
      constraint: "draw_event_out",
    });
    const notHere = { code: "23001", message: expect.stringContaining("is taken back at its own meter") };
    await expect(raw("taken-back", 3, again)).rejects.toMatchObject(notHere);
    await expect(raw("taken-back", 2, null)).rejects.toMatchObject(notHere);
    // With nothing against it the same statement is taken: the refusals above are of the rules they name.
    await expect(raw("asked", 2, null)).resolves.toBeUndefined();

    // Once the lot is decided everything stands.
    for (const unit of (await bench.unitsOf(lot.id)).filter(({ state }) => state === "waiting")) {
      await bench.test(unit, unit.position % 2 === 0 ? "100.1" : "99.9", "new-shipment");
    }
    await decision(bench.engineer, lot.id).expect(201);
    expect(slug(await takeBack(again))).toBe("wrong-state");
    await expect(raw("taken-back", 2, again)).rejects.toMatchObject({
      code: "23001",
      message: expect.stringContaining("while the lot is undecided"),
    });
    const sheet = await bench.engineer.agent
      .get(`/api/lots/${lot.id}/decision-sheet`)
      .buffer(true)
      .parse((response, done) => {
        const chunks: Buffer[] = [];
        response.on("data", (chunk: Buffer) => chunks.push(chunk));
        response.on("end", () => done(null, Buffer.concat(chunks)));
      })
      .expect(200);
    // However the sheet breaks its lines.
    const words = readPdf(sheet.body).pages.join(" ").replace(/\s+/g, "");
    expect(words).toContain("takenback");
    expect(words).toContain(reason.replaceAll(" ", ""));
  });

  it("counts the first as-found test after the draw with the lot's reason, and shows a second", async () => {
    const { lot, units } = await drawnShipment(variables, 20);
    const [first] = units;
    if (first === undefined) throw new Error("the draw has units");
    // Another reason is another occasion.
    await bench.test({ ...first, workItemId: null }, "99.7", "in-service-sample");
    expect((await bench.unitsOf(lot.id))[0]?.state).toBe("waiting");
    const counts = await bench.test(first, "100.3", "new-shipment");
    const further = await bench.test({ ...first, workItemId: null }, "101.9", "new-shipment");
    const unit = (await bench.unitsOf(lot.id))[0];
    expect(unit).toMatchObject({ state: "tested", test: { id: counts, fullLoad: "100.3" } });
    expect(unit?.furtherTests.map(({ id }) => id)).toEqual([further]);

    await testAll(units.slice(1), ["100.0", "99.8"]);
    const { body: decided } = await decision(bench.engineer, lot.id).expect(201);
    const tests = decided.decision.tests.filter(({ place }: { place: number }) => place === 1);
    expect(
      tests.map(({ testId, counted }: { testId: string; counted: boolean }) => [testId, counted]),
    ).toEqual([
      [counts, true],
      [further, false],
    ]);
    expect(decided.decision.evaluation.characteristics[0].readings[0]).toMatchObject({ value: "100.3" });
  });
});

describe("a lot", () => {
  it("is not planned while it is empty", async () => {
    const { lot } = await bench.aShipment(await bench.aScheme(shipmentScheme), 0, { planned: false });
    await expect(bench.plan(lot.id)).rejects.toThrow("The lot is empty");
  });

  it("of one is tested whole, and none may be nonconforming", async () => {
    const { lot, units } = await drawnShipment(shipmentScheme, 1);
    expect(lot.plan).toMatchObject({
      n: 1,
      characteristics: [{ plan: { kind: "whole-lot", ac: 0, re: 1 } }],
    });
    await testAll(units, ["102.01"]);
    const { body } = await decision(bench.engineer, lot.id).expect(201);
    expect(body.decision).toMatchObject({ outcome: "not-accepted", byPerson: false });
  });

  it("takes a reading on the limit as conforming", async () => {
    const { lot, units } = await drawnShipment(shipmentScheme, 1);
    await testAll(units, ["102"]);
    const { body } = await decision(bench.engineer, lot.id).expect(201);
    expect(body.decision.outcome).toBe("accepted");
  });

  it("with all nonconforming is not accepted", async () => {
    const { lot, units } = await drawnShipment(variables, 20);
    await testAll(units, ["103.1", "103.4", "102.9", "103.3"]);
    const { body } = await decision(bench.engineer, lot.id).expect(201);
    expect(body.decision).toMatchObject({
      outcome: "not-accepted",
      evaluation: { characteristics: [{ nonconforming: sampleOf(units).length }] },
    });
    // Beyond the limit by many s: the estimate is the whole lot.
    expect(body.decision.evaluation.characteristics[0].estimate.p).toBe(100);
  });

  it("without spread is left to a person within the limits, and not accepted beyond them", async () => {
    const within = await drawnShipment(variables, 20);
    await testAll(within.units, ["100.1"]);
    const evaluation = await bench.engineer.agent.get(`/api/lots/${within.lot.id}/evaluation`).expect(200);
    expect(evaluation.body).toMatchObject({
      outcome: "person-decides",
      characteristics: [{ s: 0, mean: 100.1 }],
    });
    const silent = await decision(bench.engineer, within.lot.id);
    expect(slug(silent)).toBe("refused-by-rule");
    const reasonless = await decision(bench.engineer, within.lot.id, { outcome: "accepted" });
    expect(slug(reasonless)).toBe("refused-by-rule");
    const { body } = await decision(bench.engineer, within.lot.id, {
      outcome: "accepted",
      reason: "The bench prints one decimal; its log shows the spread",
    }).expect(201);
    expect(body.decision).toMatchObject({ outcome: "accepted", byPerson: true });

    const beyond = await drawnShipment(variables, 20);
    await testAll(beyond.units, ["97.9"]);
    const { body: refused } = await decision(bench.engineer, beyond.lot.id).expect(201);
    expect(refused.decision.outcome).toBe("not-accepted");
  });

  it("is not decided while results are missing, and nobody chooses what the plan decides", async () => {
    const { lot, units } = await drawnShipment(variables, 20);
    const [last] = sampleOf(units).slice(-1);
    if (last === undefined) throw new Error("the draw has units");
    await testAll(units.slice(0, -1), ["100.2", "99.9", "100.0"]);
    const early = await decision(bench.engineer, lot.id);
    expect(slug(early)).toBe("refused-by-rule");
    expect(early.body.detail).toContain(last.utilityNumber);
    await bench.test(last, "100.1", "new-shipment");
    const chosen = await decision(bench.engineer, lot.id, {
      outcome: "not-accepted",
      reason: "I do not like it",
    });
    expect(slug(chosen)).toBe("refused-by-rule");
    await decision(bench.engineer, lot.id).expect(201);
    const twice = await decision(bench.engineer, lot.id);
    expect(slug(twice)).toBe("already-exists");
  });

  it("counts an untestable meter apart under variables, and leaves it to a person", async () => {
    const { lot, units } = await drawnShipment(variables, 20);
    const [dead, ...rest] = sampleOf(units);
    if (dead === undefined) throw new Error("the draw has units");
    await bench.deadMeter(dead, "new-shipment");
    for (const [place, unit] of rest.entries())
      await bench.test(unit, place % 2 === 0 ? "100.2" : "99.9", "new-shipment");
    const { body } = await bench.engineer.agent.get(`/api/lots/${lot.id}/evaluation`).expect(200);
    expect(body).toMatchObject({
      outcome: "person-decides",
      characteristics: [{ untestable: 1, nonconforming: 1, counted: sampleOf(units).length }],
    });
  });

  it("judges full and light load apart, and is accepted only when both are", async () => {
    const limits = { minPercent: "98", maxPercent: "102", source: "Invented for a test" };
    const { lot, units } = await drawnShipment(
      {
        ...shipmentScheme,
        characteristics: [
          { characteristic: "full-load", limits, aqlPercent: null },
          { characteristic: "light-load", limits, aqlPercent: "4" },
        ],
      },
      60,
    );
    // Letter E: AQL 1.0 has n 13, Ac 0; AQL 4 has n 13, Ac 1 (Table II-A).
    expect(lot.plan?.characteristics.map(({ plan }) => ("ac" in plan ? [plan.n, plan.ac] : null))).toEqual([
      [13, 0],
      [13, 1],
    ]);
    await testAll(units, ["102.5", "100"]);
    const { body } = await decision(bench.engineer, lot.id).expect(201);
    expect(
      body.decision.evaluation.characteristics.map(({ outcome }: { outcome: string }) => outcome),
    ).toEqual(["not-accepted", "accepted"]);
    expect(body.decision.outcome).toBe("not-accepted");
  });

  it("judges the meters' own verdicts, and the average that their profile makes", async () => {
    const verdict: SamplingScheme = {
      ...shipmentScheme,
      characteristics: [{ characteristic: "verdict", limits: null, aqlPercent: null }],
    };
    const average: SamplingScheme = {
      ...shipmentScheme,
      characteristics: [
        {
          characteristic: "average",
          limits: { minPercent: "98", maxPercent: "101.92", source: "Invented for a test" },
          aqlPercent: null,
        },
      ],
    };
    // New meters in North Carolina: 98 to 102 at full load (04 NCAC 11 R08-10, older text); method 1 of 102.4 and 100
    // is (4 x 102.4 + 100) / 5 = 101.92.
    for (const [body, expected] of [
      [verdict, "not-accepted"],
      [average, "accepted"],
    ] as const) {
      const { lot, units } = await drawnShipment(body, 1);
      await testAll(units, ["102.4"]);
      const { body: decided } = await decision(bench.engineer, lot.id).expect(201);
      expect(decided.decision.outcome).toBe(expected);
    }
  });

  it("is withdrawn with a reason before its draw, and not after", async () => {
    const { lot } = await bench.aShipment(await bench.aScheme(shipmentScheme), 20);
    const withdraw = (id: string, version: number) =>
      bench.engineer.agent
        .post(`/api/lots/${id}/withdrawal`)
        .set("if-match", `"${version}"`)
        .send({ reason: "Delivered to the wrong shop" });
    expect(slug(await withdraw(lot.id, lot.version + 1))).toBe("stale");
    const { body } = await withdraw(lot.id, lot.version).expect(200);
    expect(body.state).toBe("withdrawn");
    const { lot: drawn } = await drawnShipment(shipmentScheme, 20);
    const { version } = await bench.lot(drawn.id);
    expect(slug(await withdraw(drawn.id, version))).toBe("wrong-state");
  });
});

describe("an approval", () => {
  it("is refused to whoever tested, amended, recorded or decided, and to a wrong password", async () => {
    const tester = await shop.signIn("supervisor");
    const amender = await shop.signIn("supervisor");
    const { lot, units } = await drawnShipment(shipmentScheme, 20);
    const [first, ...rest] = sampleOf(units);
    if (first === undefined) throw new Error("the draw has units");
    const testId = await bench.test(first, "100.4", "new-shipment", tester);
    // Whoever recorded the record that was amended had a hand in it, too.
    const { body: test } = await amender.agent.get(`/api/meter-tests/${testId}`).expect(200);
    await amender.agent
      .post(`/api/meter-tests/${testId}/amendments`)
      .send({
        ...bench.meters.aTest(first.meterId, bench.planId),
        performedAt: test.performedAt,
        reasons: ["new-shipment"],
        amendmentReason: "Typed the wrong place",
      })
      .expect(201);
    for (const unit of rest) await bench.test(unit, "100", "new-shipment");
    const early = await approval(bench.approver, lot.id);
    expect(slug(early)).toBe("wrong-state");
    await decision(bench.engineer, lot.id).expect(201);

    for (const [person, kind] of [
      [tester, "tested"],
      [amender, "recorded"],
      [bench.engineer, "decided"],
    ] as const) {
      const { body } = await person.agent.get(`/api/lots/${lot.id}`).expect(200);
      expect(body.hindrances.map((one: { kind: string }) => one.kind)).toContain(kind);
      const reply = await approval(person, lot.id);
      expect([reply.status, slug(reply)]).toEqual([403, "not-independent"]);
    }
    const nosy = await bench.technician.agent
      .post(`/api/lots/${lot.id}/approval`)
      .send({ id: newId(), password: "nine blue ladders", note: "" });
    expect(slug(nosy)).toBe("not-permitted");
    const wrong = await bench.approver.agent
      .post(`/api/lots/${lot.id}/approval`)
      .send({ id: newId(), password: "eight blue ladders", note: "" });
    expect(slug(wrong)).toBe("sign-in-refused");
    const { body: free } = await bench.approver.agent.get(`/api/lots/${lot.id}`).expect(200);
    expect(free.hindrances).toEqual([]);
    const { body: approved } = await approval(bench.approver, lot.id).expect(201);
    expect(approved.decision.approval.person.id).toBe(bench.approver.id);
    const twice = await approval(await shop.signIn("supervisor"), lot.id);
    expect(slug(twice)).toBe("already-exists");
  });

  it("is refused by the database itself, whatever the server does", async () => {
    const { lot, units } = await drawnShipment(shipmentScheme, 1);
    await testAll(units, ["100"]);
    const { body: decided } = await decision(bench.engineer, lot.id).expect(201);
    const client = new pg.Client({ connectionString: shop.database.appUrl });
    await client.connect();
    try {
      for (const person of [bench.technician, bench.engineer]) {
        await client.query("BEGIN");
        await client.query("SELECT set_config('sealbook.actor', $1, true)", [person.id]);
        const entry = newId();
        await client.query(
          "INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload) VALUES ($1, 'lot.approve', 'lot', $2, '{}')",
          [entry, lot.id],
        );
        await expect(
          client.query(
            "INSERT INTO approval (id, decision_id, record_hash, entry_id) VALUES ($1, $2, $3, $4)",
            [newId(), decided.decision.id, decided.decision.recordHash, entry],
          ),
        ).rejects.toMatchObject({ code: "23001", constraint: "approval_independent" });
        await client.query("ROLLBACK");
      }
      await expect(
        client.query(
          "INSERT INTO approval (id, decision_id, account_id, record_hash, entry_id) VALUES ($1, $2, $3, $4, $5)",
          [newId(), decided.decision.id, bench.approver.id, decided.decision.recordHash, newId()],
        ),
      ).rejects.toMatchObject({ code: "42501" });
    } finally {
      await client.end();
    }
  });
});

describe("two people at once", () => {
  it("decide a lot once, and approve it once", async () => {
    const { lot, units } = await drawnShipment(shipmentScheme, 5);
    await testAll(units, ["100"]);
    const second = await shop.signIn("quality-engineer");
    const decisions = await Promise.all([decision(bench.engineer, lot.id), decision(second, lot.id)]);
    expect(decisions.map(({ status }) => status).sort()).toEqual([201, 409]);
    const approvers = [bench.approver, await shop.signIn("supervisor")] as const;
    const approvals = await Promise.all(approvers.map((person) => approval(person, lot.id)));
    expect(approvals.map(({ status }) => status).sort()).toEqual([201, 409]);
    const { rows } = await shop.admin.query(
      `SELECT (SELECT count(*)::int FROM ledger_entry WHERE subject_id = $1 AND action = 'lot.decide') AS decided,
         (SELECT count(*)::int FROM ledger_entry WHERE subject_id = $1 AND action = 'lot.approve') AS approved`,
      [lot.id],
    );
    expect(rows[0]).toEqual({ decided: 1, approved: 1 });
  });

  it("draw from a list once", async () => {
    const { lot } = await bench.aShipment(await bench.aScheme(shipmentScheme), 20);
    const listId = newId();
    await bench.engineer.agent
      .post(`/api/lots/${lot.id}/lists`)
      .send({
        id: listId,
        seed: { source: "typed-dice", announcement: null, notBefore: null },
        repeats: null,
      })
      .expect(201);
    const replies = await Promise.all(
      ["1 2 3", "4 5 6"].map((seed) =>
        bench.engineer.agent.post(`/api/draw-lists/${listId}/draw`).send({ id: newId(), seed }),
      ),
    );
    expect(replies.map(({ status }) => status).sort()).toEqual([201, 409]);
  });

  it("and a test that is amended after the decision leaves the decision as it was, and is named beside it", async () => {
    const { lot, units } = await drawnShipment(shipmentScheme, 2);
    await testAll(units, ["100"]);
    const { body: decided } = await decision(bench.engineer, lot.id).expect(201);
    const [first] = decided.decision.tests;
    const { body: test } = await bench.technician.agent.get(`/api/meter-tests/${first.testId}`).expect(200);
    const amendment = {
      ...bench.meters.aTest(first.meterId, bench.planId),
      performedAt: test.performedAt,
      reasons: ["new-shipment"],
      amendmentReason: "Another standard was used",
    };
    await bench.technician.agent
      .post(`/api/meter-tests/${first.testId}/amendments`)
      .send(amendment)
      .expect(201);
    const now = await bench.lot(lot.id);
    expect(now.decision?.evaluation).toEqual(decided.decision.evaluation);
    expect(now.decision?.tests.find(({ testId }) => testId === first.testId)?.supersededById).toBe(
      amendment.id,
    );
    const { body: tally } = await bench.engineer.agent.get(`/api/lots/${lot.id}/evaluation`).expect(200);
    expect(tally).toEqual(decided.decision.evaluation);
  });
});

describe("what is on record of sampling", () => {
  const tables = [
    ["sampling_scheme", "name"],
    ["lot_member", "meter_id"],
    ["lot_plan", "body"],
    ["draw_list", "list_hash"],
    ["draw", "seed"],
    ["draw_unit", "meter_id"],
    ["draw_event", "note"],
    ["decision", "outcome"],
    ["decision_test", "counted"],
    ["approval", "note"],
    ["switching_event", "reason"],
    ["maker_result", "results"],
  ] as const;

  it.each(tables)("is never changed or removed: %s", async (table, column) => {
    const server = new pg.Client({ connectionString: shop.database.appUrl });
    await server.connect();
    try {
      for (const sql of [
        `UPDATE ${table} SET ${column} = ${column}`,
        `DELETE FROM ${table}`,
        `TRUNCATE ${table}`,
        `ALTER TABLE ${table} DISABLE TRIGGER ALL`,
      ]) {
        await expect(server.query(sql), sql).rejects.toMatchObject({ code: "42501" });
      }
    } finally {
      await server.end();
    }
    // Behind the privileges stand triggers that stop even the owner.
    const { rows } = await shop.admin.query(`SELECT count(*)::int AS n FROM ${table}`);
    if (rows[0].n > 0) {
      await expect(shop.admin.query(`UPDATE ${table} SET ${column} = ${column}`)).rejects.toMatchObject({
        code: "23001",
      });
    }
    await expect(shop.admin.query(`TRUNCATE ${table} CASCADE`)).rejects.toMatchObject({ code: "23001" });
  });

  it("lets a lot go forward only, and its meters stand once it is planned", async () => {
    const { lot, typeId } = await bench.aShipment(await bench.aScheme(shipmentScheme), 20);
    const [number] = await bench.received(typeId, 1);
    const late = await bench.engineer.agent
      .post(`/api/shipments/${lot.id}/meters`)
      .set("idempotency-key", newId())
      .send({ numbers: [number] });
    expect(slug(late)).toBe("wrong-state");
    const client = new pg.Client({ connectionString: shop.database.adminUrl });
    await client.connect();
    try {
      await client.query("BEGIN");
      const entry = newId();
      await client.query(
        "INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload) VALUES ($1, 'lot.plan', 'lot', $2, '{}')",
        [entry, lot.id],
      );
      await client.query("SAVEPOINT here");
      await expect(
        client.query("UPDATE lot SET state = 'decided', entry_id = $2 WHERE id = $1", [lot.id, entry]),
      ).rejects.toMatchObject({ code: "23001" });
      await client.query("ROLLBACK TO here");
      await expect(
        client.query(
          "INSERT INTO lot_member (lot_id, meter_id, entry_id) SELECT $1, id, $2 FROM meter WHERE utility_number = $3",
          [lot.id, entry, number],
        ),
      ).rejects.toMatchObject({ code: "23001" });
    } finally {
      await client.end();
    }
  });
});

describe("a series of shipments", () => {
  it("moves to tightened inspection after two of five lots, and back after five accepted, by Z1.4-2003", {
    timeout: 120_000,
  }, async () => {
    const scheme = await bench.aScheme(shipmentScheme);
    const typeId = await bench.aType();
    const next = async (reading: string) => {
      const { lot } = await bench.aShipment(scheme, 2, { typeId, contract: "C-9" });
      const units = await bench.drawn(lot.id);
      await testAll(units, [reading]);
      await decision(bench.engineer, lot.id).expect(201);
      return lot.plan?.characteristics[0]?.severity;
    };
    const severities = [];
    for (const reading of ["100", "103", "103", "100", "100", "100", "100", "100", "100"])
      severities.push(await next(reading));
    expect(severities).toEqual([
      "normal",
      "normal",
      "normal",
      "tightened",
      "tightened",
      "tightened",
      "tightened",
      "tightened",
      "normal",
    ]);
    const { body } = await bench.engineer.agent.get(`/api/lots?q=${typeId.slice(-6)}&limit=200`).expect(200);
    const series = body.rows[0].series;
    const { body: history } = await bench.engineer.agent
      .get(`/api/sampling-series?series=${encodeURIComponent(series)}&schemeCode=${scheme.code}`)
      .expect(200);
    expect(history.characteristics[0].steps[2]).toMatchObject({
      severityBefore: "normal",
      severityAfter: "tightened",
      reasons: ["Two of the last 3 lots were not accepted on original inspection."],
    });
    expect(history.characteristics[0].steps).toHaveLength(9);
  });
});
