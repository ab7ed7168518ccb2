import { adoptProfile } from "@sealbook/api/modules/profiles/profiles";
import { createServicePoint } from "@sealbook/api/modules/service-points/service-points";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { MeterTest, NewMeterTest } from "@sealbook/contract/meter-tests";
import { northCarolina } from "@sealbook/metrology/profiles/places/north-carolina";
import type { RuleProfile } from "@sealbook/metrology/profiles/profile-schema";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp, testPin } from "../support/app.ts";
import {
  counted,
  daysFromNow,
  fullLoad,
  lightLoad,
  type MeterBench,
  meterBench,
  pass,
  powerFactor,
  registration,
} from "../support/meter-bench.ts";

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

const send = (test: NewMeterTest, who: SignedIn = bench.technician) =>
  who.agent.post("/api/meter-tests").send(test);

async function record(over: Partial<NewMeterTest> = {}, planId = plan.id, ofType = typeId) {
  const meter = await bench.aMeter(ofType);
  const reply = await send(bench.aTest(meter.id, planId, over)).expect(201);
  return reply.body as MeterTest;
}

const tested = (asFound: Extract<NewMeterTest["outcome"], { kind: "tested" }>["asFound"]) =>
  ({ outcome: { kind: "tested", asFound, asLeft: { kind: "same" } } }) as const;

const allAt = (percent: string) =>
  tested(pass({ FL: registration(percent), LL: registration(percent), PF: registration(percent) }));

/** Refusals as pairs of slug and pointers. */
async function refusal(test: NewMeterTest, status = 422) {
  const reply = await send(test).expect(status);
  return {
    slug: String(reply.body.type).replace("/problems/", ""),
    pointers: (reply.body.errors ?? []).map(({ pointer }: { pointer: string }) => pointer),
    details: (reply.body.errors ?? []).map(({ detail }: { detail: string }) => detail),
  };
}

/** A meter at a service point where another profile holds. */
async function aMeterUnder(profile: RuleProfile) {
  await inTransaction(shop.admin, null, (tx) => adoptProfile(tx, profile));
  const pointId = newId();
  await inTransaction(shop.admin, null, (tx) =>
    createServicePoint(tx, {
      id: pointId,
      number: `SP-${pointId.slice(-8)}`,
      address: "14 Heron Street",
      area: "Quillmoor East",
      jurisdiction: profile.key,
    }),
  );
  return await bench.aMeter(typeId, pointId);
}

const withAverage = (key: string, method: string): RuleProfile => ({
  ...northCarolina,
  key,
  averages: northCarolina.averages.filter((average) => average.key === method),
});

