import { calibrationFor } from "@sealbook/api/modules/standards/standards";
import { newId } from "@sealbook/api/platform/transaction";
import type { Standard } from "@sealbook/contract/standards";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { certifiedPoints, daysFromNow, type MeterBench, meterBench } from "../support/meter-bench.ts";

let shop: TestApp;
let bench: MeterBench;

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
});
afterAll(() => shop.close());

const aCertificate = (over: Record<string, unknown> = {}) => ({
  id: newId(),
  calibratedOn: daysFromNow(-30),
  dueOn: daysFromNow(335),
  certificateNumber: "TV-2041",
  laboratory: "Tarn Valley Calibration Laboratory",
  performedBy: "H. Osei",
  traceability: "SI through the national standard of electric energy",
  againstStandardId: null,
  signConvention: "registration",
  points: certifiedPoints,
  fileId: null,
  supersedesId: null,
  amendmentReason: null,
  ...over,
});

const record = (standardId: string, certificate: Record<string, unknown>) =>
  bench.engineer.agent.post(`/api/standards/${standardId}/calibrations`).send(certificate);

const standardNow = async (id: string) =>
  (await bench.engineer.agent.get(`/api/standards/${id}`).expect(200)).body;

describe("a standard's status", () => {
  it("goes from never calibrated to valid, due soon and overdue with its calibrations", async () => {
    const id = await bench.aStandard();
    expect(await standardNow(id)).toMatchObject({
      status: "never-calibrated",
      dueOn: null,
      calibrations: [],
    });

    await bench.aCalibration(id, { calibratedOn: daysFromNow(-800), dueOn: daysFromNow(-400) });
    expect(await standardNow(id)).toMatchObject({ status: "overdue", dueOn: daysFromNow(-400) });

    await bench.aCalibration(id, { calibratedOn: daysFromNow(-400), dueOn: daysFromNow(12) });
    expect(await standardNow(id)).toMatchObject({ status: "due-soon" });

    await bench.aCalibration(id, { calibratedOn: daysFromNow(-5), dueOn: daysFromNow(360) });
    const standard = await standardNow(id);
    expect(standard).toMatchObject({
      status: "valid",
      calibratedOn: daysFromNow(-5),
      dueOn: daysFromNow(360),
    });
    expect(
      standard.calibrations.map((calibration: { calibratedOn: string }) => calibration.calibratedOn),
    ).toEqual([daysFromNow(-5), daysFromNow(-400), daysFromNow(-800)]);
  });

  it("is that of the calibration which held on the day that is asked about", async () => {
    const id = await bench.aStandard();
    const older = await bench.aCalibration(id, { calibratedOn: "2024-02-01", dueOn: "2025-02-01" });
    const newer = await bench.aCalibration(id, { calibratedOn: "2025-03-01", dueOn: "2026-03-01" });
    const on = async (date: string) => {
      const client = await shop.admin.connect();
      try {
        return await calibrationFor(
          { query: async (sql, values) => (await client.query(sql, values)).rows },
          id,
          date,
        );
      } finally {
        client.release();
      }
    };
    expect((await on("2024-01-31"))?.calibration).toBeNull();
    expect((await on("2024-02-01"))?.calibration).toMatchObject({ id: older, overdue: false });
    expect((await on("2025-02-01"))?.calibration).toMatchObject({ id: older, overdue: false });
    expect((await on("2025-02-02"))?.calibration).toMatchObject({ id: older, overdue: true });
    expect((await on("2025-03-01"))?.calibration).toMatchObject({ id: newer, overdue: false });
  });

  it("lists the most urgent first and pages without loss", async () => {
    const overdue = await bench.aStandard();
    await bench.aCalibration(overdue, { calibratedOn: daysFromNow(-800), dueOn: daysFromNow(-430) });
    const never = await bench.aStandard();
    const all: Standard[] = [];
    let cursor: string | null = null;
    do {
      const reply: { body: { rows: Standard[]; next: string | null } } = await bench.technician.agent
        .get("/api/standards")
        .query({ limit: 2, ...(cursor === null ? {} : { cursor }) })
        .expect(200);
      all.push(...reply.body.rows);
      cursor = reply.body.next;
    } while (cursor !== null);
    const ids = all.map(({ id }) => id);
    expect(new Set(ids).size).toBe(ids.length);
    const place = (id: string) => ids.indexOf(id);
    expect(place(never)).toBeGreaterThanOrEqual(0);
    expect(place(never)).toBeLessThan(place(overdue));
    expect(place(overdue)).toBeLessThan(place(bench.standardId));
  });

  it("refuses a cursor that is not its own", async () => {
    const forged = Buffer.from(JSON.stringify(["maybe", "soon", "x"])).toString("base64url");
    await bench.technician.agent.get("/api/standards").query({ cursor: forged }).expect(400);
  });
});

