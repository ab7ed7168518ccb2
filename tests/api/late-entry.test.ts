import { addTestsOnRecord } from "@sealbook/api/modules/meter-tests/meter-tests";
import { addMeters, moveMeters } from "@sealbook/api/modules/meters/meters";
import { adoptProfile } from "@sealbook/api/modules/profiles/profiles";
import { createServicePoint } from "@sealbook/api/modules/service-points/service-points";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { Amendment, MeterTest, TestPreparation } from "@sealbook/contract/meter-tests";
import { northCarolina } from "@sealbook/metrology/profiles/places/north-carolina";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { daysFromNow, type MeterBench, meterBench, pass, registration } from "../support/meter-bench.ts";

/** Tests that come into the book after the meter, the standard or the rules have moved on. */

let shop: TestApp;
let bench: MeterBench;
let plan: { id: string; code: string };
let typeId: string;

const elsewhere = "zz-elsewhere";
const pointId = newId();

const daysAgo = (days: number) => new Date(Date.now() - days * 86_400_000);

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  plan = await bench.aPlan();
  typeId = await bench.aType(plan);
  await inTransaction(shop.admin, null, async (tx) => {
    await adoptProfile(tx, { ...northCarolina, key: elsewhere });
    await createServicePoint(tx, {
      id: pointId,
      number: "SP-0519",
      address: "3 Tollgate Row",
      area: "Quillmoor West",
      jurisdiction: elsewhere,
    });
  });
});
afterAll(() => shop.close());

/** In service elsewhere from 200 days ago until it came back to the bench room 5 days ago. */
async function aMeterThatMoved(): Promise<string> {
  const id = newId();
  const number = id.slice(-8);
  const event = (kind: "set" | "remove", placeId: string, days: number) => ({
    id: newId(),
    meterId: id,
    kind,
    performedAt: daysAgo(days),
    placeId,
    registerReading: null,
    reason: "",
  });
  await inTransaction(shop.admin, null, async (tx) => {
    await addMeters(tx, [
      {
        id,
        utilityNumber: number,
        serial: `M-${number}`,
        owner: "utility",
        typeId,
        maker: "Alderwick Instruments",
        firmware: "",
        program: "",
        purchasedOn: null,
        events: [event("set", pointId, 200)],
      },
    ]);
    await moveMeters(tx, [event("remove", bench.placeId, 5)]);
  });
  return id;
}

const testOf = (meterId: string, days: number) =>
  bench.aTest(meterId, plan.id, { performedAt: daysAgo(days).toISOString() });

const get = async (id: string) =>
  (await bench.technician.agent.get(`/api/meter-tests/${id}`).expect(200)).body as MeterTest;

describe("a test that is entered after its meter moved", () => {
  it("stands where the meter was on its date, by the rules of there", async () => {
    const meterId = await aMeterThatMoved();
    const test = testOf(meterId, 90);
    const late = (await bench.technician.agent.post("/api/meter-tests").send(test).expect(201))
      .body as MeterTest;
    expect([late.place, late.profile.key]).toEqual(["service point SP-0519", elsewhere]);
  });

  it("keeps its own place among many that are put in together", async () => {
    const [one, other] = [await aMeterThatMoved(), await aMeterThatMoved()];
    const tests = [testOf(one, 90), testOf(one, 1), testOf(other, 1), testOf(other, 90)];
    await inTransaction(shop.admin, { ...bench.technician, role: "technician" }, (tx) =>
      addTestsOnRecord(
        tx,
        tests.map((body) => ({ body, signed: false })),
      ),
    );
    const places = await Promise.all(tests.map(async ({ id }) => (await get(id)).profile.key));
    expect(places).toEqual([elsewhere, "us-nc", "us-nc", elsewhere]);
  });

  it("stands where the book first has the meter when its test began minutes before", async () => {
    const meter = await bench.aMeter(typeId);
    const minutesAgo = new Date(Date.now() - 60_000).toISOString();
    const test = bench.aTest(meter.id, plan.id, { performedAt: minutesAgo });
    const recorded = (await bench.technician.agent.post("/api/meter-tests").send(test)).body as MeterTest;
    expect(recorded.place).toMatch(/^Bench room/);
  });
});

