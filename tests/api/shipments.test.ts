import { setTimeout as sleep } from "node:timers/promises";
import { createPlace } from "@sealbook/api/modules/places/places";
import { addShipmentMeters, type ShipmentRow } from "@sealbook/api/modules/shipments/shipments";
import { writeEntry } from "@sealbook/api/platform/ledger";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { Lot } from "@sealbook/contract/sampling";
import type { Scheme } from "@sealbook/contract/sampling-schemes";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
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
let scheme: Scheme;
const storeId = newId();

beforeAll(async () => {
  shop = await testApp();
  bench = await samplingBench(shop);
  scheme = await bench.aScheme(shipmentScheme);
  await inTransaction(shop.admin, null, (tx) =>
    createPlace(tx, { id: storeId, kind: "store", name: "Main store" }),
  );
});
afterAll(async () => {
  await bench.close();
  await shop.close();
});

/** Waits until a session of this database waits for a lock. */
async function untilSomebodyWaits(): Promise<void> {
  for (let tries = 0; tries < 500; tries++) {
    const { rowCount } = await shop.admin.query(
      "SELECT FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'",
    );
    if ((rowCount ?? 0) > 0) return;
    await sleep(10);
  }
  throw new Error("nobody came to wait for the lock");
}

const slug = (reply: { body: { type?: string } }) => reply.body.type?.replace("/problems/", "");

const add = (lotId: string, numbers: string[]) =>
  bench.engineer.agent
    .post(`/api/shipments/${lotId}/meters`)
    .set("idempotency-key", newId())
    .send({ numbers });

/** A shipment of five whose decision is approved: one reading for the first sampled meter, 100 for the rest. */
async function approved(first: string): Promise<{ lot: Lot; numbers: string[]; bad: string }> {
  const { lot, numbers } = await bench.aShipment(scheme, 5);
  const units = await bench.drawn(lot.id);
  for (const [place, unit] of units.entries()) {
    await bench.test(unit, place === 0 ? first : "100", "new-shipment");
  }
  await decision(bench.engineer, lot.id).expect(201);
  const { body } = await approval(bench.approver, lot.id).expect(201);
  return { lot: body, numbers, bad: units[0]?.utilityNumber ?? "" };
}

const dispose = (lot: Lot, what: string, body: Record<string, unknown>) =>
  bench.engineer.agent
    .post(`/api/shipments/${lot.id}/${what}`)
    .set("if-match", `"${lot.version}"`)
    .set("idempotency-key", newId())
    .send(body);

async function statesOf(numbers: readonly string[]): Promise<Record<string, number>> {
  const { rows } = await shop.admin.query<{ state: string; n: number }>(
    "SELECT state, count(*)::int AS n FROM meter WHERE utility_number = ANY ($1) GROUP BY state",
    [numbers],
  );
  return Object.fromEntries(rows.map(({ state, n }) => [state, n]));
}

