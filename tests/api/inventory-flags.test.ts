import { inventoryFlagTasks } from "@sealbook/api/modules/inventory-flags/jobs";
import { addMeters } from "@sealbook/api/modules/meters/meters";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { InventoryFlag } from "@sealbook/contract/inventory-flags";
import type { Meter } from "@sealbook/contract/meters";
import { pino } from "pino";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp } from "../support/app.ts";
import { type MeterBench, meterBench } from "../support/meter-bench.ts";

// A form's elements, wires and phases: metrology/forms/ansi-forms.ts, with the source of each row. Kh of a three-element
// meter of 120 V and 2.5 A is 1.8 (common practice, no source).

let shop: TestApp;
let bench: MeterBench;
let storekeeper: SignedIn;
let plan: { id: string; code: string };
let typeId: string;

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  storekeeper = await shop.signIn("storekeeper");
  plan = await bench.aPlan();
  typeId = await bench.aType(plan);
});
afterAll(() => shop.close());

/** Asks for a look through the inventory and makes it, as the job does; how many findings were new. */
async function lookThrough(): Promise<number> {
  const { body } = await storekeeper.agent
    .post("/api/inventory-checks")
    .set("idempotency-key", newId())
    .expect(202);
  const task = inventoryFlagTasks(shop.app.database, pino({ level: "silent" }))["inventory-check"];
  await task?.({ number: String(body.number) }, { signal: new AbortController().signal, lastAttempt: true });
  const { body: after } = await storekeeper.agent.get("/api/inventory-checks/newest").expect(200);
  expect(after.check).toMatchObject({ number: body.number, failure: null });
  return after.check.found;
}

async function flags(query: Record<string, string> = {}): Promise<InventoryFlag[]> {
  return (
    await storekeeper.agent
      .get("/api/inventory-flags")
      .query({ limit: "200", ...query })
      .expect(200)
  ).body.rows;
}

const flagsOf = async (meterId: string, state = "open") => await flags({ meterId, state });

let made = 0;
async function aMeter(
  over: {
    serial?: string;
    purchasedOn?: string | null;
    receivedAt?: string;
    typeId?: string;
    maker?: string;
  } = {},
): Promise<string> {
  const id = newId();
  made += 1;
  await inTransaction(shop.admin, null, (tx) =>
    addMeters(tx, [
      {
        ...{ id, utilityNumber: `F${made}`, serial: over.serial ?? `FS${made}`, owner: "utility" },
        ...{ typeId: over.typeId ?? typeId, maker: over.maker ?? "Alderwick Instruments" },
        ...{ firmware: "", program: "", purchasedOn: over.purchasedOn ?? null },
        events: [
          {
            ...{ id: newId(), meterId: id, kind: "receive", placeId: bench.placeId },
            performedAt: new Date(over.receivedAt ?? "2026-02-02T15:00:00Z"),
            ...{ registerReading: null, reason: "" },
          },
        ],
      },
    ]),
  );
  return id;
}

const settle = (number: number, reason = "Both nameplates were looked at", by = storekeeper) =>
  by.agent.post(`/api/inventory-flags/${number}/settlement`).send({ id: newId(), reason });

const slug = (reply: { body: { type?: string } }) => reply.body.type?.replace("/problems/", "");

