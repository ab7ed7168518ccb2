import { createServicePoint } from "@sealbook/api/modules/service-points/service-points";
import { writeEntry } from "@sealbook/api/platform/ledger";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { MeterTest, NewMeterTest } from "@sealbook/contract/meter-tests";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import {
  fullLoad,
  lightLoad,
  type MeterBench,
  meterBench,
  pass,
  powerFactor,
  registration,
} from "../support/meter-bench.ts";
import { readPdf } from "../support/read-pdf.ts";

type Pass = Extract<NewMeterTest["outcome"], { kind: "tested" }>["asFound"];

let shop: TestApp;
let bench: MeterBench;
let floridaPoint: string;
/** Asks for creep, starting load and demand in percent of full scale; full load has a house limit. */
let everything: { id: string; code: string };
/** Asks for demand in percent of reading. */
let electronic: { id: string; code: string };
let threePoints: { id: string; code: string };

const houseLimit = { minPercent: "99", maxPercent: "101", source: "House limit 7" };
const limited = { ...fullLoad, limits: { "in-service": houseLimit, "as-left": houseLimit } };

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  everything = await bench.aPlan({
    points: [limited],
    startingLoad: "asked",
    demand: { basis: "full-scale" },
  });
  electronic = await bench.aPlan({ points: [limited], demand: { basis: "reading" } });
  threePoints = await bench.aPlan({ points: [limited, lightLoad, powerFactor] });
  floridaPoint = newId();
  await inTransaction(shop.admin, null, (tx) =>
    createServicePoint(tx, {
      id: floridaPoint,
      number: `SP-${floridaPoint.slice(-8)}`,
      address: "14 Heron Street",
      area: "Quillmoor East",
      jurisdiction: "us-fl",
    }),
  );
});
afterAll(() => shop.close());

const atFullLoad = (more: Partial<Pass> = {}): Pass => ({
  ...pass({ FL: registration("100") }),
  startingLoad: "starts",
  demand: [{ indicatedKw: "51", referenceKw: "50", fullScaleKw: "100" }],
  ...more,
});

async function aTest(plan: { id: string; code: string }, asFound: Pass): Promise<NewMeterTest> {
  const meter = await bench.aMeter(await bench.aType(plan), floridaPoint);
  return bench.aTest(meter.id, plan.id, { outcome: { kind: "tested", asFound, asLeft: { kind: "same" } } });
}

const send = (test: NewMeterTest) => bench.technician.agent.post("/api/meter-tests").send(test);

async function recorded(plan: { id: string; code: string }, asFound: Pass): Promise<MeterTest> {
  return (await send(await aTest(plan, asFound)).expect(201)).body;
}

async function refusedPointers(plan: { id: string; code: string }, asFound: Pass, status: number) {
  const reply = await send(await aTest(plan, asFound)).expect(status);
  return reply.body.errors.map(({ pointer }: { pointer: string }) => pointer);
}

