import { addMeters, moveMeters } from "@sealbook/api/modules/meters/meters";
import { adoptProfile } from "@sealbook/api/modules/profiles/profiles";
import { createServicePoint } from "@sealbook/api/modules/service-points/service-points";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { Amendment, MeterTest, NewMeterTest, TestPreparation } from "@sealbook/contract/meter-tests";
import { northCarolina } from "@sealbook/metrology/profiles/places/north-carolina";
import pg from "pg";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp, testPin } from "../support/app.ts";
import { daysFromNow, type MeterBench, meterBench, pass, registration } from "../support/meter-bench.ts";

let shop: TestApp;
let bench: MeterBench;
let plan: { id: string; code: string };
let typeId: string;

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  plan = await bench.aPlan();
  typeId = await bench.aType(plan);
});
afterAll(() => shop.close());

const reason = "The light load was read from the wrong line";

async function aRecordedTest(who: SignedIn = bench.technician, over: Partial<NewMeterTest> = {}) {
  const meter = await bench.aMeter(typeId);
  const test = bench.aTest(meter.id, plan.id, over);
  return (await who.agent.post("/api/meter-tests").send(test).expect(201)).body as MeterTest;
}

function anAmendmentOf(test: MeterTest, over: Partial<Amendment> = {}): Amendment {
  const { signature: _, ...entered } = bench.aTest(test.meterId, plan.id);
  const at = (percent: string) => registration(percent);
  return {
    ...entered,
    performedAt: test.performedAt,
    workItemIds: test.workItemIds,
    outcome: {
      kind: "tested",
      asFound: pass({ FL: at("100"), LL: at("99.5"), PF: at("100") }),
      asLeft: { kind: "same" },
    },
    amendmentReason: reason,
    signature: null,
    ...over,
  };
}

const amend = (id: string, amendment: Amendment, who: SignedIn = bench.technician) =>
  who.agent.post(`/api/meter-tests/${id}/amendments`).send(amendment);

const get = async (id: string) =>
  (await bench.technician.agent.get(`/api/meter-tests/${id}`).expect(200)).body as MeterTest;

