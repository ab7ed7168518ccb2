import { newId } from "@sealbook/api/platform/transaction";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp, testPassword, testPin } from "../support/app.ts";
import { type MeterBench, meterBench } from "../support/meter-bench.ts";

let shop: TestApp;
let bench: MeterBench;

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
});
afterAll(() => shop.close());

const sign = (who: SignedIn, standardId: string, id: string, password = testPassword) =>
  who.agent
    .post(`/api/standards/${standardId}/calibrations/${id}/signatures`)
    .set("idempotency-key", newId())
    .send({ password });

describe("the record of a calibration", () => {
  it("is signed with the password, as recorded by its recorder and as reviewed by another", async () => {
    const standardId = await bench.aStandard();
    const id = await bench.aCalibration(standardId);
    const signed = await sign(bench.engineer, standardId, id).expect(201);
    expect(signed.body.signatures).toMatchObject([
      {
        person: { id: bench.engineer.id },
        meaning: "recorded",
        recordHash: expect.stringMatching(/^[0-9a-f]{64}$/),
      },
    ]);
    const supervisor = await shop.signIn("supervisor");
    await sign(supervisor, standardId, id).expect(201);
    const shown = await bench.technician.agent.get(`/api/standards/${standardId}`).expect(200);
    expect(shown.body.calibrations[0].signatures.map(({ meaning }: { meaning: string }) => meaning)).toEqual([
      "recorded",
      "reviewed",
    ]);
    // The signature covers the entry of the record: its hash is the one that the ledger shows.
    const entry = await bench.engineer.agent
      .get(`/api/ledger/${shown.body.calibrations[0].entryId}`)
      .expect(200);
    expect(signed.body.signatures[0].recordHash).toBe(entry.body.hash);
    const again = await sign(bench.engineer, standardId, id).expect(409);
    expect(again.body.type).toBe("/problems/already-signed");
  });

  it("is not signed by a wrong password, nor by a role that keeps no standards, nor once it is corrected", async () => {
    const standardId = await bench.aStandard();
    const id = await bench.aCalibration(standardId);
    const refused = await sign(bench.engineer, standardId, id, "not the password").expect(401);
    expect(refused.body).toMatchObject({
      type: "/problems/sign-in-refused",
      errors: [{ pointer: "/password" }],
    });
    await sign(bench.technician, standardId, id).expect(403);
    await bench.aCalibration(standardId, { supersedesId: id, amendmentReason: "A figure was misread." });
    const corrected = await sign(bench.engineer, standardId, id).expect(409);
    expect(corrected.body.type).toBe("/problems/wrong-state");
    const shown = await bench.engineer.agent.get(`/api/standards/${standardId}`).expect(200);
    for (const calibration of shown.body.calibrations) expect(calibration.signatures).toEqual([]);
  });

  it("cannot carry a signature of a record that there is none of, whoever writes it", async () => {
    const client = await shop.admin.connect();
    try {
      await client.query(`BEGIN; SELECT set_config('sealbook.actor', '${bench.engineer.id}', true)`);
      const entryId = newId();
      await client.query(
        "INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload) VALUES ($1, 'calibration.sign', 'calibration', 'x', '{}')",
        [entryId],
      );
      await expect(
        client.query(
          "INSERT INTO signature (id, subject_type, subject_id, meaning, record_hash, entry_id) VALUES ($1, 'calibration', $2, 'recorded', repeat('0', 64), $3)",
          [newId(), newId(), entryId],
        ),
      ).rejects.toMatchObject({ code: "23503" });
      await client.query("ROLLBACK");
    } finally {
      client.release();
    }
  });
});

describe("wrong secrets", () => {
  it("make their owner wait from the fifth on, in the book with an entry, and the right one ends the count", async () => {
    const standardId = await bench.aStandard();
    const id = await bench.aCalibration(standardId);
    const supervisor = await shop.signIn("supervisor");
    for (let n = 1; n <= 5; n++) await sign(supervisor, standardId, id, "wrong password").expect(401);
    const waiting = await sign(supervisor, standardId, id).expect(429);
    expect(waiting.body.detail).toMatch(/^Too many wrong tries\. Wait \d seconds/);
    expect(Number(waiting.headers["retry-after"])).toBeGreaterThan(0);
    const entries = await shop.admin.query(
      "SELECT payload, actor_id FROM ledger_entry WHERE action = 'account.refuse' AND subject_id = $1",
      [supervisor.id],
    );
    expect(entries.rows).toEqual([{ payload: '{"triedAt":"signature","tries":5}', actor_id: supervisor.id }]);
    // The wait is over: the clock of the count is set back instead of waiting for it.
    await shop.admin.query("UPDATE failed_try SET free_at = clock_timestamp()");
    await sign(supervisor, standardId, id).expect(201);
    // The count begins anew: four more wrong ones make nobody wait.
    for (let n = 1; n <= 4; n++) await sign(supervisor, standardId, id, "wrong password").expect(401);
    await sign(supervisor, standardId, id).expect(409);
  });

  it("are counted one after the other when a crowd of them comes at once", async () => {
    const person = await shop.signIn("technician");
    const replies = await Promise.all(
      Array.from({ length: 12 }, () =>
        person.agent.put("/api/session/pin").send({ password: "wrong password", pin: testPin }),
      ),
    );
    const statuses = replies.map(({ status }) => status);
    expect(statuses.filter((status) => status === 401).length).toBeLessThanOrEqual(6);
    expect(statuses.filter((status) => status === 429).length).toBeGreaterThanOrEqual(6);
  });
});
