import { newId } from "@sealbook/api/platform/transaction";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp, testPassword } from "../support/app.ts";
import { type MeterBench, meterBench } from "../support/meter-bench.ts";

let shop: TestApp;
let bench: MeterBench;

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
});
afterAll(() => shop.close());

/** Tables in which a text stands, in whatever column. */
async function tablesWith(text: string): Promise<string[]> {
  const { rows: tables } = await shop.admin.query<{ name: string }>(
    "SELECT quote_ident(table_name) AS name FROM information_schema.tables WHERE table_schema = 'public' AND table_type = 'BASE TABLE' ORDER BY 1",
  );
  const found: string[] = [];
  for (const { name } of tables) {
    const { rows } = await shop.admin.query(
      `SELECT FROM ${name} AS t WHERE position($1 IN t::text) > 0 LIMIT 1`,
      [text],
    );
    if (rows.length > 0) found.push(name);
  }
  return found;
}

describe("a person who is forgotten", () => {
  it("stands in no row of the database afterwards, by name or sign-in name, and the ledger is as it was", async () => {
    const administrator = await shop.signIn("administrator");
    const id = newId();
    const name = "Isolde Wrenfield";
    const username = "isolde.wrenfield";
    const person = { id, username, name, role: "technician", password: testPassword };
    const made = (await administrator.agent.post("/api/people").send(person).expect(201)).body;
    expect(await tablesWith(name)).toEqual(["idempotent_request", "personal_value"]);
    const entriesBefore = await shop.admin.query("SELECT * FROM ledger_entry ORDER BY id");

    const change = { name, role: "technician", active: false, reason: "Left the shop" };
    await administrator.agent
      .put(`/api/people/${id}`)
      .set("If-Match", `"${made.version}"`)
      .send(change)
      .expect(200);
    await administrator.agent
      .post(`/api/people/${id}/forget`)
      .set("Idempotency-Key", newId())
      .send({ reason: "Asked to be forgotten" })
      .expect(200);

    expect(await tablesWith(name)).toEqual([]);
    expect(await tablesWith(username)).toEqual([]);
    const entriesAfter = await shop.admin.query("SELECT * FROM ledger_entry ORDER BY id");
    expect(entriesAfter.rows.slice(0, entriesBefore.rows.length)).toEqual(entriesBefore.rows);
  });
});

describe("who calibrated a standard", () => {
  it("is named where the name can be erased, and in the ledger by a commitment alone", async () => {
    const name = "Ottoline Farrow-Beck";
    const id = await bench.aStandard();
    await bench.aCalibration(id, { performedBy: name });
    const standard = (await bench.engineer.agent.get(`/api/standards/${id}`).expect(200)).body;
    expect(standard.calibrations).toMatchObject([{ performedBy: name }]);
    expect((await tablesWith(name)).filter((table) => table !== "idempotent_request")).toEqual([
      "personal_value",
    ]);
  });

  it("is forgotten by name, on every calibration that names them, and the ledger is as it was", async () => {
    const administrator = await shop.signIn("administrator");
    const name = "Ambrose Pell-Larkin";
    const standards = [await bench.aStandard(), await bench.aStandard()];
    for (const id of standards) await bench.aCalibration(id, { performedBy: name });
    const before = await shop.admin.query("SELECT * FROM ledger_entry ORDER BY id");
    const forget = (who: string) =>
      administrator.agent
        .post("/api/people/forget-calibrator")
        .send({ name: who, reason: "Asked the laboratory to be forgotten" });
    expect((await forget(name).expect(200)).body).toEqual({ calibrations: 2 });
    expect(await tablesWith(name)).toEqual([]);
    for (const id of standards) {
      const { body } = await bench.engineer.agent.get(`/api/standards/${id}`).expect(200);
      expect(body.calibrations).toMatchObject([{ performedBy: "erased" }]);
    }
    const after = await shop.admin.query("SELECT * FROM ledger_entry ORDER BY id");
    expect(after.rows.slice(0, before.rows.length)).toEqual(before.rows);
    const again = await forget(name).expect(404);
    expect(again.body.errors).toMatchObject([{ pointer: "/name" }]);
  });
});
