import { newId } from "@sealbook/api/platform/transaction";
import type { MeterTest, NewMeterTest } from "@sealbook/contract/meter-tests";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import {
  counted,
  daysFromNow,
  type MeterBench,
  meterBench,
  pass,
  registration,
} from "../support/meter-bench.ts";

/** Bounds are common practice, no source. */

let shop: TestApp;
let bench: MeterBench;
let plan: { id: string; code: string };
let meterId: string;

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  plan = await bench.aPlan();
  // Five dials, multiplier 1: the register turns over at 100000 kWh.
  meterId = (await bench.aMeter(await bench.aType(plan))).id;
});
afterAll(() => shop.close());

const send = (over: Partial<NewMeterTest>) =>
  bench.technician.agent.post("/api/meter-tests").send(bench.aTest(meterId, plan.id, over));

const found = (fullLoad: ReturnType<typeof registration> | ReturnType<typeof counted>) => ({
  outcome: {
    kind: "tested" as const,
    asFound: pass({ FL: fullLoad, LL: registration("100"), PF: registration("100") }),
    asLeft: { kind: "same" as const },
  },
});

const temperature = (temperatureCelsius: string) => ({
  conditions: { volts: null, amperes: null, temperatureCelsius },
});

describe("a figure that is seldom true", () => {
  // Kh 1.8: 10 counts are 18 Wh; against 1.8 Wh of the standard that makes 1000 %.
  const cases: [string, Partial<NewMeterTest>, string][] = [
    [
      "registration below 50 %",
      found(registration("49.99")),
      "/outcome/asFound/points/0/runs/0/registrationPercent",
    ],
    [
      "registration above 150 %",
      found(registration("150.01")),
      "/outcome/asFound/points/0/runs/0/registrationPercent",
    ],
    [
      "counts against a tenth of the energy",
      found(counted("10", "1.8")),
      "/outcome/asFound/points/0/runs/0/standardEnergy",
    ],
    ["a reading below zero", { readingBefore: "-1" }, "/readingBefore"],
    ["a reading beyond the dials", { readingAfter: "100000" }, "/readingAfter"],
    ["frost that nobody tests in", temperature("-60.1"), "/conditions/temperatureCelsius"],
    ["heat that nobody tests in", temperature("80.1"), "/conditions/temperatureCelsius"],
  ];

  for (const [what, over, pointer] of cases) {
    it(`is asked about and taken once confirmed: ${what}`, async () => {
      const refused = await send(over).expect(422);
      expect(refused.body).toMatchObject({ type: "/problems/refused-by-rule", errors: [{ pointer }] });
      const taken = (await send({ ...over, confirmedUnusual: true }).expect(201)).body as MeterTest;
      expect(taken.confirmedUnusual).toBe(true);
    });
  }

  it("is not seen in figures on the bounds", async () => {
    for (const over of [
      found(registration("50")),
      found(registration("150")),
      { readingBefore: "0", readingAfter: "99999.9" },
      temperature("-60"),
      temperature("80"),
    ]) {
      const taken = (await send(over).expect(201)).body as MeterTest;
      expect(taken.confirmedUnusual).toBe(false);
    }
  });
});

describe("a meter that stands still at light load", () => {
  it("is recorded with 0 % there once that is confirmed, and fails by its average", async () => {
    // Kh 1.8, 0 counts against 18 Wh: R = 100 x 0 x 1.8 / (1 x 18) = 0. Method 1: (4 x 100 + 0) / 5 = 80.
    for (const stopped of [counted("0", "18"), registration("0")]) {
      const outcome = {
        kind: "tested" as const,
        asFound: pass({ FL: registration("100"), LL: stopped, PF: registration("100") }),
        asLeft: { kind: "same" as const },
      };
      const refused = await send({ outcome }).expect(422);
      expect(refused.body.errors).toMatchObject([{ detail: expect.stringContaining("registers 0 %") }]);
      const taken = (await send({ outcome, confirmedUnusual: true }).expect(201)).body as MeterTest;
      expect(taken).toMatchObject({ lightLoadAsFound: "0", averageAsFound: "80", asFound: "fail" });
    }
  });
});

describe("a meter added by hand", () => {
  it("was not bought in the future", async () => {
    const typeId = await bench.aType(plan);
    const add = (purchasedOn: string) => {
      const id = newId();
      return bench.engineer.agent.post("/api/meters").send({
        id,
        utilityNumber: id.slice(-9),
        serial: `S${id.slice(-9)}`,
        owner: "utility",
        typeId,
        firmware: "",
        program: "",
        purchasedOn,
        placeId: bench.placeId,
        registerReading: null,
      });
    };
    const refused = await add(daysFromNow(2)).expect(422);
    expect(refused.body.errors).toMatchObject([{ pointer: "/purchasedOn" }]);
    await add(daysFromNow(-2)).expect(201);
  });
});