describe("a test from counts and energies", () => {
  it("is judged, kept and given back as it was entered", async () => {
    const meter = await bench.aMeter(typeId);
    const test = bench.aTest(meter.id, plan.id, {
      ...tested(pass({ FL: counted("10", "6.012"), LL: counted("1", "0.6"), PF: counted("10", "5.994") })),
      readingBefore: "004711.50",
      readingAfter: "4711.6",
      sealsRemoved: ["K-0017"],
      sealsApplied: ["K-0101", "K-0102"],
      remarks: "Cover scratched.\nDisplay in order.",
    });
    const recorded = (await send(test).expect(201)).body as MeterTest;

    // Three elements in series see the standard's energy three times (m = 3), Kh 1.8:
    // FL 100 x 10 x 1.8 / (3 x 6.012) = 99.80039920159680..., LL 100 x 1 x 1.8 / (3 x 0.6) = 100,
    // PF 100 x 10 x 1.8 / (3 x 5.994) = 100.1001001001001...;
    // method 1 (04 NCAC 11 R08-11): (4 x 99.80039920159680... + 100) / 5 = 99.84031936127744...
    expect(recorded).toMatchObject({
      fullLoadAsFound: "99.8003992016",
      lightLoadAsFound: "100",
      powerFactorAsFound: "100.1001001",
      averageAsFound: "99.8403193613",
      averageAsLeft: "99.8403193613",
      asFound: "pass",
      asLeft: "pass",
      method: "entered",
      signed: false,
      readingBefore: "004711.50",
      readingAfter: "4711.6",
      sealsRemoved: ["K-0017"],
      sealsApplied: ["K-0101", "K-0102"],
      remarks: "Cover scratched.\nDisplay in order.",
      outcome: test.outcome,
      tester: { id: bench.technician.id },
      recordedBy: { id: bench.technician.id },
      meter: { utilityNumber: meter.utilityNumber, serial: meter.serial, form: "9S", kh: "1.8" },
      plan: { id: plan.id, revision: 1 },
      profile: { key: "us-nc", version: "2" },
      standardInUse: { id: bench.standardId, maker: "Corrigan & Vale" },
      calibration: { id: bench.calibrationId },
      evaluation: { engineVersion: "2" },
    });
    expect(recorded.evaluation.asFound?.average).toMatchObject({
      verdict: "pass",
      limits: { minPercent: "98", maxPercent: "102" },
    });
    const again = await bench.engineer.agent.get(`/api/meter-tests/${test.id}`).expect(200);
    expect(again.body).toEqual(recorded);

    const entry = await bench.engineer.agent.get(`/api/ledger/${recorded.entryId}`).expect(200);
    expect(entry.body).toMatchObject({
      action: "meterTest.record",
      subjectId: test.id,
      actor: { id: bench.technician.id },
      hash: recorded.entryHash,
    });
    expect(JSON.parse(entry.body.payload)).toMatchObject({
      planCode: plan.code,
      planRevision: 1,
      profileKey: "us-nc",
      profileVersion: "2",
      calibrationId: bench.calibrationId,
      engineVersion: "2",
      verdictAsFound: "pass",
      averageAsFound: "99.8403193613",
      entered: {
        readingBefore: "004711.50",
        outcome: {
          asFound: {
            points: [{ pointKey: "FL", runs: [{ counts: "10", standardEnergy: "6.012" }] }, {}, {}],
          },
        },
      },
    });
  });

  it("knows that a 2 1/2-element meter in series sees the standard's energy four times", async () => {
    const series = await bench.aType(plan, { form: "6S", elements: "2.5", kh: "1.8" });
    // 100 x 10 x 1.8 / (4 x 4.5) = 100 and 100 x 1 x 1.8 / (4 x 0.4515) = 99.66777408637873...
    const recorded = await record(
      tested(pass({ FL: counted("10", "4.5"), LL: counted("1", "0.4515"), PF: counted("10", "4.5") })),
      plan.id,
      series,
    );
    expect(recorded).toMatchObject({
      fullLoadAsFound: "100",
      lightLoadAsFound: "99.6677740864",
      powerFactorAsFound: "100",
    });
  });

  it("judges the mean of two runs and shows their spread", async () => {
    const twoRuns = await bench.aPlan({ points: [{ ...fullLoad, runs: 2 }, lightLoad] });
    const recorded = await record(
      tested({
        points: [
          { pointKey: "FL", runs: [registration("99.9"), registration("100.3")] },
          { pointKey: "LL", runs: [registration("100")] },
        ],
        creep: "none",
      }),
      twoRuns.id,
    );
    // Mean of 99.9 and 100.3 is 100.1, their range 0.4, their sample standard deviation 0.4 / sqrt 2 = 0.28284271...
    expect(recorded.fullLoadAsFound).toBe("100.1");
    const point = recorded.evaluation.asFound?.points[0];
    expect(point).toMatchObject({ runsAsked: 2, meanPercent: "100.1", rangePercent: "0.4" });
    expect(point?.sampleStandardDeviationPercent).toMatch(/^0\.28284271/);
  });

  it("takes revolutions of a rotating standard", async () => {
    // W = r Ks = 10.02 x 0.6 = 6.012, so FL is the 99.80039920159680... of above.
    const recorded = await record(
      tested({
        points: [
          {
            pointKey: "FL",
            runs: [
              { kind: "revolutions", counts: "10", standardRevolutions: "10.02", standardConstant: "0.6" },
            ],
          },
          { pointKey: "LL", runs: [registration("100")] },
          { pointKey: "PF", runs: [registration("100")] },
        ],
        creep: "none",
      }),
    );
    expect(recorded.fullLoadAsFound).toBe("99.8003992016");
  });
});