describe("changing a standard", () => {
  it("asks for the version it was based on and tells the loser what the other saved", async () => {
    const id = await bench.aStandard();
    const { designation, maker, model, serial, rank, version } = await standardNow(id);
    const change = {
      designation,
      maker,
      model,
      serial,
      rank,
      place: "Van 3",
      withdrawn: false,
      reason: "Moved to the van",
    };
    const put = (body: object, match: number) =>
      bench.engineer.agent.put(`/api/standards/${id}`).set("if-match", `"${match}"`).send(body);
    const changed = await put(change, version).expect(200);
    expect(changed.body).toMatchObject({ place: "Van 3", version: version + 1 });
    const stale = await put({ ...change, place: "Van 9" }, version).expect(412);
    expect(stale.body).toMatchObject({ type: "/problems/stale", current: { place: "Van 3" } });
  });

  it("withdraws a standard for good use of the list", async () => {
    const id = await bench.aStandard();
    const { designation, maker, model, serial, rank, place, version } = await standardNow(id);
    await bench.engineer.agent
      .put(`/api/standards/${id}`)
      .set("if-match", `"${version}"`)
      .send({
        designation,
        maker,
        model,
        serial,
        rank,
        place,
        withdrawn: true,
        reason: "Failed its last calibration",
      })
      .expect(200);
    expect(await standardNow(id)).toMatchObject({ status: "withdrawn" });
  });

  it("keeps designations unique", async () => {
    const { designation } = await standardNow(bench.standardId);
    const refused = await bench.engineer.agent
      .post("/api/standards")
      .send({ id: newId(), designation, maker: "M", model: "M", serial: "1", rank: "working", place: "Shop" })
      .expect(409);
    expect(refused.body.type).toBe("/problems/already-exists");
  });
});

describe("a certificate", () => {
  const oneLoad = (printedPercent: string) => [{ ...certifiedPoints[1], printedPercent }];
  // By hand from the definitions: error e gives 100 + e, correction c gives 100 - c.
  it.each([
    ["registration", "100.0210", "100.0210"],
    ["error", "0.021", "100.021"],
    ["error", "-0.021", "99.979"],
    ["correction", "0.021", "99.979"],
    ["correction", "-0.021", "100.021"],
  ])("states its figures as %s: %s becomes %s", async (signConvention, printed, expected) => {
    const id = await bench.aStandard();
    const reply = await record(id, aCertificate({ signConvention, points: oneLoad(printed) })).expect(201);
    expect(reply.body).toMatchObject({
      signConvention,
      printedPoints: [{ printedPercent: printed }],
      points: [{ registrationPercent: expected, amperes: "2.5" }],
    });
  });

  it("is refused where the sign convention cannot be right", async () => {
    const id = await bench.aStandard();
    const refused = await record(id, aCertificate({ points: oneLoad("0.021") })).expect(422);
    expect(refused.body).toMatchObject({
      type: "/problems/refused-by-rule",
      errors: [{ pointer: "/points/0/printedPercent" }],
    });
    await record(id, aCertificate({ signConvention: "error", points: oneLoad("100.021") })).expect(422);
  });

  it("is refused with every place at once", async () => {
    const id = await bench.aStandard();
    const twice = [certifiedPoints[0], { ...certifiedPoints[0], amperes: "0.250" }];
    const refused = await record(
      id,
      aCertificate({
        calibratedOn: daysFromNow(3),
        dueOn: daysFromNow(3),
        fileId: newId(),
        againstStandardId: id,
        points: [...twice, { ...certifiedPoints[2], powerFactorSense: "unity" }],
      }),
    ).expect(422);
    expect(refused.body.errors.map(({ pointer }: { pointer: string }) => pointer)).toEqual([
      "/calibratedOn",
      "/dueOn",
      "/fileId",
      "/againstStandardId",
      "/points/1",
      "/points/2/powerFactorSense",
    ]);
  });

  it("is traced only to a standard that was in calibration itself", async () => {
    const working = await bench.aStandard({ rank: "working" });
    const stale = await bench.aStandard();
    await bench.aCalibration(stale, { calibratedOn: daysFromNow(-800), dueOn: daysFromNow(-400) });
    const refused = await record(working, aCertificate({ againstStandardId: stale })).expect(422);
    expect(refused.body.errors).toMatchObject([{ pointer: "/againstStandardId" }]);
    const reply = await record(working, aCertificate({ againstStandardId: bench.standardId })).expect(201);
    expect(reply.body.againstStandard).toMatchObject({ id: bench.standardId });
  });

  it("is corrected by a record of its own, once", async () => {
    const id = await bench.aStandard();
    const first = await bench.aCalibration(id, { calibratedOn: daysFromNow(-30), dueOn: daysFromNow(300) });
    const correction = () =>
      aCertificate({
        dueOn: daysFromNow(150),
        supersedesId: first,
        amendmentReason: "The due date was read from the wrong line",
      });
    await record(id, aCertificate({ supersedesId: first })).expect(422);
    const [one, other] = await Promise.all([record(id, correction()), record(id, correction())]);
    expect([one.status, other.status].sort()).toEqual([201, 409]);
    const [won, lost] = one.status === 201 ? [one, other] : [other, one];
    expect(lost.body).toMatchObject({ type: "/problems/already-amended", current: { id: won.body.id } });

    const standard = await standardNow(id);
    expect(standard).toMatchObject({ dueOn: daysFromNow(150) });
    expect(
      standard.calibrations.find((calibration: { id: string }) => calibration.id === first),
    ).toMatchObject({
      supersededById: won.body.id,
      dueOn: daysFromNow(300),
    });
  });

  it("stands in the ledger with its printed figures and what they mean", async () => {
    const id = await bench.aStandard();
    const reply = await record(
      id,
      aCertificate({ signConvention: "error", points: oneLoad("-0.021") }),
    ).expect(201);
    const entry = await bench.engineer.agent.get(`/api/ledger/${reply.body.entryId}`).expect(200);
    expect(entry.body).toMatchObject({ action: "calibration.record", subjectId: reply.body.id });
    expect(JSON.parse(entry.body.payload)).toMatchObject({
      standardId: id,
      signConvention: "error",
      points: [{ printedPercent: "-0.021" }],
      registrations: [{ registrationPercent: "99.979" }],
    });
  });
});