describe("a shipment", () => {
  it("needs a scheme for shipments in its newest revision, a type, and a number of its own", async () => {
    const typeId = await bench.aType();
    const body = {
      id: newId(),
      number: "SH-100",
      schemeId: scheme.id,
      typeId,
      contract: "C-1",
      purchaseOrder: "",
      receivedOn: "2026-11-02",
      note: "",
    };
    const post = (over: Record<string, unknown>) =>
      bench.engineer.agent.post("/api/shipments").send({ ...body, id: newId(), ...over });
    await bench.engineer.agent.post("/api/shipments").send(body).expect(201);
    expect(slug(await post({}))).toBe("already-exists");
    const other = await bench.aScheme(inServiceScheme);
    expect(slug(await post({ number: "SH-101", schemeId: other.id }))).toBe("refused-by-rule");
    expect(slug(await post({ number: "SH-101", typeId: newId() }))).toBe("refused-by-rule");
    expect(slug(await post({ number: "SH-101", schemeId: newId() }))).toBe("refused-by-rule");
    // The storekeeper takes shipments in and does not plan them.
    const storekeeper = await shop.signIn("storekeeper");
    await storekeeper.agent
      .post("/api/shipments")
      .send({ ...body, id: newId(), number: "SH-102" })
      .expect(201);
    const plan = await storekeeper.agent
      .post(`/api/lots/${body.id}/plan`)
      .set("if-match", '"1"')
      .send({ dueOn: null });
    expect(slug(plan)).toBe("not-permitted");
  });

  it("takes meters in by number or serial and sets the rest aside, each with its reason", async () => {
    const { lot, typeId } = await bench.aShipment(scheme, 0, { planned: false });
    const [first, second, third] = (await bench.received(typeId, 3)) as [string, string, string];
    const [alien] = (await bench.received(await bench.aType(), 1)) as [string];
    await bench.inService(typeId, ["SET-1"]);
    const { body } = await add(lot.id, [
      ` ${first} `,
      `S${second}`,
      second,
      alien,
      "SET-1",
      "NO-SUCH",
      "",
    ]).expect(200);
    expect(body).toMatchObject({ added: 2, already: 0, members: 2 });
    expect(body.setAside.map(({ number, code }: { number: string; code: string }) => [number, code])).toEqual(
      [
        [second, "twice-in-list"],
        [alien, "other-type"],
        ["SET-1", "not-received"],
        ["NO-SUCH", "unknown-meter"],
      ],
    );
    expect((await add(lot.id, [first, third])).body).toMatchObject({ added: 1, already: 1, members: 3 });

    const { lot: other } = await bench.aShipment(scheme, 0, { typeId, planned: false });
    const { body: taken } = await add(other.id, [first]).expect(200);
    expect(taken.setAside).toMatchObject([{ code: "in-another-lot" }]);
    const { body: members } = await bench.engineer.agent
      .get(`/api/lots/${lot.id}/members?limit=2`)
      .expect(200);
    expect(members.rows).toHaveLength(2);
    expect(members.next).not.toBeNull();
  });

  it("never has one meter in two lots, even when two people add it at once", async () => {
    const typeId = await bench.aType();
    const { lot: one } = await bench.aShipment(scheme, 0, { typeId, planned: false });
    const { lot: two } = await bench.aShipment(scheme, 0, { typeId, planned: false });
    const numbers = await bench.received(typeId, 30);
    const replies = await Promise.all([add(one.id, numbers), add(two.id, numbers.toReversed())]);
    expect(replies.map(({ body }) => body.added).sort((a, b) => a - b)).toEqual([0, 30]);
  });

  it("sees the lot of a meter that it had to wait for", async () => {
    const typeId = await bench.aType();
    const { lot: one } = await bench.aShipment(scheme, 0, { typeId, planned: false });
    const { lot: two } = await bench.aShipment(scheme, 0, { typeId, planned: false });
    const [number] = (await bench.received(typeId, 1)) as [string];
    const { rows } = await shop.admin.query<{ id: string }>(
      "SELECT id FROM meter WHERE utility_number = $1",
      [number],
    );
    let later: Promise<{ body: { added: number; setAside: unknown[] } }> | undefined;
    // The first person's transaction stays open until the second one's is seen to wait for the meter's lock.
    await inTransaction(shop.admin, null, async (tx) => {
      await tx.query("SELECT id FROM meter WHERE id = $1 FOR UPDATE", [rows[0]?.id]);
      later = add(two.id, [number]).then((reply) => reply);
      await untilSomebodyWaits();
      const entryId = await writeEntry(tx, {
        action: "lot.addMeters",
        subjectType: "lot",
        subjectId: one.id,
        payload: {},
      });
      await tx.query("INSERT INTO lot_member (lot_id, meter_id, entry_id) VALUES ($1, $2, $3)", [
        one.id,
        rows[0]?.id,
        entryId,
      ]);
    });
    const reply = await later;
    expect(reply?.body.added).toBe(0);
    expect(reply?.body.setAside).toMatchObject([{ code: "in-another-lot" }]);
  });

  it("takes in a maker's list: new meters are put on record, known ones enter, doubtful rows are set aside", async () => {
    const { lot, typeId } = await bench.aShipment(scheme, 0, { planned: false });
    const [known] = (await bench.received(typeId, 1)) as [string];
    const row = (over: Partial<ShipmentRow>): ShipmentRow => ({
      serial: "ML-1",
      utilityNumber: null,
      firmware: "2.1",
      program: "P4",
      purchasedOn: "2026-10-01",
      results: [{ label: "Full load", registrationPercent: "100.03" }],
      ...over,
    });
    const rows = [
      row({ serial: "ML-1", utilityNumber: "ML-N1" }),
      row({ serial: `S${known}` }),
      row({ serial: "ML-1", utilityNumber: "ML-N2" }),
      row({ serial: "ML-3", utilityNumber: "ML-N1" }),
      row({ serial: "ML-4" }),
      row({ serial: "ML-5", utilityNumber: "ML-N5", results: [] }),
    ];
    const take = () =>
      inTransaction(shop.app.database.pool, { ...bench.engineer, role: "quality-engineer" }, (tx) =>
        addShipmentMeters(tx, lot.id, rows),
      );
    expect((await take()).map((outcome) => ("code" in outcome ? outcome.code : outcome.kind))).toEqual([
      "created",
      "added",
      "twice-in-list",
      "number-taken",
      "unknown-meter",
      "created",
    ]);
    expect((await take()).map(({ kind }) => kind)).toEqual([
      "already",
      "already",
      "set-aside",
      "set-aside",
      "set-aside",
      "already",
    ]);
    expect(await bench.lot(lot.id)).toMatchObject({ counts: { members: 3 }, makerResults: 2 });
    const { body } = await bench.engineer.agent.get(`/api/lots/${lot.id}/members`).expect(200);
    expect(body.rows.find(({ serial }: { serial: string }) => serial === "ML-1")).toMatchObject({
      utilityNumber: "ML-N1",
      makerResult: [{ label: "Full load", registrationPercent: "100.03" }],
    });
  });

  it("that is accepted goes to stock, except for sampled meters found nonconforming", async () => {
    const { lot, numbers } = await approved("100.2");
    expect(lot).toMatchObject({ state: "approved", outcome: "accepted" });
    expect(slug(await dispose(lot, "return", { reason: "Sent back" }))).toBe("wrong-state");
    expect(slug(await dispose(lot, "release", { placeId: bench.meters.placeId }))).toBe("refused-by-rule");
    const { body } = await dispose(lot, "release", { placeId: storeId }).expect(200);
    expect(body).toMatchObject({ moved: 5, heldBack: [], lot: { state: "closed", disposition: "released" } });
    expect(await statesOf(numbers)).toEqual({ "in-stock": 5 });
    expect(slug(await dispose(body.lot, "release", { placeId: storeId }))).toBe("wrong-state");
  });

  it("that is accepted with a nonconforming meter in its sample holds that one back", async () => {
    // Level II, 281 to 500: letter H, n 50; AQL 2.5 has Ac 3 (MIL-STD-105E, Tables I and II-A).
    const generous = await bench.aScheme({
      ...shipmentScheme,
      plan: { kind: "attributes", edition: "ANSI/ASQ Z1.4-2003", level: "II", aqlPercent: "2.5" },
    });
    const { lot, numbers } = await bench.aShipment(generous, 300);
    expect(lot.plan).toMatchObject({ n: 50, characteristics: [{ plan: { ac: 3 } }] });
    const units = await bench.drawn(lot.id);
    for (const [place, unit] of units.entries())
      await bench.test(unit, place === 0 ? "103" : "100", "new-shipment");
    await decision(bench.engineer, lot.id).expect(201);
    const { body: ready } = await approval(bench.approver, lot.id).expect(201);
    expect(ready.outcome).toBe("accepted");
    const { body } = await dispose(ready, "release", { placeId: storeId }).expect(200);
    expect(body).toMatchObject({ moved: 299, heldBack: [units[0]?.utilityNumber] });
    expect(await statesOf(numbers)).toEqual({ "in-stock": 299, received: 1 });
  });

  it("holds back sampled meters that no test was possible on or that failed in themselves, though the plan looks past them", async () => {
    const fullLoadAlone = await bench.aScheme({
      ...shipmentScheme,
      characteristics: [
        {
          characteristic: "full-load",
          limits: { minPercent: "90", maxPercent: "110", source: "Invented for a test" },
          aqlPercent: null,
        },
      ],
      untestable: { counts: "left-out", reason: "Invented for a test" },
    });
    const { lot, numbers } = await bench.aShipment(fullLoadAlone, 20);
    const [dead, failed, ...rest] = await bench.drawn(lot.id);
    if (dead === undefined || failed === undefined) throw new Error("the draw has units");
    await bench.deadMeter(dead, "new-shipment");
    // Within the scheme's wide limits, and beyond the 98 to 102 of the meter's own profile (04 NCAC 11 R08-10).
    await bench.test(failed, "103", "new-shipment");
    for (const unit of rest) await bench.test(unit, "100", "new-shipment");
    const reason = "The maker replaces the one that is dead";
    await decision(bench.engineer, lot.id, { outcome: "accepted", reason }).expect(201);
    const { body: ready } = await approval(bench.approver, lot.id).expect(201);
    const { body } = await dispose(ready, "release", { placeId: storeId }).expect(200);
    expect([...body.heldBack].sort()).toEqual([dead.utilityNumber, failed.utilityNumber].sort());
    expect(await statesOf(numbers)).toEqual({ "in-stock": 18, received: 2 });
  });

  it("that is not accepted goes back to the maker with its reason", async () => {
    const { lot, numbers } = await approved("103");
    expect(lot.outcome).toBe("not-accepted");
    expect(slug(await dispose(lot, "release", { placeId: storeId }))).toBe("wrong-state");
    const { body } = await dispose(lot, "return", { reason: "Reads fast at full load" }).expect(200);
    expect(body).toMatchObject({ moved: 5, lot: { state: "closed", disposition: "returned" } });
    expect(await statesOf(numbers)).toEqual({ retired: 5 });
    const { rows } = await shop.admin.query<{ reason: string }>(
      `SELECT DISTINCT v.reason FROM meter_event v JOIN meter m ON m.id = v.meter_id
       WHERE m.utility_number = ANY ($1) AND v.kind = 'retire'`,
      [numbers],
    );
    expect(rows).toEqual([
      { reason: `Returned to the maker with shipment ${lot.number}: Reads fast at full load` },
    ]);
  });

  it("that is not accepted may be screened and resubmitted, once, and does not count for switching then", async () => {
    const { lot, numbers, bad } = await approved("103");
    const body = { id: newId(), number: `${lot.number}-R`, leftOut: [bad], reason: "Every meter was tested" };
    const wrong = await dispose(lot, "resubmission", { ...body, leftOut: ["NO-SUCH"] });
    expect(slug(wrong)).toBe("refused-by-rule");
    // The fast meter of the sample is known: it does not come again unmended.
    const unmended = async () =>
      (await bench.engineer.agent.get(`/api/shipments/${lot.id}/unmended`).expect(200)).body.utilityNumbers;
    expect(await unmended()).toEqual([bad]);
    const forgotten = await dispose(lot, "resubmission", { ...body, leftOut: [] });
    expect(slug(forgotten)).toBe("refused-by-rule");
    expect(forgotten.body.errors).toMatchObject([
      { pointer: "/leftOut", detail: expect.stringContaining(bad) },
    ]);
    const all = await dispose(lot, "resubmission", { ...body, leftOut: numbers });
    expect(slug(all)).toBe("refused-by-rule");
    const { body: next } = await dispose(lot, "resubmission", body).expect(201);
    expect(next).toMatchObject({
      resubmitsId: lot.id,
      series: lot.series,
      counts: { members: 4 },
      state: "forming",
    });
    expect(await bench.lot(lot.id)).toMatchObject({ disposition: "resubmitted", resubmittedById: next.id });
    const twice = await dispose(lot, "resubmission", { ...body, id: newId(), number: `${lot.number}-RR` });
    expect(slug(twice)).toBe("wrong-state");

    await bench.plan(next.id);
    // The seed of the first draw was on record before the new list: another is thrown.
    for (const unit of await bench.drawn(next.id, "2 5 1 1 6 3"))
      await bench.test(unit, "100", "new-shipment");
    await decision(bench.engineer, next.id).expect(201);
    const { body: series } = await bench.engineer.agent
      .get(`/api/sampling-series?series=${encodeURIComponent(lot.series)}&schemeCode=${scheme.code}`)
      .expect(200);
    expect(series.characteristics[0].steps).toMatchObject([
      { lotNumber: lot.number, resubmitted: false },
      {
        lotNumber: next.number,
        resubmitted: true,
        reasons: ["A resubmitted lot does not count for switching."],
      },
    ]);
  });

  it("may bring a sampled meter again that was mended and passed since", async () => {
    const { lot, bad } = await approved("103");
    const { rows } = await shop.admin.query<{ id: string }>(
      "SELECT id FROM meter WHERE utility_number = $1",
      [bad],
    );
    const meterId = rows[0]?.id ?? "";
    // A test for another reason that finds it as bad as before mends nothing; one that leaves it good does.
    await bench.test({ meterId, workItemId: null }, "103", "new-shipment");
    const body = { id: newId(), number: `${lot.number}-M`, leftOut: [], reason: "The one was mended" };
    expect(slug(await dispose(lot, "resubmission", body))).toBe("refused-by-rule");
    await bench.test({ meterId, workItemId: null }, "100", "new-shipment");
    const { body: next } = await dispose(lot, "resubmission", body).expect(201);
    expect(next.counts.members).toBe(5);
  });

  it("stands among the maker's lots over time with its inspection state", async () => {
    const typeId = await bench.aType();
    const { lot: first } = await bench.aShipment(scheme, 3, { typeId, contract: "C-5" });
    const { lot: second } = await bench.aShipment(scheme, 3, { typeId, contract: "C-5" });
    await bench.aShipment(scheme, 3, { typeId, contract: "C-6" });
    const { body } = await bench.engineer.agent
      .get(`/api/lots?series=${encodeURIComponent(first.series)}&limit=1`)
      .expect(200);
    expect(body.rows).toMatchObject([
      { id: second.id, severities: [{ characteristic: "full-load", severity: "normal" }], outcome: null },
    ]);
    const { body: rest } = await bench.engineer.agent
      .get(`/api/lots?series=${encodeURIComponent(first.series)}&limit=1&cursor=${body.next}`)
      .expect(200);
    expect(rest).toMatchObject({ rows: [{ id: first.id }], next: null });
    expect(second.plan?.characteristics[0]?.reasons.join(" ")).toContain(
      `Lot ${first.number} of this series is not decided`,
    );
  });
});