describe("the average", () => {
  // FL 100.2, LL 99.4, PF 100.8. 04 NCAC 11 R08-11: method 1 (4 x 100.2 + 99.4) / 5 = 100.04; method 2
  // (100.2 + 99.4) / 2 = 99.8; method 3 one load, 100.2; method 4 (400.8 + 198.8 + 100.8) / 7 = 100.057142857142...
  it.each([
    ["method-1", "100.04"],
    ["method-2", "99.8"],
    ["method-3", "100.2"],
    ["method-4", "100.057142857"],
  ])("by %s is %s", async (method, average) => {
    const meter = await aMeterUnder(withAverage(`zz-${method}`, method));
    const test = bench.aTest(
      meter.id,
      plan.id,
      tested(pass({ FL: registration("100.2"), LL: registration("99.4"), PF: registration("100.8") })),
    );
    const recorded = (await send(test).expect(201)).body as MeterTest;
    expect(recorded.averageAsFound).toBe(average);
    expect(recorded.profile.key).toBe(`zz-${method}`);
  });

  it("of exactly 102 passes: what was typed is judged as exact decimals", async () => {
    const meter = await aMeterUnder(withAverage("zz-exact", "method-4"));
    // (4 x 101.53 + 2 x 102.40 + 103.08) / 7 = 714 / 7 = 102; binary doubles say 102.00000000000001.
    const at = (pf: string) =>
      tested(pass({ FL: registration("101.53"), LL: registration("102.40"), PF: registration(pf) }));
    const exact = (await send(bench.aTest(meter.id, plan.id, at("103.08"))).expect(201)).body as MeterTest;
    expect(exact).toMatchObject({ averageAsFound: "102", asFound: "pass" });
    expect(exact.evaluation.asFound?.average).toMatchObject({ verdict: "pass", marginPercent: "0" });
    const beyond = (await send(bench.aTest(meter.id, plan.id, at("103.0800001"))).expect(201)).body;
    expect(beyond.asFound).toBe("fail");
  });

  // 04 NCAC 11 R08-13(a): under 98 or over 102 fails, so both limits are inclusive.
  it.each([
    ["98", "pass"],
    ["102", "pass"],
    ["97.999999", "fail"],
    ["102.000001", "fail"],
  ])("of %s is a %s", async (percent, verdict) => {
    expect(await record(allAt(percent))).toMatchObject({ averageAsFound: percent, asFound: verdict });
  });

  it("does not save a meter that creeps", async () => {
    const hundred = registration("100");
    const recorded = await record(tested(pass({ FL: hundred, LL: hundred, PF: hundred }, "creeps")));
    expect(recorded).toMatchObject({ averageAsFound: "100", asFound: "fail" });
  });
});

describe("an adjusted meter", () => {
  it("fails as found and passes as left", async () => {
    const good = registration("100.1");
    const recorded = await record({
      outcome: {
        kind: "tested",
        asFound: allAt("103").outcome.asFound,
        asLeft: {
          kind: "entered",
          pass: pass({ FL: good, LL: good, PF: good }),
          adjustment: "Full-load adjuster turned",
        },
      },
    });
    expect(recorded).toMatchObject({
      asFound: "fail",
      asLeft: "pass",
      averageAsFound: "103",
      averageAsLeft: "100.1",
    });
  });

  it("may be left untested, with the reason", async () => {
    const recorded = await record({
      outcome: {
        kind: "tested",
        asFound: allAt("103").outcome.asFound,
        asLeft: { kind: "not-tested", why: "Goes back to the maker as it is" },
      },
    });
    expect(recorded).toMatchObject({ asFound: "fail", asLeft: null, averageAsLeft: null });
  });
});

describe("no test possible", () => {
  it("is a result of its own, without a standard", async () => {
    const recorded = await record({
      outcome: { kind: "no-test-possible", reason: "not-registering", note: "Disk stands still under load" },
      standardId: null,
      errorAppliedByBench: null,
    });
    expect(recorded).toMatchObject({
      asFound: "no-test-possible",
      asLeft: null,
      averageAsFound: null,
      standardInUse: null,
      calibration: null,
      evaluation: { asFound: null, asLeft: null },
    });
  });

  it("names no standard", async () => {
    const meter = await bench.aMeter(typeId);
    const test = bench.aTest(meter.id, plan.id, {
      outcome: { kind: "no-test-possible", reason: "dead", note: "" },
    });
    expect((await refusal(test)).pointers).toEqual(["/standardId", "/errorAppliedByBench"]);
  });
});

describe("the standard's own error", () => {
  it("is applied where the bench did not, and named", async () => {
    const recorded = await record({ ...allAt("100"), errorAppliedByBench: false });
    // Certified 100.02 at 2.5 A, 100.04 at 0.25 A, 99.98 at 0.5 lagging: R x R_s / 100 with R = 100.
    expect(recorded).toMatchObject({
      fullLoadAsFound: "100.02",
      lightLoadAsFound: "100.04",
      powerFactorAsFound: "99.98",
    });
    expect(recorded.evaluation.asFound?.points[0]?.correction).toMatchObject({
      kind: "applied",
      standardRegistrationPercent: "100.02",
    });
  });

  it("is not applied twice", async () => {
    const recorded = await record(allAt("100"));
    expect(recorded.fullLoadAsFound).toBe("100");
    expect(recorded.evaluation.asFound?.points[0]?.correction.kind).toBe("already-applied-by-bench");
  });

  it("is flagged as not applied outside the certified range where the profile takes such a point", async () => {
    const large = await bench.aType(plan, { testAmperes: "5", classAmperes: "100" });
    const recorded = await record({ ...allAt("100"), errorAppliedByBench: false }, plan.id, large);
    // Full load is 5 A, certified up to 2.5 A; light load is 0.5 A, between 0.25 A and 2.5 A.
    const [fl, ll] = recorded.evaluation.asFound?.points ?? [];
    expect(fl?.correction.kind).toBe("uncorrected-outside-range");
    expect(fl?.meanPercent).toBe("100");
    expect(ll?.correction.kind).toBe("applied");
    // 100.04 + (0.5 - 0.25) / (2.5 - 0.25) x (100.02 - 100.04) = 100.037777...
    expect(ll?.meanPercent).toBe("100.037777778");
  });

  it("refuses a point outside the certified range where the profile says so", async () => {
    const meter = await aMeterUnder({
      ...northCarolina,
      key: "zz-strict",
      outsideCertifiedRange: { policy: "refuse", source: "House rule 7" },
    });
    const wide = await bench.aPlan({ points: [fullLoad, { ...lightLoad, loadPercent: "5" }] });
    const hundred = registration("100");
    const test = bench.aTest(meter.id, wide.id, {
      ...tested(pass({ FL: hundred, LL: hundred })),
      errorAppliedByBench: false,
    });
    const reply = await send(test).expect(422);
    expect(reply.body.errors).toMatchObject([{ pointer: "/outcome/asFound/points/1", rule: "House rule 7" }]);
  });
});

