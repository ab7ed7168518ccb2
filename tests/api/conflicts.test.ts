import { inTransactionAgain, newId } from "@sealbook/api/platform/transaction";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp, testPassword } from "../support/app.ts";
import { type SamplingBench, samplingBench, shipmentScheme } from "../support/sampling-bench.ts";

/** What would break in the shop: the afternoon on which everybody works on the one lot that must go out. */
let shop: TestApp;
let bench: SamplingBench;

beforeAll(async () => {
  shop = await testApp({ DATABASE_POOL: "16" });
  bench = await samplingBench(shop);
});
afterAll(async () => {
  await bench.close();
  await shop.close();
});

describe("two transactions that stand in each other's way", () => {
  it("are both done: the one that the database gives up is done again", async () => {
    const rows = await bench.received(await bench.aType(), 2);
    const [one, other] = rows;
    let attempts = 0;
    const bothHaveOne = meeting(2);
    const lock = (first: string | undefined, second: string | undefined) =>
      inTransactionAgain(shop.admin, null, async (tx) => {
        attempts += 1;
        await tx.query("SELECT FROM meter WHERE utility_number = $1 FOR UPDATE", [first]);
        await bothHaveOne();
        await tx.query("SELECT FROM meter WHERE utility_number = $1 FOR UPDATE", [second]);
        return "done";
      });
    expect(await Promise.all([lock(one, other), lock(other, one)])).toEqual(["done", "done"]);
    // Each holds a row that the other waits for: PostgreSQL gives one of them up (deadlock_detected, 40P01).
    expect(attempts).toBe(3);
  });

  it("are given up after five attempts, with the database's own error", async () => {
    let attempts = 0;
    const always = inTransactionAgain(shop.admin, null, async (tx) => {
      attempts += 1;
      await tx.query(
        "DO $$ BEGIN RAISE EXCEPTION 'in the way' USING ERRCODE = 'serialization_failure'; END $$",
      );
    });
    await expect(always).rejects.toMatchObject({ code: "40001" });
    expect(attempts).toBe(5);
  });
});

describe("100 clients on one lot", () => {
  it("get an answer each, none of them a failure, and the lot is decided and approved once", async () => {
    const scheme = await bench.aScheme(shipmentScheme);
    const { lot } = await bench.aShipment(scheme, 30);
    const units = await bench.drawn(lot.id);
    await shop.app.listen({ host: "127.0.0.1", port: 0 });
    const statuses = new Map<string, number>();
    const count = (what: string, status: number) => {
      const key = `${what} ${status}`;
      statuses.set(key, (statuses.get(key) ?? 0) + 1);
    };
    const { technician, engineer, approver, meters, planId } = bench;
    await Promise.all([
      // Every unit is tested by several at once, each test a record of its own.
      ...Array.from({ length: 60 }, async (_, at) => {
        const { meterId, workItemId } = units[at % units.length] ?? { meterId: "", workItemId: null };
        const body = meters.aTest(meterId, planId, {
          reasons: ["new-shipment"],
          workItemIds: workItemId === null ? [] : [workItemId],
        });
        count("test", (await technician.agent.post("/api/meter-tests").send(body)).status);
      }),
      ...Array.from({ length: 20 }, async () => {
        const json = { id: newId(), outcome: null, reason: "", steady: true, reducedApproved: false };
        count("decision", (await engineer.agent.post(`/api/lots/${lot.id}/decision`).send(json)).status);
      }),
      ...Array.from({ length: 20 }, async () => {
        const json = { id: newId(), password: testPassword, note: "" };
        count("approval", (await approver.agent.post(`/api/lots/${lot.id}/approval`).send(json)).status);
      }),
    ]);
    const failures = [...statuses.keys()].filter((key) => Number(key.split(" ")[1]) >= 500);
    expect(failures, JSON.stringify(Object.fromEntries(statuses))).toEqual([]);
    // Whatever the crowd left undone is done now; nothing of it is there twice.
    await engineer.agent
      .post(`/api/lots/${lot.id}/decision`)
      .send({ id: newId(), outcome: null, reason: "", steady: true, reducedApproved: false });
    await approver.agent
      .post(`/api/lots/${lot.id}/approval`)
      .send({ id: newId(), password: testPassword, note: "" });
    const { rows } = await shop.admin.query(
      `SELECT (SELECT count(*)::int FROM decision WHERE lot_id = $1) AS decisions,
         (SELECT count(*)::int FROM approval a JOIN decision d ON d.id = a.decision_id WHERE d.lot_id = $1) AS approvals`,
      [lot.id],
    );
    expect(rows).toEqual([{ decisions: 1, approvals: 1 }]);
  }, 120_000);
});

/** A place where so many wait for each other, once. */
function meeting(wanted: number): () => Promise<void> {
  let there = 0;
  let open: () => void = () => undefined;
  const all = new Promise<void>((resolve) => {
    open = resolve;
  });
  return async () => {
    there += 1;
    if (there >= wanted) open();
    await all;
  };
}
