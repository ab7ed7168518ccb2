import type { Amendment, MeterTest, NewMeterTest } from "@sealbook/contract/meter-tests";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp, testPin } from "../support/app.ts";
import {
  counted,
  fullLoad,
  lightLoad,
  type MeterBench,
  meterBench,
  pass,
  powerFactor,
  registration,
} from "../support/meter-bench.ts";
import { readPdf } from "../support/read-pdf.ts";

let shop: TestApp;
let bench: MeterBench;
let plan: { id: string; code: string };
let typeId: string;

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  const source = "House limit 3";
  plan = await bench.aPlan({
    points: [
      { ...fullLoad, runs: 2, limits: { "as-left": { minPercent: "99.5", maxPercent: "100.5", source } } },
      lightLoad,
      powerFactor,
    ],
    conditions: ["volts", "temperature"],
    preconditions: ["Form and voltage checked against the nameplate"],
  });
  typeId = await bench.aType(plan);
});
afterAll(() => shop.close());

const remarks = "Cover scratched; #let x = 1 *bold* $x$ \\ </page>\nSecond line: 漢字, ‰, Ω, naïve Łódź";

/** As found two runs of full load with energies 5.85 and 5.86 Wh, as left with 6.012 and 6.01 Wh. */
async function anAdjustedMeter(over: Partial<NewMeterTest> = {}) {
  const meter = await bench.aMeter(typeId);
  const at = (first: string, second: string) => ({
    points: [
      { pointKey: "FL", runs: [counted("10", first), counted("10", second)] },
      { pointKey: "LL", runs: [counted("1", "0.6")] },
      { pointKey: "PF", runs: [registration("100.2")] },
    ],
    creep: "none" as const,
  });
  const test = bench.aTest(meter.id, plan.id, {
    conditions: { volts: "120.3", amperes: null, temperatureCelsius: "23.5" },
    preconditionsConfirmed: ["Form and voltage checked against the nameplate"],
    errorAppliedByBench: false,
    readingBefore: "04711.5",
    readingAfter: "4711.6",
    sealsRemoved: ["K-0017"],
    sealsApplied: ["K-0101", "K-0102"],
    remarks,
    outcome: {
      kind: "tested",
      asFound: at("5.85", "5.86"),
      asLeft: { kind: "entered", adjustment: "Full-load adjuster turned", pass: at("6.012", "6.01") },
    },
    ...over,
  });
  return (await bench.technician.agent.post("/api/meter-tests").send(test).expect(201)).body as MeterTest;
}

async function certificateOf(id: string): Promise<Buffer> {
  const reply = await bench.technician.agent
    .get(`/api/meter-tests/${id}/certificate.pdf`)
    .buffer(true)
    .parse((response, done) => {
      const pieces: Buffer[] = [];
      response.on("data", (piece: Buffer) => pieces.push(piece));
      response.on("end", () => done(null, Buffer.concat(pieces)));
    })
    .expect(200);
  expect(reply.headers["content-type"]).toBe("application/pdf");
  expect(reply.headers["content-disposition"]).toMatch(/^inline; filename="meter-test-[0-9A-F-]{14}\.pdf"$/);
  return reply.body as Buffer;
}

/** Line breaks and the space between pieces depend on the layout, so texts are compared without white space. */
const packed = (text: string) => text.replace(/\s+/g, "");

function missing(text: string, expected: readonly string[]): string[] {
  const found = packed(text);
  return expected.filter((piece) => !found.includes(packed(piece)));
}