describe("a test is refused", () => {
  it("when its standard was overdue on that day", async () => {
    const meter = await bench.aMeter(typeId);
    const standardId = await bench.aStandard();
    await bench.aCalibration(standardId, { calibratedOn: daysFromNow(-400), dueOn: daysFromNow(-3) });
    const reply = await send(bench.aTest(meter.id, plan.id, { standardId })).expect(422);
    expect(reply.body).toMatchObject({
      type: "/problems/standard-overdue",
      errors: [{ pointer: "/standardId" }],
    });
    expect(reply.body.detail).toContain(daysFromNow(-3));
    const { rows } = await shop.admin.query("SELECT id FROM meter_test WHERE meter_id = $1", [meter.id]);
    expect(rows).toEqual([]);
  });

  it("when its standard was never calibrated", async () => {
    const meter = await bench.aMeter(typeId);
    const test = bench.aTest(meter.id, plan.id, { standardId: await bench.aStandard() });
    expect((await refusal(test)).slug).toBe("standard-overdue");
  });

  it("when no standard, an unknown one, or one of too low a rank is named", async () => {
    const meter = await bench.aMeter(typeId);
    const strict = await bench.aPlan({ standardRank: "reference" });
    const working = await bench.aStandard({ rank: "working" });
    await bench.aCalibration(working);
    for (const [planId, standardId] of [
      [plan.id, null],
      [plan.id, newId()],
      [strict.id, working],
    ] as const) {
      expect(await refusal(bench.aTest(meter.id, planId, { standardId }))).toMatchObject({
        slug: "refused-by-rule",
        pointers: ["/standardId"],
      });
    }
  });

  it("when its standard was out of use by then, but not when it was withdrawn afterwards", async () => {
    const meter = await bench.aMeter(typeId);
    const standardId = await bench.aStandard();
    await bench.aCalibration(standardId);
    const before = new Date().toISOString();
    const standard = (await bench.engineer.agent.get(`/api/standards/${standardId}`).expect(200)).body;
    const { designation, maker, model, serial, rank, place } = standard;
    await bench.engineer.agent
      .put(`/api/standards/${standardId}`)
      .set("if-match", `"${standard.version}"`)
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
    expect((await refusal(bench.aTest(meter.id, plan.id, { standardId }))).pointers).toEqual(["/standardId"]);
    await send(bench.aTest(meter.id, plan.id, { standardId, performedAt: before })).expect(201);
  });

  it("when nobody said whether the bench applied the standard's error", async () => {
    const meter = await bench.aMeter(typeId);
    const test = bench.aTest(meter.id, plan.id, { errorAppliedByBench: null });
    expect((await refusal(test)).pointers).toEqual(["/errorAppliedByBench"]);
  });

  it("when it lies in the future, or before the meter came into the book", async () => {
    const meter = await bench.aMeter(typeId);
    const at = (milliseconds: number) =>
      bench.aTest(meter.id, plan.id, { performedAt: new Date(Date.now() + milliseconds).toISOString() });
    expect((await refusal(at(90_000))).pointers).toEqual(["/performedAt"]);
    expect((await refusal(at(-3 * 86_400_000))).pointers).toEqual(["/performedAt"]);
    await send(at(20_000)).expect(201);
  });

  it("when preconditions or conditions of the plan are open", async () => {
    const meter = await bench.aMeter(typeId);
    const careful = await bench.aPlan({
      preconditions: [
        "Form and voltage checked against the nameplate",
        "Meter at room temperature for two hours",
      ],
      conditions: ["volts", "temperature"],
    });
    const open = bench.aTest(meter.id, careful.id, {
      preconditionsConfirmed: ["Meter at room temperature for two hours", "Coffee is ready"],
    });
    expect(await refusal(open)).toMatchObject({
      pointers: [
        "/preconditionsConfirmed",
        "/preconditionsConfirmed/1",
        "/conditions/volts",
        "/conditions/temperatureCelsius",
      ],
    });
    await send({
      ...open,
      id: newId(),
      preconditionsConfirmed: [
        "Meter at room temperature for two hours",
        "Form and voltage checked against the nameplate",
      ],
      conditions: { volts: "120.3", amperes: null, temperatureCelsius: "-4.5" },
    }).expect(201);
  });

  it("when the plan asks for creep and it was not looked at", async () => {
    const meter = await bench.aMeter(typeId);
    const hundred = registration("100");
    const test = bench.aTest(
      meter.id,
      plan.id,
      tested(pass({ FL: hundred, LL: hundred, PF: hundred }, "not-checked")),
    );
    expect((await refusal(test)).pointers).toEqual(["/outcome/asFound/creep"]);
  });

  it("when a point is not in the plan or is entered twice", async () => {
    const meter = await bench.aMeter(typeId);
    const at100 = (pointKey: string) => ({ pointKey, runs: [registration("100")] });
    const test = bench.aTest(
      meter.id,
      plan.id,
      tested({ points: [at100("FL"), at100("FL"), at100("LL"), at100("XX")], creep: "none" }),
    );
    expect((await refusal(test)).pointers).toEqual([
      "/outcome/asFound/points/1/pointKey",
      "/outcome/asFound/points/3/pointKey",
    ]);
  });

  it("when the as-left pass holds what cannot be taken, at its own place", async () => {
    const meter = await bench.aMeter(typeId);
    const noOutput = await bench.aType(plan, { kt: null });
    const pulses = await bench.aPlan({ points: [{ ...fullLoad, countConstant: "Kt" }] });
    const onPulses = await bench.aMeter(noOutput);
    const asLeft = {
      kind: "entered",
      pass: pass({ FL: counted("10", "2") }),
      adjustment: "Cleaned",
    } as const;
    const asFound = pass({ FL: registration("100") });
    const test = bench.aTest(onPulses.id, pulses.id, { outcome: { kind: "tested", asFound, asLeft } });
    expect((await refusal(test)).pointers).toEqual(["/outcome/asLeft/pass/points/0"]);
    await send({ ...test, id: newId(), meterId: meter.id }).expect(201);
  });

  it("when a number cannot be read, before any rule is asked", async () => {
    const meter = await bench.aMeter(typeId);
    const test = bench.aTest(meter.id, plan.id, tested(pass({ FL: counted("ten", "6.012") })));
    const { slug, pointers } = await refusal(test, 400);
    expect(slug).toBe("malformed-request");
    expect(new Set(pointers)).toEqual(new Set(["/outcome/asFound/points/0/runs/0/counts"]));
  });

  it("when meter, plan or file are not on record", async () => {
    const meter = await bench.aMeter(typeId);
    await send(bench.aTest(newId(), plan.id)).expect(404);
    expect((await refusal(bench.aTest(meter.id, newId()))).pointers).toEqual(["/planId"]);
    expect((await refusal(bench.aTest(meter.id, plan.id, { fileIds: [newId()] }))).pointers).toEqual([
      "/fileIds/0",
    ]);
  });

  it("when a reason is given twice", async () => {
    const meter = await bench.aMeter(typeId);
    const test = bench.aTest(meter.id, plan.id, { reasons: ["periodic", "removal", "periodic"] });
    expect((await refusal(test)).pointers).toEqual(["/reasons/2"]);
  });
});