describe("a plan that asks for starting load and demand", () => {
  it("passes a meter that starts and whose demand is within 4 % of full scale, and keeps what was entered", async () => {
    const test = await recorded(everything, atFullLoad());
    // F.A.C. 25-6.052(3)(a). By hand: 100 x (51 - 50) / 100 = 1 % of full scale, 3 % inside the limit.
    expect(test).toMatchObject({
      asFound: "pass",
      asLeft: "pass",
      outcome: { asFound: { startingLoad: "starts", demand: [{ indicatedKw: "51", fullScaleKw: "100" }] } },
      evaluation: {
        engineVersion: "2",
        asFound: {
          startingLoad: { verdict: "pass" },
          demand: [
            {
              errorPercent: "1",
              marginPercent: "3",
              verdict: "pass",
              limits: { source: "F.A.C. 25-6.052(3)(a)" },
            },
          ],
        },
      },
    });
    const again = await bench.technician.agent.get(`/api/meter-tests/${test.id}`).expect(200);
    expect(again.body).toEqual(test);
  });

  it("judges on the limit and just beyond it", async () => {
    const demandOf = (indicatedKw: string) => [{ indicatedKw, referenceKw: "50", fullScaleKw: "100" }];
    expect((await recorded(everything, atFullLoad({ demand: demandOf("54") }))).asFound).toBe("pass");
    expect((await recorded(everything, atFullLoad({ demand: demandOf("54.01") }))).asFound).toBe("fail");
    // F.A.C. 25-6.052(3)(b): at most 2 % of reading.
    const ofReading = (indicatedKw: string) =>
      recorded(electronic, {
        ...pass({ FL: registration("100") }),
        demand: [{ indicatedKw, referenceKw: "50", fullScaleKw: null, loadPercent: "100" }],
      });
    expect((await ofReading("51")).asFound).toBe("pass");
    expect((await ofReading("51.01")).asFound).toBe("fail");
  });

  it("fails a meter that does not start", async () => {
    const test = await recorded(everything, atFullLoad({ startingLoad: "does-not-start" }));
    expect(test.asFound).toBe("fail");
    expect(test.evaluation.asFound?.reasons).toMatchObject([{ about: "starting-load" }]);
  });

  it("keeps a test without an answer or a reading as incomplete", async () => {
    const unanswered = await recorded(everything, pass({ FL: registration("100") }));
    expect(unanswered.asFound).toBe("incomplete");
    expect(unanswered.evaluation.asFound?.reasons.map(({ about }) => about)).toEqual([
      "starting-load",
      "demand",
    ]);
    const unchecked = await recorded(everything, atFullLoad({ startingLoad: "not-checked" }));
    expect(unchecked.asFound).toBe("incomplete");
  });

  it("refuses a reading that is no number above 0, at its field", async () => {
    const demand = [{ indicatedKw: "-1", referenceKw: "0", fullScaleKw: "100" }];
    expect(await refusedPointers(everything, atFullLoad({ demand }), 400)).toEqual([
      "/outcome/asFound/demand/0/indicatedKw",
      "/outcome/asFound/demand/0/referenceKw",
    ]);
  });

  it("prints both on the certificate with their limits and sources", async () => {
    const test = await recorded(
      everything,
      atFullLoad({
        demand: [
          { indicatedKw: "54.01", referenceKw: "50", fullScaleKw: "100" },
          { indicatedKw: "10", referenceKw: "10", fullScaleKw: "100" },
        ],
      }),
    );
    const pdf = await bench.technician.agent
      .get(`/api/meter-tests/${test.id}/certificate.pdf`)
      .buffer(true)
      .parse((response, done) => {
        const pieces: Buffer[] = [];
        response.on("data", (piece: Buffer) => pieces.push(piece));
        response.on("end", () => done(null, Buffer.concat(pieces)));
      })
      .expect(200);
    const packed = (text: string) => text.replace(/\s+/g, "");
    const text = packed(readPdf(pdf.body as Buffer).pages.join("\n"));
    // By hand: 100 x (54.01 - 50) / 100 = 4.01, and 0 at 10 % of full scale, where no limit holds.
    const shown = [
      "Starting load: The meter starts at its starting load (asked by the test plan).",
      "Error, % of full scale",
      "Reading 1 54.01 50 100 +4.010 ±4, from 25 % to 100 %",
      "Reading 2 10 10 100 0.000 ±4, from 25 % to 100 %",
      "F.A.C. 25-6.052(3)(a)",
      "E = 100 (P - P_ref) / P_full",
      "0.01 % beyond the upper limit",
    ];
    expect(shown.filter((piece) => !text.includes(packed(piece)))).toEqual([]);
  });
});

describe("a plan that does not ask", () => {
  it("refuses a finding at the starting load and demand readings, which nobody would judge", async () => {
    const points = pass({ FL: registration("100"), LL: registration("100"), PF: registration("100") });
    expect(await refusedPointers(threePoints, { ...points, startingLoad: "does-not-start" }, 422)).toEqual([
      "/outcome/asFound/startingLoad",
    ]);
    const demand = [{ indicatedKw: "90", referenceKw: "50", fullScaleKw: "100" }];
    expect(await refusedPointers(threePoints, { ...points, demand }, 422)).toEqual([
      "/outcome/asFound/demand",
    ]);
    expect((await recorded(threePoints, { ...points, startingLoad: "not-checked" })).asFound).toBe("pass");
  });

  it("is what a plan says whose body is on record without the two questions", async () => {
    const id = newId();
    const code = `OLD-${id.slice(-8).toUpperCase()}`;
    const newer = await bench.engineer.agent.get(`/api/test-plans/${threePoints.id}`).expect(200);
    const { startingLoad: _, demand: __, ...body } = newer.body.body;
    await inTransaction(shop.admin, null, async (tx) => {
      const entryId = await writeEntry(tx, {
        action: "testPlan.add",
        subjectType: "testPlan",
        subjectId: id,
        reason: "For a test",
        payload: { code, revision: 1, name: "Older", body },
      });
      await tx.query(
        "INSERT INTO test_plan (id, code, revision, name, body, entry_id) VALUES ($1, $2, 1, 'Older', $3, $4)",
        [id, code, JSON.stringify(body), entryId],
      );
    });
    const reply = await bench.engineer.agent.get(`/api/test-plans/${id}`).expect(200);
    expect(reply.body.body).toMatchObject({ startingLoad: "not-asked", demand: null });
  });
});