describe("the certificate of a test", () => {
  it("carries every figure, the standard, the signature and the ledger entry as searchable text", async () => {
    const test = await anAdjustedMeter({ signature: { pin: testPin } });
    const { pages } = readPdf(await certificateOf(test.id));
    const text = pages.join("\n");
    const byHand = [
      // Three elements in series, Kh 1.8: 100 x 10 x 1.8 / (3 W); times the standard's 100.02 % at 2.5 A.
      // As found W = 5.85: 102.564102564..., corrected 102.584615384...; W = 5.86: 102.389078498..., corrected
      // 102.409556313...; their mean 102.497085849..., sample standard deviation 0.17505907.../sqrt 2 = 0.12378545...
      "n = 10, K = 1.8, m = 3, W = 5.85",
      "102.564102564",
      "102.584615385",
      "n = 10, K = 1.8, m = 3, W = 5.86",
      "102.389078498",
      "102.409556314",
      "102.497",
      "+2.497",
      "sample standard deviation 0.124 %, range 0.175 %",
      // Light load 100 % times the standard's 100.04 % at 0.25 A; power factor 100.2 x 99.98 / 100 = 100.17996.
      "100.040",
      "+0.040",
      "R = 100.2 %",
      "100.17996",
      "100.180",
      // Method 1: (4 x 102.497085849 + 100.04) / 5 = 102.005668679...
      "102.006",
      "R_avg = 102.005668679 %",
      // As left W = 6.012: 99.800399201..., corrected 99.820359281...; W = 6.01: 99.833610648..., corrected
      // 99.853577370...; mean 99.836968326...; average (4 x 99.836968326 + 100.04) / 5 = 99.877574660...
      "99.8003992016",
      "99.8203592814",
      "99.8336106489",
      "99.853577371",
      "99.837",
      "−0.163",
      "99.878",
    ];
    const shown = [
      "Quillmoor Test Shop",
      "Meter test certificate",
      "As found: Outside limits.",
      "As left: Within limits.",
      test.meter.utilityNumber,
      test.meter.serial,
      "Alderwick Instruments",
      "9S",
      `${plan.code}, revision 1`,
      "North Carolina, electric meters, version 2",
      "120.3 V, 23.5 °C",
      "Form and voltage checked against the nameplate",
      test.standardInUse?.designation ?? "",
      "Corrigan & Vale CV-7",
      test.calibration?.certificateNumber ?? "",
      "Tarn Valley Calibration Laboratory",
      "SI through the national standard of electric energy",
      test.calibration?.dueOn ?? "",
      "The standard registers 100.02 %, certified at 2.5 A.",
      "99.5 to 100.5 [1]",
      "[1] House limit 3.",
      "98 to 102",
      "04 NCAC 11 R08-13(a)",
      "Simple acceptance",
      "Full-load adjuster turned",
      "04711.5",
      "4711.6",
      "K-0017",
      "K-0101, K-0102",
      test.tester?.name ?? "",
      "Performed this test and entered its results",
      "It does not state the meter's accuracy at other loads",
      "local rules govern",
    ];
    expect(missing(text, [...byHand, ...shown])).toEqual([]);
    for (const [index, page] of pages.entries()) {
      const foot = [test.id, test.entryId, test.entryHash, `Page ${index + 1} of ${pages.length}`];
      expect(missing(page, foot)).toEqual([]);
    }
    expect(pages.length).toBeLessThanOrEqual(2);
  });

  it("prints what people typed as they typed it, and never as markup", async () => {
    const test = await anAdjustedMeter();
    const text = readPdf(await certificateOf(test.id)).pages.join("\n");
    expect(missing(text, ["Cover scratched; #let x = 1 *bold* $x$ \\ </page>", "‰, Ω, naïve Łódź"])).toEqual(
      [],
    );
    // The embedded fonts have no Chinese: the characters are named rather than lost.
    expect(missing(text, ["[U+6F22][U+5B57]"])).toEqual([]);
    expect(missing(text, ["Not signed."])).toEqual([]);
  });

  it("is tagged for screen readers, embeds its fonts and is the same bytes each time", async () => {
    const test = await anAdjustedMeter();
    const first = await certificateOf(test.id);
    expect(readPdf(first).metadata).toContain("<pdfuaid:part>1</pdfuaid:part>");
    const source = first.toString("latin1");
    expect(source).toMatch(/\/MarkInfo/);
    const descriptors = source.match(/\/Type \/FontDescriptor\b/g) ?? [];
    const embedded = source.match(/\/FontFile3? \d+ 0 R|\/FontFile2 \d+ 0 R/g) ?? [];
    expect(descriptors.length).toBeGreaterThan(0);
    expect(embedded.length).toBe(descriptors.length);
    expect((await certificateOf(test.id)).equals(first)).toBe(true);
  });

  it("says across its head that a newer record supersedes it", async () => {
    const first = await anAdjustedMeter();
    const { signature: _, ...entered } = bench.aTest(first.meterId, plan.id);
    const amendment: Amendment = {
      ...entered,
      performedAt: first.performedAt,
      conditions: { volts: "120.3", amperes: null, temperatureCelsius: "23.5" },
      preconditionsConfirmed: ["Form and voltage checked against the nameplate"],
      outcome: {
        kind: "tested",
        asFound: pass({ LL: registration("100"), PF: registration("100") }),
        asLeft: { kind: "same" },
      },
      amendmentReason: "Full load belonged to another meter",
      signature: null,
    };
    const reply = await bench.technician.agent
      .post(`/api/meter-tests/${first.id}/amendments`)
      .send(amendment)
      .expect(201);
    const old = readPdf(await certificateOf(first.id)).pages[0] ?? "";
    expect(missing(old, ["Superseded.", `The newer record is test ${reply.body.id}`])).toEqual([]);
    const newer = readPdf(await certificateOf(reply.body.id)).pages.join("\n");
    expect(
      missing(newer, [
        `supersedes test ${first.id}`,
        "Full load belonged to another meter",
        "As found: Incomplete.",
        "Full load is not entered.",
        "0 of 2",
      ]),
    ).toEqual([]);
    expect(packed(newer)).not.toContain(packed("Superseded."));
  });

  it("states that no test was possible, and why", async () => {
    const test = await anAdjustedMeter({
      outcome: { kind: "no-test-possible", reason: "tampered", note: "Seal cut, disk jammed" },
      standardId: null,
      errorAppliedByBench: null,
    });
    const text = readPdf(await certificateOf(test.id)).pages.join("\n");
    expect(missing(text, ["Result: No test possible.", "Tampered with. Seal cut, disk jammed"])).toEqual([]);
    expect(packed(text)).not.toContain(packed("Standard and its traceability"));
  });

  it("is not made for a withdrawn record or an unknown one", async () => {
    const first = await anAdjustedMeter();
    const { signature: _, ...entered } = bench.aTest(first.meterId, plan.id);
    const withdrawal = await bench.technician.agent
      .post(`/api/meter-tests/${first.id}/amendments`)
      .send({
        ...entered,
        outcome: { kind: "withdrawn" },
        standardId: null,
        errorAppliedByBench: null,
        amendmentReason: "Entered under the wrong meter",
        signature: null,
      })
      .expect(201);
    const refused = await bench.technician.agent
      .get(`/api/meter-tests/${withdrawal.body.id}/certificate.pdf`)
      .expect(409);
    expect(refused.body.type).toBe("/problems/wrong-state");
    await bench.technician.agent
      .get("/api/meter-tests/017f22e2-79b0-7cc3-98c4-dc0c0c07398f/certificate.pdf")
      .expect(404);
  });
});