describe("an incomplete test", () => {
  it("is kept as incomplete when points of the plan are missing", async () => {
    const recorded = await record(tested(pass({ FL: registration("100") })));
    expect(recorded).toMatchObject({ asFound: "incomplete", averageAsFound: null, lightLoadAsFound: null });
    expect(recorded.evaluation.asFound?.missingPoints).toEqual(["LL", "PF"]);
  });

  it("fails at once when what is there fails already", async () => {
    const recorded = await record(tested(pass({ FL: registration("100") }, "creeps")));
    expect(recorded.asFound).toBe("fail");
  });
});

describe("limits", () => {
  it("of the plan win over the profile's, by the occasion of the reasons", async () => {
    const source = "House limit 3";
    const limits = { "in-service": { minPercent: "99.5", maxPercent: "100.5", source } };
    const strict = await bench.aPlan({ points: [{ ...fullLoad, limits }, lightLoad, powerFactor] });
    const inService = await record(allAt("100.6"), strict.id);
    expect(inService).toMatchObject({ asFound: "fail" });
    expect(inService.evaluation.asFound?.points[0]).toMatchObject({ verdict: "fail", limits: { source } });
    // As a new meter the profile's own limits hold for full load: 98 to 102 (04 NCAC 11 R08-12(b), text of 1977).
    const asNew = await record({ ...allAt("100.6"), reasons: ["before-installation"] }, strict.id);
    expect(asNew.asFound).toBe("pass");
    expect(asNew.evaluation.asFound?.points[0]?.limits?.source).toContain("04 NCAC 11 R08-12");
  });
});