describe("a look through the inventory", () => {
  it("finds the same serial from two makers, once, and never raises it again when settled", async () => {
    const otherType = await bench.aType(plan, { maker: "Second Maker" });
    await aMeter({ serial: "TWIN-1" });
    const second = await aMeter({ serial: "TWIN-1", typeId: otherType, maker: "Second Maker" });
    await lookThrough();
    const [flag, ...more] = await flagsOf(second);
    expect(more).toEqual([]);
    expect(flag).toMatchObject({
      rule: "same-serial",
      sentence: expect.stringContaining("Serial TWIN-1"),
      others: [{ maker: "Alderwick Instruments" }],
    });
    expect(await lookThrough()).toBe(0);
    const settled = await settle(flag?.number ?? 0).expect(201);
    expect(settled.body).toMatchObject({
      state: "settled",
      settlement: { reason: "Both nameplates were looked at" },
    });
    expect(slug(await settle(flag?.number ?? 0).expect(409))).toBe("already-exists");
    expect(await lookThrough()).toBe(0);
    expect(await flagsOf(second)).toEqual([]);
    const entry = await storekeeper.agent.get(`/api/ledger/${settled.body.settlement.entryId}`).expect(200);
    expect(entry.body).toMatchObject({ action: "inventoryFlag.settle", subjectId: second });
  });

  it("finds an event before the purchase, and lets it go when the date is corrected", async () => {
    const id = await aMeter({ purchasedOn: "2026-03-01", receivedAt: "2026-02-27T15:00:00Z" });
    const fine = await aMeter({ purchasedOn: "2026-02-27", receivedAt: "2026-02-27T15:00:00Z" });
    await lookThrough();
    expect(await flagsOf(fine)).toEqual([]);
    const [flag] = await flagsOf(id);
    expect(flag?.sentence).toBe(
      '"Received" stands on 2026-02-27, and the meter was purchased on 2026-03-01.',
    );
    const meter = (await storekeeper.agent.get(`/api/meters/${id}`)).body as Meter;
    const correct = (purchasedOn: string, version: number) =>
      storekeeper.agent
        .put(`/api/meters/${id}`)
        .set("if-match", `"${version}"`)
        .send({
          ...{ utilityNumber: meter.utilityNumber, serial: meter.serial, owner: "utility", typeId },
          ...{ firmware: "", program: "", purchasedOn, reason: "The order's date was read wrong" },
        });
    await correct("2026-02-01", meter.version).expect(200);
    expect(await flagsOf(id)).toEqual([]);
    expect(await flagsOf(id, "gone")).toHaveLength(1);
    expect(slug(await settle(flag?.number ?? 0).expect(422))).toBe("refused-by-rule");
    // The same figures again are the same finding; others are another.
    await correct("2026-03-01", meter.version + 1).expect(200);
    expect((await flagsOf(id)).map(({ number }) => number)).toEqual([flag?.number]);
    await correct("2026-03-02", meter.version + 2).expect(200);
    expect((await flagsOf(id)).map(({ number }) => number)).not.toEqual([flag?.number]);
  });

  it("takes the shop's local day: a receipt late in the evening is of that day, not of the next in UTC", async () => {
    // 2026-03-01 02:00 in UTC is still 28 February in New York (UTC-5 in winter, 15 U.S.C. 260a).
    const id = await aMeter({ purchasedOn: "2026-03-01", receivedAt: "2026-03-01T02:00:00Z" });
    await lookThrough();
    expect((await flagsOf(id)).map(({ rule }) => rule)).toEqual(["event-before-purchase"]);
  });

  it("finds a test from before the meter came into the book", async () => {
    const { id } = await bench.aMeter(typeId);
    const test = bench.aTest(id, plan.id);
    await bench.technician.agent.post("/api/meter-tests").send(test).expect(201);
    // No request can record such a test; a load as the owner of the tables, or a take-back, may leave one.
    await shop.admin.query("ALTER TABLE meter_event DISABLE TRIGGER USER");
    await shop.admin.query(
      "UPDATE meter_event SET performed_at = performed_at + interval '3 days' WHERE meter_id = $1",
      [id],
    );
    await shop.admin.query("ALTER TABLE meter_event ENABLE TRIGGER USER");
    await lookThrough();
    expect((await flagsOf(id)).map(({ rule }) => rule)).toEqual(["test-before-receipt"]);
  });

  it("finds constants, elements, wires and phases that disagree with the form, and nothing where they agree", async () => {
    const of = async (id: string) =>
      (await flags()).filter(({ type }) => type?.id === id).map(({ sentence }) => sentence);
    const wrong = await bench.aType(plan, { kh: "7.2", elements: "2", wires: 3, phases: 1 });
    await lookThrough();
    expect(await of(typeId)).toEqual([]);
    const found = await of(wrong);
    expect(found).toHaveLength(4);
    expect(found).toEqual(
      expect.arrayContaining([
        "Form 9S has 4 wires; the type says 3.",
        "Form 9S is for polyphase service; the type says 1 phase.",
        expect.stringContaining("Form 9S has 3 elements; the nameplate says 2"),
        expect.stringContaining("7.2"),
      ]),
    );
    const [flag] = (await flags()).filter(({ type }) => type?.id === wrong);
    await settle(flag?.number ?? 0, "The nameplate says so").expect(201);
    expect(await lookThrough()).toBe(0);
    expect(await of(wrong)).toHaveLength(3);
  });
});

describe("settling", () => {
  it("is done once, by one of two people who settle at the same moment", async () => {
    const id = await aMeter({ purchasedOn: "2026-04-01", receivedAt: "2026-02-27T15:00:00Z" });
    await lookThrough();
    const number = (await flagsOf(id))[0]?.number ?? 0;
    const supervisor = await shop.signIn("supervisor");
    const replies = await Promise.all([settle(number), settle(number, "Seen with my own eyes", supervisor)]);
    expect(replies.map(({ status }) => status).sort()).toEqual([201, 409]);
  });

  it("is refused without a reason", async () => {
    const reply = await settle(1, "ok").expect(400);
    expect(reply.body.errors[0].pointer).toBe("/reason");
  });
});