describe("an amendment", () => {
  it("is a record of its own with a reason; the first stays readable", async () => {
    const first = await aRecordedTest();
    const amended = (await amend(first.id, anAmendmentOf(first)).expect(201)).body as MeterTest;
    expect(amended).toMatchObject({
      supersedesId: first.id,
      supersededById: null,
      amendmentReason: reason,
      lightLoadAsFound: "99.5",
    });
    expect(await get(first.id)).toEqual({ ...first, supersededById: amended.id });

    const entry = await bench.engineer.agent.get(`/api/ledger/${amended.entryId}`).expect(200);
    expect(entry.body).toMatchObject({ action: "meterTest.amend", reason });
    expect(JSON.parse(entry.body.payload)).toMatchObject({ supersedesId: first.id });
  });

  it("needs a reason", async () => {
    const first = await aRecordedTest();
    await amend(first.id, anAmendmentOf(first, { amendmentReason: "" })).expect(400);
  });

  it("of a record that was amended already is refused with the newer record", async () => {
    const first = await aRecordedTest();
    const second = (await amend(first.id, anAmendmentOf(first)).expect(201)).body as MeterTest;
    const late = await amend(first.id, anAmendmentOf(first)).expect(409);
    expect(late.body).toMatchObject({
      type: "/problems/already-amended",
      current: { id: second.id, lightLoadAsFound: "99.5" },
    });
    await amend(second.id, anAmendmentOf(first)).expect(201);
  });

  it("is for the tester and for those above, not for another technician", async () => {
    const first = await aRecordedTest();
    const other = await shop.signIn("technician");
    const refused = await amend(first.id, anAmendmentOf(first), other).expect(403);
    expect(refused.body.type).toBe("/problems/not-permitted");
    const supervisor = await shop.signIn("supervisor");
    const amended = (await amend(first.id, anAmendmentOf(first), supervisor).expect(201)).body;
    expect(amended).toMatchObject({ tester: { id: bench.technician.id }, recordedBy: { id: supervisor.id } });
  });

  it("made by a supervisor is signed by the tester alone", async () => {
    const first = await aRecordedTest();
    const supervisor = await shop.signIn("supervisor");
    const signed = anAmendmentOf(first, { signature: { pin: testPin } });
    const refused = await amend(first.id, signed, supervisor).expect(422);
    expect(refused.body.type).toBe("/problems/refused-by-rule");
    expect((await get(first.id)).supersededById).toBeNull();
    const own = (await amend(first.id, { ...signed, id: newId() }).expect(201)).body as MeterTest;
    expect(own.signatures).toMatchObject([{ person: { id: bench.technician.id } }]);
  });

  it("takes the place of its test in the tray and in the last result", async () => {
    const mine = await shop.signIn("technician");
    const first = await aRecordedTest(mine);
    const amended = (await amend(first.id, anAmendmentOf(first), mine).expect(201)).body as MeterTest;
    const tray = await mine.agent.get("/api/meter-tests").query({ unsignedByMe: "true" }).expect(200);
    expect(tray.body.rows.map(({ id }: { id: string }) => id)).toEqual([amended.id]);
    const refused = await mine.agent
      .post("/api/meter-tests/signatures")
      .set("idempotency-key", newId())
      .send({ testIds: [first.id], pin: testPin })
      .expect(422);
    expect(refused.body.errors).toMatchObject([{ pointer: "/testIds/0" }]);
    const prepared = await mine.agent.get(`/api/meters/${first.meterId}/test-preparation`).expect(200);
    expect(prepared.body.lastTest.id).toBe(amended.id);
  });

  it("keeps every rule that the first record kept", async () => {
    const first = await aRecordedTest();
    const refused = await amend(
      first.id,
      anAmendmentOf(first, { standardId: await bench.aStandard() }),
    ).expect(422);
    expect(refused.body.type).toBe("/problems/standard-overdue");
    await amend(newId(), anAmendmentOf(first)).expect(404);
  });
});

describe("an amendment of a test long past", () => {
  it("is judged by the rules and the calibration that the test was under, as its preparation says", async () => {
    const key = "zz-elsewhere";
    const pointId = newId();
    await inTransaction(shop.admin, null, async (tx) => {
      await adoptProfile(tx, { ...northCarolina, key });
      await createServicePoint(tx, {
        id: pointId,
        number: "SP-0417",
        address: "14 Heron Street",
        area: "Quillmoor East",
        jurisdiction: key,
      });
    });
    const standardId = await bench.aStandard();
    const older = await bench.aCalibration(standardId, {
      calibratedOn: daysFromNow(-300),
      dueOn: daysFromNow(60),
    });
    const newer = await bench.aCalibration(standardId, {
      calibratedOn: daysFromNow(-20),
      dueOn: daysFromNow(340),
    });
    const meterId = newId();
    const event = (kind: "set" | "remove", placeId: string, daysAgo: number) => ({
      id: newId(),
      meterId,
      kind,
      performedAt: new Date(Date.now() - daysAgo * 86_400_000),
      placeId,
      registerReading: null,
      reason: "",
    });
    await inTransaction(shop.admin, null, (tx) =>
      addMeters(tx, [
        {
          id: meterId,
          utilityNumber: "00417",
          serial: "M-00417",
          owner: "utility",
          typeId,
          maker: "Alderwick Instruments",
          firmware: "",
          program: "",
          purchasedOn: null,
          events: [event("set", pointId, 200)],
        },
      ]),
    );
    const test = bench.aTest(meterId, plan.id, {
      standardId,
      performedAt: new Date(Date.now() - 100 * 86_400_000).toISOString(),
    });
    const first = (await bench.technician.agent.post("/api/meter-tests").send(test).expect(201))
      .body as MeterTest;
    expect([first.profile.key, first.place, first.calibration?.id]).toEqual([
      key,
      "service point SP-0417",
      older,
    ]);
    await inTransaction(shop.admin, null, (tx) => moveMeters(tx, [event("remove", bench.placeId, 5)]));

    const prepare = async (query: object) =>
      (await bench.technician.agent.get(`/api/meters/${meterId}/test-preparation`).query(query).expect(200))
        .body as TestPreparation;
    const calibrationIn = ({ standards }: TestPreparation) =>
      standards.find(({ id }) => id === standardId)?.calibration?.id;
    const forNew = await prepare({});
    const forAmendment = await prepare({ amends: first.id });
    expect([forNew.profile.key, calibrationIn(forNew)]).toEqual(["us-nc", newer]);
    expect([forAmendment.profile.key, calibrationIn(forAmendment)]).toEqual([key, older]);

    const amendment = anAmendmentOf(first, { standardId });
    const amended = (await amend(first.id, amendment).expect(201)).body as MeterTest;
    expect([amended.profile.key, amended.place, amended.calibration?.id]).toEqual([
      key,
      "service point SP-0417",
      older,
    ]);

    const other = await bench.aMeter(typeId);
    await bench.technician.agent
      .get(`/api/meters/${other.id}/test-preparation`)
      .query({ amends: first.id })
      .expect(404);
  });
});