describe("sending twice", () => {
  it("with the same key records one test and gives the same reply", async () => {
    const meter = await bench.aMeter(typeId);
    const test = bench.aTest(meter.id, plan.id);
    const [first, second] = await Promise.all([send(test), send(test)]);
    expect([first.status, second.status]).toEqual([201, 201]);
    expect(second.body).toEqual(first.body);
    const { rows } = await shop.admin.query("SELECT id FROM meter_test WHERE meter_id = $1", [meter.id]);
    expect(rows).toEqual([{ id: test.id }]);
  });

  it("with another body under the same key is refused", async () => {
    const meter = await bench.aMeter(typeId);
    const test = bench.aTest(meter.id, plan.id);
    await send(test).expect(201);
    const reply = await send({ ...test, remarks: "Something else" }).expect(409);
    expect(reply.body.type).toBe("/problems/key-reused");
  });

  it("the id of somebody else's test is refused", async () => {
    const meter = await bench.aMeter(typeId);
    const test = bench.aTest(meter.id, plan.id);
    await send(test).expect(201);
    const other = await shop.signIn("technician");
    const reply = await send(test, other).expect(409);
    expect(reply.body.type).toBe("/problems/already-exists");
  });
});

describe("work that waits for a test", () => {
  const ask = (meterId: string, reason: string, id = newId()) =>
    bench.engineer.agent.post("/api/work-items").send({ id, meterId, reason, dueOn: "2027-03-01", note: "" });
  const openWork = async (meterId: string, reason = "periodic") => {
    const id = newId();
    await ask(meterId, reason, id).expect(201);
    return id;
  };

  it("is answered by it, each with a ledger entry", async () => {
    const meter = await bench.aMeter(typeId);
    const work = [await openWork(meter.id), await openWork(meter.id, "investigation")];
    const test = bench.aTest(meter.id, plan.id, { workItemIds: work });
    await send(test).expect(201);
    const { rows } = await shop.admin.query("SELECT done_by_test_id FROM work_item WHERE meter_id = $1", [
      meter.id,
    ]);
    expect(rows).toEqual([{ done_by_test_id: test.id }, { done_by_test_id: test.id }]);
    const entries = await bench.engineer.agent.get("/api/ledger").query({ subjectId: work[0] }).expect(200);
    expect(entries.body.rows.map(({ action }: { action: string }) => action)).toEqual([
      "workItem.finish",
      "workItem.open",
    ]);
  });

  it("is asked for once for a reason until it is made, even by two people at once", async () => {
    const meter = await bench.aMeter(typeId);
    const both = await Promise.all([ask(meter.id, "periodic"), ask(meter.id, "periodic")]);
    expect(both.map(({ status }) => status).sort()).toEqual([201, 409]);
    const again = await ask(meter.id, "periodic");
    expect(again.body).toMatchObject({
      type: "/problems/already-exists",
      detail:
        "A test of this meter for this reason is asked for already (periodic, due 2027-03-01): it answers both.",
    });
    await ask(meter.id, "investigation").expect(201);
    const work = both.find(({ status }) => status === 201)?.body.id;
    await send(bench.aTest(meter.id, plan.id, { workItemIds: [work] })).expect(201);
    await ask(meter.id, "periodic").expect(201);
  });

  it("that is not on record is said to be so", async () => {
    const meter = await bench.aMeter(typeId);
    const reply = await send(bench.aTest(meter.id, plan.id, { workItemIds: [newId()] }));
    expect(reply.status).toBe(404);
    expect(reply.body).toMatchObject({
      type: "/problems/not-found",
      errors: [{ pointer: "/workItemIds/0" }],
    });
  });

  it("is answered once, and only by a test of its own meter; a refused test leaves nothing behind", async () => {
    const meter = await bench.aMeter(typeId);
    const other = await bench.aMeter(typeId);
    const work = await openWork(meter.id);
    const wrongMeter = bench.aTest(other.id, plan.id, { workItemIds: [work] });
    expect((await refusal(wrongMeter)).pointers).toEqual(["/workItemIds"]);
    const { rows } = await shop.admin.query("SELECT id FROM meter_test WHERE id = $1", [wrongMeter.id]);
    expect(rows).toEqual([]);
    await send(bench.aTest(meter.id, plan.id, { workItemIds: [work] })).expect(201);
    expect((await refusal(bench.aTest(meter.id, plan.id, { workItemIds: [work] }))).slug).toBe(
      "refused-by-rule",
    );
  });
});

