import { setTimeout } from "node:timers/promises";
import { newId } from "@sealbook/api/platform/transaction";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { type MeterBench, meterBench } from "../support/meter-bench.ts";

let shop: TestApp;
let bench: MeterBench;

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
});
afterAll(() => shop.close());

async function entriesOf(query: Record<string, string>) {
  const reply = await bench.engineer.agent.get("/api/ledger").query(query).expect(200);
  return reply.body.rows as { id: string; at: string; subjectName: string | null; action: string }[];
}

/** An entry of the service's own at a given moment, by the clock that the tables' owner may set. */
async function entryAt(at: string, subjectId: string): Promise<string> {
  const id = newId();
  const client = await shop.admin.connect();
  try {
    await client.query("BEGIN");
    await client.query("SELECT set_config('sealbook.demo_clock', $1, true)", [at]);
    await client.query(
      "INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload) VALUES ($1, 'import.run', 'import', $2, '{}')",
      [id, subjectId],
    );
    await client.query("COMMIT");
  } finally {
    client.release();
  }
  // Ids of one millisecond have no order among themselves, and the list goes by id.
  await setTimeout(2);
  return id;
}

describe("the ledger's list", () => {
  it("keeps to local dates of the shop, both inclusive", async () => {
    // New York keeps UTC-5 until 2026-03-08 02:00 and UTC-4 after it (tz database, America/New_York): the local day
    // 2026-03-08 has 23 hours, from 05:00Z to 04:00Z of the next day.
    const subjectId = newId();
    const before = await entryAt("2026-03-08T04:59:59.999Z", subjectId);
    const first = await entryAt("2026-03-08T05:00:00.000Z", subjectId);
    const last = await entryAt("2026-03-09T03:59:59.999Z", subjectId);
    const after = await entryAt("2026-03-09T04:00:00.000Z", subjectId);
    const ids = async (query: Record<string, string>) =>
      (await entriesOf({ subjectId, ...query })).map(({ id }) => id);
    expect(await ids({ from: "2026-03-08", to: "2026-03-08" })).toEqual([last, first]);
    expect(await ids({ from: "2026-03-08" })).toEqual([after, last, first]);
    expect(await ids({ to: "2026-03-08" })).toEqual([last, first, before]);
    expect(await ids({})).toEqual([after, last, first, before]);
  });

  it("refuses what is no date", async () => {
    await bench.engineer.agent.get("/api/ledger").query({ from: "yesterday" }).expect(400);
  });

  it("says what people call the records, and nothing where there is no name", async () => {
    const plan = await bench.aPlan();
    const typeId = await bench.aType(plan);
    const meter = await bench.aMeter(typeId);
    const test = bench.aTest(meter.id, plan.id);
    await bench.technician.agent.post("/api/meter-tests").send(test).expect(201);
    const name = async (subjectId: string) => (await entriesOf({ subjectId }))[0]?.subjectName;
    expect(await name(meter.id)).toBe(meter.utilityNumber);
    expect(await name(test.id)).toBe(meter.utilityNumber);
    expect(await name(typeId)).toBe(`Alderwick Instruments AW-${typeId.slice(-6)}`);
    expect(await name(plan.id)).toBe(`${plan.code}, revision 1`);
    expect(await name(bench.technician.id)).toMatch(/^technician number/);
    const unknown = newId();
    await entryAt("2026-03-10T12:00:00.000Z", unknown);
    expect(await name(unknown)).toBeNull();
  });
});