describe("the preparation of a test of an earlier date", () => {
  const prepare = async (meterId: string, query: object) =>
    (await bench.technician.agent.get(`/api/meters/${meterId}/test-preparation`).query(query).expect(200))
      .body as TestPreparation;

  it("names the calibration, the status and the rules by which the service judges it", async () => {
    const meterId = await aMeterThatMoved();
    const standardId = await bench.aStandard();
    const older = await bench.aCalibration(standardId, {
      calibratedOn: daysFromNow(-300),
      dueOn: daysFromNow(-60),
    });
    const newer = await bench.aCalibration(standardId, {
      calibratedOn: daysFromNow(-20),
      dueOn: daysFromNow(340),
    });
    const standardIn = (prepared: TestPreparation) => {
      const standard = prepared.standards.find(({ id }) => id === standardId);
      return [prepared.profile.key, standard?.status, standard?.calibration?.id];
    };
    expect(standardIn(await prepare(meterId, {}))).toEqual(["us-nc", "valid", newer]);
    expect(standardIn(await prepare(meterId, { on: daysFromNow(-100) }))).toEqual([
      elsewhere,
      "valid",
      older,
    ]);
    expect(standardIn(await prepare(meterId, { on: daysFromNow(-40) }))).toEqual([
      elsewhere,
      "overdue",
      older,
    ]);
    expect(standardIn(await prepare(meterId, { on: daysFromNow(-301) }))).toEqual([
      elsewhere,
      "never-calibrated",
      undefined,
    ]);

    const test = bench.aTest(meterId, plan.id, { standardId, performedAt: daysAgo(100).toISOString() });
    const recorded = (await bench.technician.agent.post("/api/meter-tests").send(test).expect(201))
      .body as MeterTest;
    expect([recorded.profile.key, recorded.calibration?.id]).toEqual([elsewhere, older]);
  });

  it("offers a standard that was withdrawn since, as the service takes it", async () => {
    const meter = await bench.aMeter(typeId);
    const standardId = await bench.aStandard();
    await bench.aCalibration(standardId);
    const { body } = await bench.engineer.agent.get(`/api/standards/${standardId}`).expect(200);
    const { designation, maker, model, serial, rank, place } = body;
    await bench.engineer.agent
      .put(`/api/standards/${standardId}`)
      .set("if-match", `"${body.version}"`)
      .send({
        designation,
        maker,
        model,
        serial,
        rank,
        place,
        withdrawn: true,
        reason: "Dropped on the floor",
      })
      .expect(200);
    const statusIn = ({ standards }: TestPreparation) =>
      standards.find(({ id }) => id === standardId)?.status;
    expect(statusIn(await prepare(meter.id, {}))).toBe("withdrawn");
    expect(statusIn(await prepare(meter.id, { on: daysFromNow(-3) }))).toBe("valid");
  });
});

describe("an amendment after the rules have changed", () => {
  const key = "zz-changing";
  const changingPoint = newId();
  let first: MeterTest;

  beforeAll(async () => {
    await inTransaction(shop.admin, null, async (tx) => {
      await adoptProfile(tx, { ...northCarolina, key, version: "1" });
      await createServicePoint(tx, {
        id: changingPoint,
        number: "SP-0611",
        address: "8 Tollgate Row",
        area: "Quillmoor West",
        jurisdiction: key,
      });
    });
    const meter = await bench.aMeter(typeId, changingPoint);
    first = (
      await bench.technician.agent.post("/api/meter-tests").send(bench.aTest(meter.id, plan.id)).expect(201)
    ).body as MeterTest;
    await inTransaction(shop.admin, null, (tx) => adoptProfile(tx, { ...northCarolina, key, version: "2" }));
    const supervisor = await shop.signIn("supervisor");
    const { body: now } = await supervisor.agent.get("/api/shop").expect(200);
    await supervisor.agent
      .put("/api/shop")
      .set("if-match", `"${now.version}"`)
      .send({
        name: now.name,
        timeZone: now.timeZone,
        homeJurisdiction: now.homeJurisdiction,
        averageMethods: { [key]: "method-2" },
        reason: "Another way to average from now on",
      })
      .expect(200);
  });

  const anAmendment = (over: Partial<Amendment> = {}): Amendment => {
    const { signature: _, ...entered } = bench.aTest(first.meterId, plan.id);
    return {
      ...entered,
      performedAt: first.performedAt,
      outcome: {
        kind: "tested",
        asFound: pass({ FL: registration("101"), LL: registration("99.5"), PF: registration("100") }),
        asLeft: { kind: "same" },
      },
      amendmentReason: "Two points were read from the wrong line",
      signature: null,
      ...over,
    };
  };

  it("keeps the version of the profile and the averaging method of the first record", async () => {
    const prepared = (
      await bench.technician.agent
        .get(`/api/meters/${first.meterId}/test-preparation`)
        .query({ amends: first.id })
        .expect(200)
    ).body as TestPreparation;
    expect([prepared.profile.version, prepared.rules.average?.label]).toEqual([
      "1",
      "Method 1: (4 FL + LL) / 5",
    ]);
    const amended = (
      await bench.technician.agent
        .post(`/api/meter-tests/${first.id}/amendments`)
        .send(anAmendment())
        .expect(201)
    ).body as MeterTest;
    // 04 NCAC 11 R08-11(a)(1): (4 x 101 + 99.5) / 5 = 503.5 / 5 = 100.7; method 2 would give 100.25.
    expect([amended.profile.version, amended.averageAsFound]).toEqual(["1", "100.7"]);

    const fresh = (
      await bench.technician.agent.post("/api/meter-tests").send(bench.aTest(first.meterId, plan.id))
    ).body as MeterTest;
    expect([fresh.profile.version, fresh.evaluation.asFound?.average?.averageRule.label]).toEqual([
      "2",
      "Method 2: (FL + LL) / 2",
    ]);
    first = amended;
  });

  it("takes other rules when the meter was wrong and the right one stands elsewhere", async () => {
    const right = await bench.aMeter(typeId);
    const amended = (
      await bench.technician.agent
        .post(`/api/meter-tests/${first.id}/amendments`)
        .send(anAmendment({ meterId: right.id }))
        .expect(201)
    ).body as MeterTest;
    expect([amended.profile.key, amended.place]).toEqual(["us-nc", expect.stringMatching(/^Bench room/)]);
  });
});