describe("signing", () => {
  const sign = (who: SignedIn, testIds: string[], pin = testPin) =>
    who.agent.post("/api/meter-tests/signatures").set("idempotency-key", newId()).send({ testIds, pin });

  it("at once names the person, the meaning and the hash of the record's ledger entry", async () => {
    const recorded = await record({ signature: { pin: testPin } });
    expect(recorded.signed).toBe(true);
    expect(recorded.signatures).toMatchObject([
      { person: { id: bench.technician.id }, meaning: "tested", recordHash: recorded.entryHash },
    ]);
    const entries = await bench.engineer.agent
      .get("/api/ledger")
      .query({ subjectId: recorded.id })
      .expect(200);
    expect(entries.body.rows.map(({ action }: { action: string }) => action)).toEqual([
      "meterTest.sign",
      "meterTest.record",
    ]);
    expect(JSON.parse(entries.body.rows[0].payload)).toMatchObject({ recordHash: recorded.entryHash });
  });

  it("with a wrong PIN records nothing", async () => {
    const meter = await bench.aMeter(typeId);
    const test = bench.aTest(meter.id, plan.id, { signature: { pin: "9999" } });
    const reply = await send(test).expect(403);
    expect(reply.body.type).toBe("/problems/pin-refused");
    await bench.technician.agent.get(`/api/meter-tests/${test.id}`).expect(404);
  });

  it("a tray is all or nothing, and a test is signed once", async () => {
    const mine = await shop.signIn("technician");
    const meter = await bench.aMeter(typeId);
    const ids: string[] = [];
    for (let n = 0; n < 3; n++) {
      const test = bench.aTest(meter.id, plan.id);
      await send(test, mine).expect(201);
      ids.push(test.id);
    }
    const tray = async () =>
      (await mine.agent.get("/api/meter-tests").query({ unsignedByMe: "true" }).expect(200)).body.rows
        .map(({ id }: { id: string }) => id)
        .sort();
    expect(await tray()).toEqual([...ids].sort());

    const foreign = await record();
    const refused = await sign(mine, [...ids, foreign.id]).expect(422);
    expect(refused.body.errors).toMatchObject([{ pointer: "/testIds/3" }]);
    await sign(mine, [...ids, newId()]).expect(404);
    await sign(mine, ids, "1212").expect(403);
    expect(await tray()).toEqual([...ids].sort());

    expect((await sign(mine, ids).expect(200)).body).toEqual({ signed: 3 });
    expect(await tray()).toEqual([]);
    const twice = await sign(mine, ids.slice(0, 1)).expect(409);
    expect(twice.body).toMatchObject({
      type: "/problems/already-signed",
      errors: [{ pointer: "/testIds/0" }],
    });
  });

  it("twice at the same moment signs once", async () => {
    const recorded = await record();
    const replies = await Promise.all([
      sign(bench.technician, [recorded.id]),
      sign(bench.technician, [recorded.id]),
    ]);
    expect(replies.map(({ status }) => status).sort()).toEqual([200, 409]);
    const { rows } = await shop.admin.query("SELECT id FROM signature WHERE subject_id = $1", [recorded.id]);
    expect(rows).toHaveLength(1);
  });
});