describe("withdrawing", () => {
  const withdrawn = {
    outcome: { kind: "withdrawn" },
    standardId: null,
    errorAppliedByBench: null,
    amendmentReason: "Entered under the wrong meter",
  } as const;

  it("is an amendment; the meter's last result is then the one before", async () => {
    const first = await aRecordedTest();
    const taken = (await amend(first.id, anAmendmentOf(first, withdrawn)).expect(201)).body as MeterTest;
    expect(taken).toMatchObject({ asFound: "withdrawn", averageAsFound: null, supersedesId: first.id });
    const prepared = await bench.technician.agent
      .get(`/api/meters/${first.meterId}/test-preparation`)
      .expect(200);
    expect(prepared.body.lastTest).toBeNull();
  });

  it("is signed as a withdrawal, at once or from the tray, and a test as a test", async () => {
    const mine = await shop.signIn("technician");
    const [atOnce, later] = [await aRecordedTest(mine), await aRecordedTest(mine)];
    const signed = anAmendmentOf(atOnce, { ...withdrawn, signature: { pin: testPin } });
    const first = (await amend(atOnce.id, signed, mine).expect(201)).body as MeterTest;
    const second = (await amend(later.id, anAmendmentOf(later, withdrawn), mine).expect(201))
      .body as MeterTest;
    const tested = await aRecordedTest(mine);
    await mine.agent
      .post("/api/meter-tests/signatures")
      .set("idempotency-key", newId())
      .send({ testIds: [second.id, tested.id], pin: testPin })
      .expect(200);
    const meaningOf = async (id: string) => (await get(id)).signatures.map(({ meaning }) => meaning);
    expect(await meaningOf(first.id)).toEqual(["withdrawn"]);
    expect(await meaningOf(second.id)).toEqual(["withdrawn"]);
    expect(await meaningOf(tested.id)).toEqual(["tested"]);
    const entries = await mine.agent
      .get("/api/ledger")
      .query({ subjectId: first.id, action: "meterTest.sign" })
      .expect(200);
    expect(JSON.parse(entries.body.rows[0].payload)).toMatchObject({ meaning: "withdrawn" });
  });

  it("opens the work again that the test had answered", async () => {
    const meter = await bench.aMeter(typeId);
    const work = newId();
    await bench.engineer.agent
      .post("/api/work-items")
      .send({ id: work, meterId: meter.id, reason: "periodic", dueOn: null, note: "" })
      .expect(201);
    const test = bench.aTest(meter.id, plan.id, { workItemIds: [work] });
    const first = (await bench.technician.agent.post("/api/meter-tests").send(test).expect(201))
      .body as MeterTest;
    const kept = (await amend(first.id, anAmendmentOf(first)).expect(201)).body as MeterTest;
    const doneBy = async () =>
      (await shop.admin.query("SELECT done_by_test_id FROM work_item WHERE id = $1", [work])).rows[0]
        .done_by_test_id;
    expect(await doneBy()).toBe(first.id);
    await amend(kept.id, anAmendmentOf(kept, withdrawn)).expect(201);
    expect(await doneBy()).toBeNull();
    const entries = await bench.engineer.agent.get("/api/ledger").query({ subjectId: work }).expect(200);
    expect(entries.body.rows[0]).toMatchObject({
      action: "workItem.open",
      reason: withdrawn.amendmentReason,
    });
  });

  it("is no way to record a test", async () => {
    const meter = await bench.aMeter(typeId);
    const test = { ...bench.aTest(meter.id, plan.id), outcome: { kind: "withdrawn" } };
    await bench.technician.agent.post("/api/meter-tests").send(test).expect(400);
  });
});

