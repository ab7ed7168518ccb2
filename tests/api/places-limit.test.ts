import { createPlace } from "@sealbook/api/modules/places/places";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp, testPassword } from "../support/app.ts";
import { type MeterBench, meterBench } from "../support/meter-bench.ts";

let shop: TestApp;
let bench: MeterBench;
let administrator: SignedIn;
let typeId: string;
let planId: string;
/** Another shop with a store room in it, and a shelf in that. */
const [north, store, shelf] = [newId(), newId(), newId()];

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  administrator = await shop.signIn("administrator");
  const plan = await bench.aPlan();
  planId = plan.id;
  typeId = await bench.aType(plan);
  await inTransaction(shop.admin, null, async (tx) => {
    await createPlace(tx, { id: north, kind: "shop", name: "North shop" });
    await createPlace(tx, { id: store, kind: "store", name: "North store", parentId: north });
    await createPlace(tx, { id: shelf, kind: "shelf", name: "A4", parentId: store });
  });
});
afterAll(() => shop.close());

async function limit(person: SignedIn, placeIds: readonly string[], status = 200) {
  const { body } = await administrator.agent.get(`/api/people/${person.id}`).expect(200);
  return await administrator.agent
    .put(`/api/people/${person.id}`)
    .set("if-match", `"${body.version}"`)
    .send({ name: body.name, role: body.role, active: true, placeIds, reason: "Works at one shop" })
    .expect(status);
}

const record = (who: SignedIn, meterId: string) =>
  who.agent.post("/api/meter-tests").send(bench.aTest(meterId, planId));
const askForTest = (who: SignedIn, meterId: string) =>
  who.agent
    .post("/api/work-items")
    .send({ id: newId(), meterId, reason: "investigation", dueOn: null, note: "" });
const move = (who: SignedIn, meterId: string, placeId: string) =>
  who.agent.post(`/api/meters/${meterId}/events`).send({
    id: newId(),
    kind: "stock",
    placeId,
    performedAt: null,
    registerReading: null,
    readingNote: null,
    sealsOn: [],
    sealsOff: [],
    reason: "",
  });

describe("somebody limited to places", () => {
  it("records tests, work and moves there, in its store rooms and on their shelves, and nowhere else", async () => {
    const technician = await shop.signIn("technician");
    const [here, onShelf, elsewhere] = [
      await bench.aMeter(typeId, north),
      await bench.aMeter(typeId, shelf),
      await bench.aMeter(typeId),
    ];
    await record(technician, elsewhere.id).expect(201);
    await limit(technician, [north]);

    for (const meter of [here, onShelf]) {
      await record(technician, meter.id).expect(201);
      await askForTest(technician, meter.id).expect(201);
    }
    for (const ask of [record, askForTest]) {
      const refused = await ask(technician, elsewhere.id).expect(403);
      expect(refused.body.type).toBe("/problems/not-permitted");
      expect(refused.body.detail).toMatch(
        new RegExp(
          `^Your account is limited to North shop, and meter ${elsewhere.utilityNumber} is at Bench room`,
        ),
      );
    }
    const tests = await shop.admin.query("SELECT FROM meter_test WHERE meter_id = $1", [elsewhere.id]);
    expect(tests.rowCount).toBe(1);

    await move(technician, here.id, store).expect(201);
    const away = await move(technician, elsewhere.id, bench.placeId).expect(403);
    expect(away.body.detail).toContain("limited to North shop");
    // What comes to them they may take in.
    await move(technician, elsewhere.id, store).expect(201);
    await record(technician, elsewhere.id).expect(201);
  });

  it("runs no import, whose rows may be about meters anywhere", async () => {
    const engineer = await shop.signIn("quality-engineer");
    await limit(engineer, [north]);
    const file = await engineer.agent
      .post("/api/files")
      .query({ id: newId() })
      .attach("file", Buffer.from("a,b\n1,2\n"), "list.csv")
      .expect(201);
    const id = newId();
    await engineer.agent
      .post("/api/imports")
      .send({ id, fileId: file.body.id, kind: "meter-tests" })
      .expect(201);
    const refused = await engineer.agent.post(`/api/imports/${id}/run`).expect(403);
    expect(refused.body.detail).toContain("an import may reach meters anywhere");
  });

  it("is held to them from the next request on, and free again once the limit is lifted", async () => {
    const technician = await shop.signIn("technician");
    const elsewhere = await bench.aMeter(typeId);
    const { body } = await limit(technician, [shelf]);
    expect(body.places).toEqual([{ id: shelf, kind: "shelf", name: "A4" }]);
    await record(technician, elsewhere.id).expect(403);
    const session = await technician.agent.get("/api/session").expect(200);
    expect(session.body.account.places).toHaveLength(1);
    await limit(technician, []);
    await record(technician, elsewhere.id).expect(201);
    const entries = await administrator.agent
      .get("/api/ledger")
      .query({ subjectId: technician.id, action: "account.change" })
      .expect(200);
    expect(
      entries.body.rows.map(({ payload }: { payload: string }) => JSON.parse(payload).after.places),
    ).toEqual([[], [shelf]]);
  });

  it("is limited to no place that is none of the shop's", async () => {
    const technician = await shop.signIn("technician");
    const refused = await limit(technician, [newId()], 422);
    expect(refused.body.errors).toMatchObject([{ pointer: "/placeIds" }]);
  });

  it("is held to them through an API token, too", async () => {
    const technician = await shop.signIn("technician");
    const elsewhere = await bench.aMeter(typeId);
    await limit(technician, [north]);
    const { body } = await technician.agent
      .post("/api/tokens")
      .send({ id: newId(), name: "Bench 3", scopes: ["record-tests"], days: 30, ownPassword: testPassword })
      .expect(201);
    const refused = await shop
      .stranger()
      .post("/api/meter-tests")
      .set("authorization", `Bearer ${body.secret}`)
      .send(bench.aTest(elsewhere.id, planId))
      .expect(403);
    expect(refused.body.detail).toContain("limited to North shop");
  });
});