describe("lists", () => {
  it("page newest first without loss or repetition, also where tests share an instant", async () => {
    const meter = await bench.aMeter(typeId);
    const now = Date.now();
    const sent: { id: string; performedAt: string }[] = [];
    for (const back of [0, 0, 1000, 1000, 1000]) {
      const test = bench.aTest(meter.id, plan.id, { performedAt: new Date(now - back).toISOString() });
      await send(test).expect(201);
      sent.push({ id: test.id, performedAt: test.performedAt });
    }
    const expected = [...sent].sort(
      (a, b) => b.performedAt.localeCompare(a.performedAt) || b.id.localeCompare(a.id),
    );
    const seen: string[] = [];
    let cursor: string | null = null;
    do {
      const reply: { body: { rows: { id: string }[]; next: string | null } } = await bench.technician.agent
        .get("/api/meter-tests")
        .query({ meterId: meter.id, limit: 2, ...(cursor === null ? {} : { cursor }) })
        .expect(200);
      seen.push(...reply.body.rows.map(({ id }) => id));
      cursor = reply.body.next;
    } while (cursor !== null);
    expect(seen).toEqual(expected.map(({ id }) => id));
  });

  it("filter by verdict, reason and local date", async () => {
    const meter = await bench.aMeter(typeId);
    const failed = bench.aTest(meter.id, plan.id, {
      ...allAt("97"),
      reasons: ["customer-request", "removal"],
    });
    const passed = bench.aTest(meter.id, plan.id);
    await send(failed).expect(201);
    await send(passed).expect(201);
    const today = (await bench.technician.agent.get("/api/shop").expect(200)).body.today;
    const ids = async (query: Record<string, string>) =>
      (
        await bench.technician.agent
          .get("/api/meter-tests")
          .query({ meterId: meter.id, ...query })
          .expect(200)
      ).body.rows
        .map(({ id }: { id: string }) => id)
        .sort();
    const both = [failed.id, passed.id].sort();
    expect(await ids({ asFound: "fail" })).toEqual([failed.id]);
    expect(await ids({ reason: "removal" })).toEqual([failed.id]);
    expect(await ids({ performedFrom: today, performedTo: today })).toEqual(both);
    expect(await ids({ performedTo: daysFromNow(-3) })).toEqual([]);
    expect(await ids({ performedFrom: daysFromNow(3) })).toEqual([]);
  });

  it("filter by the standard that the tests leaned on, page by page", async () => {
    const standardId = await bench.aStandard();
    await bench.aCalibration(standardId);
    const meter = await bench.aMeter(typeId);
    const leaning: string[] = [];
    for (const back of [0, 60_000, 120_000]) {
      const performedAt = new Date(Date.now() - back).toISOString();
      const test = bench.aTest(meter.id, plan.id, { standardId, performedAt });
      await send(test).expect(201);
      leaning.push(test.id);
    }
    await send(bench.aTest(meter.id, plan.id)).expect(201);
    const first = await bench.technician.agent
      .get("/api/meter-tests")
      .query({ standardId, limit: 2 })
      .expect(200);
    const second = await bench.technician.agent
      .get("/api/meter-tests")
      .query({ standardId, limit: 2, cursor: first.body.next })
      .expect(200);
    expect([...first.body.rows, ...second.body.rows].map(({ id }) => id)).toEqual(leaning);
    expect(second.body.next).toBeNull();
  });

  it("refuse a cursor that is not theirs", async () => {
    const forged = Buffer.from(JSON.stringify(["yesterday", "x"])).toString("base64url");
    await bench.technician.agent.get("/api/meter-tests").query({ cursor: forged }).expect(400);
  });
});

describe("preparing a test", () => {
  it("gives type, plan, rules, standards with their calibrations, last result and open work", async () => {
    const meter = await bench.aMeter(typeId);
    const prepare = async () =>
      (await bench.technician.agent.get(`/api/meters/${meter.id}/test-preparation`).expect(200)).body;
    expect(await prepare()).toMatchObject({
      meter: { id: meter.id, type: { id: typeId } },
      plan: { id: plan.id },
      profile: { key: "us-nc" },
      rules: {
        averageLimits: { "in-service": { minPercent: "98", maxPercent: "102" } },
        creepAllowed: false,
      },
      lastTest: null,
      openWork: [],
    });
    const { standards } = await prepare();
    expect(standards.find(({ id }: { id: string }) => id === bench.standardId)).toMatchObject({
      status: "valid",
      calibration: { id: bench.calibrationId },
    });
    const test = bench.aTest(meter.id, plan.id);
    await send(test).expect(201);
    expect((await prepare()).lastTest).toMatchObject({ id: test.id, asFound: "pass" });
  });

  it("judges while typing by the average that the utility has chosen, as the server does", async () => {
    const key = "zz-chosen";
    const meter = await aMeterUnder({ ...northCarolina, key });
    const prepared = async () =>
      (await bench.technician.agent.get(`/api/meters/${meter.id}/test-preparation`).expect(200)).body.rules;
    expect((await prepared()).average.label).toBe("Method 1: (4 FL + LL) / 5");
    const supervisor = await shop.signIn("supervisor");
    const { name, timeZone, homeJurisdiction, version } = (
      await supervisor.agent.get("/api/shop").expect(200)
    ).body;
    await supervisor.agent
      .put("/api/shop")
      .set("If-Match", `"${version}"`)
      .send({
        name,
        timeZone,
        homeJurisdiction,
        averageMethods: { [key]: "method-4" },
        reason: "Method 4 is chosen",
      })
      .expect(200);
    // 04 NCAC 11 R08-11(a) leaves the method to the utility.
    expect((await prepared()).average.label).toBe("Method 4: (4 FL + 2 LL + PF) / 7");
    const recorded = (await send(bench.aTest(meter.id, plan.id)).expect(201)).body as MeterTest;
    expect(recorded.evaluation.asFound?.average?.averageRule).toEqual((await prepared()).average);
  });

  it("answers that there is no such meter", async () => {
    await bench.technician.agent.get(`/api/meters/${newId()}/test-preparation`).expect(404);
  });
});
