import type { SamplingScheme } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { decision, type SamplingBench, samplingBench, shipmentScheme } from "../support/sampling-bench.ts";

let shop: TestApp;
let bench: SamplingBench;

beforeAll(async () => {
  shop = await testApp();
  bench = await samplingBench(shop);
});
afterAll(async () => {
  await bench.close();
  await shop.close();
});

const limits = { minPercent: "98", maxPercent: "102", source: "Invented for a test" };
const apart: SamplingScheme = {
  ...shipmentScheme,
  characteristics: [
    { characteristic: "full-load", limits, aqlPercent: null },
    { characteristic: "light-load", limits, aqlPercent: "4" },
  ],
  untestable: { counts: "left-out", reason: "Invented for a test" },
};

describe("a series of lots whose characteristics are judged apart", () => {
  it("does not hold a lot against the characteristic that neither the plan nor a person has decided", {
    timeout: 120_000,
  }, async () => {
    // 60 at level II is letter E, n 13: Ac 0 at AQL 1.0, Ac 1 at AQL 4 (MIL-STD-105E Tables I and II-A). One too fast at
    // full load is not accepted there. Two meters without a test leave light load open: none or two nonconforming.
    const scheme = await bench.aScheme(apart);
    const typeId = await bench.aType();
    const next = async () => (await bench.aShipment(scheme, 60, { typeId, contract: "C-1" })).lot;
    for (let place = 0; place < 2; place += 1) {
      const lot = await next();
      const [dead, silent, fast, ...rest] = (await bench.drawn(lot.id)).filter(({ spare }) => !spare);
      if (dead === undefined || silent === undefined || fast === undefined) throw new Error("13 are drawn");
      await bench.deadMeter(dead, "new-shipment");
      await bench.deadMeter(silent, "new-shipment");
      await bench.test(fast, "103", "new-shipment");
      for (const unit of rest) await bench.test(unit, "100", "new-shipment");
      const { body } = await decision(bench.engineer, lot.id).expect(201);
      expect(body.decision.byPerson).toBe(false);
      expect(
        body.decision.evaluation.characteristics.map(({ outcome }: { outcome: string }) => outcome),
      ).toEqual(["not-accepted", "person-decides"]);
    }
    // MIL-STD-105E, 4.6.2 and 4.7.1: each class switches by itself, after two lots that were not accepted in it.
    const { plan } = await next();
    expect(plan?.characteristics.map(({ severity }) => severity)).toEqual(["tightened", "normal"]);
  });
});