describe("two people amending the same test at once", () => {
  it("from two connections: one succeeds, the other is told, nothing is lost", async () => {
    for (let round = 0; round < 5; round++) {
      const first = await aRecordedTest();
      const supervisor = await shop.signIn("supervisor");
      const [one, other] = await Promise.all([
        amend(first.id, anAmendmentOf(first)),
        amend(first.id, anAmendmentOf(first), supervisor),
      ]);
      expect([one.status, other.status].sort()).toEqual([201, 409]);
      const [won, lost] = one.status === 201 ? [one, other] : [other, one];
      expect(lost.body).toMatchObject({ type: "/problems/already-amended", current: { id: won.body.id } });
      const { rows } = await shop.admin.query(
        "SELECT t.id, e.action FROM meter_test t JOIN ledger_entry e ON e.id = t.entry_id WHERE t.supersedes_id = $1",
        [first.id],
      );
      expect(rows).toEqual([{ id: won.body.id, action: "meterTest.amend" }]);
    }
  });

  it("waits for the other's transaction and learns of its record, also when the first look saw nothing", async () => {
    const first = await aRecordedTest();
    // The winner's row stands in a transaction of another connection that has not ended when the loser begins.
    const winner = new pg.Client({ connectionString: shop.database.appUrl });
    await winner.connect();
    try {
      const winnerId = newId();
      const entryId = newId();
      await winner.query("BEGIN");
      await winner.query("SELECT set_config('sealbook.actor', $1, true)", [bench.engineer.id]);
      await winner.query(
        `INSERT INTO ledger_entry (id, action, subject_type, subject_id, reason, payload)
         VALUES ($1, 'meterTest.amend', 'meterTest', $2, 'Wrong meter', '{}')`,
        [entryId, winnerId],
      );
      await winner.query(
        `INSERT INTO meter_test (id, meter_id, plan_id, profile_id, place_id, reasons, performed_at, tester_id, method,
           outcome, entry_body, evaluation, engine_version, verdict_as_found, supersedes_id, amendment_reason, entry_id)
         SELECT $1, meter_id, plan_id, profile_id, place_id, reasons, performed_at, tester_id, method, 'withdrawn',
           entry_body, evaluation, engine_version, 'withdrawn', id, 'Wrong meter', $2 FROM meter_test WHERE id = $3`,
        [winnerId, entryId, first.id],
      );
      const losing = amend(first.id, anAmendmentOf(first)).then((reply) => reply);
      await waitUntilSomebodyWaits(winner);
      await winner.query("COMMIT");
      const lost = await losing;
      expect(lost.status).toBe(409);
      expect(lost.body).toMatchObject({
        type: "/problems/already-amended",
        current: { id: winnerId, asFound: "withdrawn" },
      });
      const { rows } = await shop.admin.query("SELECT id FROM meter_test WHERE supersedes_id = $1", [
        first.id,
      ]);
      expect(rows).toEqual([{ id: winnerId }]);
    } finally {
      await winner.end();
    }
  });
});

async function waitUntilSomebodyWaits(client: pg.Client): Promise<void> {
  for (let tries = 0; tries < 200; tries++) {
    const { rows } = await client.query(
      "SELECT FROM pg_locks WHERE NOT granted AND pid <> pg_backend_pid() AND locktype = 'transactionid'",
    );
    if (rows.length > 0) return;
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
  throw new Error("nobody came to wait for the first transaction");
}
