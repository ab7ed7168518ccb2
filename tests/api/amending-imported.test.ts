import { newId } from "@sealbook/api/platform/transaction";
import type { MeterTest } from "@sealbook/contract/meter-tests";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { type ImportBench, importBench } from "../support/import-bench.ts";
import { pass, registration } from "../support/meter-bench.ts";

let shop: TestApp;
let imports: ImportBench;

beforeAll(async () => {
  shop = await testApp();
  imports = await importBench(shop, { meters: 1 });
});
afterAll(() => shop.close());

describe("an amendment of an imported test", () => {
  it("is not asked for the creep test that the bench's file left out; a new test of the plan is", async () => {
    const { bench } = imports;
    const [meter] = imports.meters;
    const csv = [
      "Meter no,Date,Time,Operator,Purpose,Ref std,FL reg,LL reg,PF reg,Creep,Note",
      `${meter?.number},2026-03-02,09:15,${bench.technician.username},ROUTINE,${imports.standard},100.1,99.8,100,,`,
    ].join("\n");
    const jobs = await imports.startJobs();
    try {
      const { id } = await imports.add(csv);
      await imports.check(id, await imports.aMapping());
      await imports.until(id, ["checked"]);
      await imports.run(id);
      await imports.until(id, ["done"]);
    } finally {
      await jobs.stop();
    }
    const list = await bench.technician.agent
      .get("/api/meter-tests")
      .query({ meterId: meter?.id })
      .expect(200);
    const { body } = await bench.technician.agent.get(`/api/meter-tests/${list.body.rows[0].id}`).expect(200);
    const imported = body as MeterTest;
    expect(imported).toMatchObject({ method: "imported", outcome: { asFound: { creep: "not-checked" } } });

    const { signature: _, ...entered } = bench.aTest(imported.meterId, imported.plan.id, {
      performedAt: imported.performedAt,
      standardId: imported.standardInUse?.id ?? "",
      outcome: {
        kind: "tested",
        asFound: pass(
          { FL: registration("100.1"), LL: registration("98.9"), PF: registration("100") },
          "not-checked",
        ),
        asLeft: { kind: "same" },
      },
    });
    const amendment = {
      ...entered,
      amendmentReason: "The light load was 98.9 on the sheet",
      signature: null,
    };
    const amend = (of: string) =>
      bench.technician.agent.post(`/api/meter-tests/${of}/amendments`).send({ ...amendment, id: newId() });
    const amended = (await amend(imported.id).expect(201)).body as MeterTest;
    expect(amended).toMatchObject({ lightLoadAsFound: "98.9", supersedesId: imported.id });
    await amend(amended.id).expect(201);

    const fresh = await bench.technician.agent
      .post("/api/meter-tests")
      .send({ ...entered, id: newId(), signature: null })
      .expect(422);
    expect(fresh.body.errors).toMatchObject([{ pointer: "/outcome/asFound/creep" }]);
  });
});
