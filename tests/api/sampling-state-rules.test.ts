import { newId } from "@sealbook/api/platform/transaction";
import type { Programme } from "@sealbook/contract/groups";
import type { Lot } from "@sealbook/contract/sampling";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type Walk, walks } from "../conformance/sampling/walks.ts";
import { type TestApp, testApp } from "../support/app.ts";
import { readPdf } from "../support/read-pdf.ts";
import {
  approval,
  decision,
  inServiceScheme,
  type SamplingBench,
  samplingBench,
} from "../support/sampling-bench.ts";

/**
 * Indiana's and Michigan's rules walked from the inventory to the signed decision. Meters and readings are invented; draws,
 * means, spreads and percents were worked out apart from this project (see the head of the data file); n and M stand in
 * Z1.9, Tables A-2, B-3 and B-4.
 */
const [indianaAccepted, indianaRefused, michiganFirst, michiganTightened] = walks as [Walk, Walk, Walk, Walk];

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

const numbersOf = ({ lotSize, firstMeter, step }: Walk) =>
  Array.from({ length: lotSize }, (_, place) => String(firstMeter + step * place));

/** Draws a lot with the walk's dice, logs its readings and checks every figure on the way. */
async function walkTo(lot: Lot, walk: Walk): Promise<void> {
  expect(lot.plan).toMatchObject({
    lotSize: walk.lotSize,
    n: walk.n,
    characteristics: [
      {
        characteristic: "full-load",
        severity: walk.inspection,
        plan: { kind: "variables", letter: walk.letter, n: walk.n, maximumPercent: walk.M },
      },
    ],
  });
  const list = lot.lists.at(-1);
  expect(list).toMatchObject({ listHash: walk.listHash, candidates: walk.lotSize, draw: null });

  // The hash stands in the ledger before the seed exists.
  const { body: entry } = await bench.engineer.agent.get(`/api/ledger/${list?.entryId}`).expect(200);
  expect(JSON.parse(entry.payload)).toMatchObject({ listHash: walk.listHash, candidates: walk.lotSize });
  expect(entry.payload).not.toContain(walk.seed);

  const before = await bench.engineer.agent.get(`/api/lots/${lot.id}/evaluation`);
  expect(before.body.type).toBe("/problems/wrong-state");
  const { body: drawn } = await bench.engineer.agent
    .post(`/api/draw-lists/${list?.id}/draw`)
    .send({ id: newId(), seed: walk.seed })
    .expect(201);
  expect(drawn.state).toBe("drawn");
  const units = await bench.unitsOf(lot.id);
  expect(units.slice(0, 3).map(({ utilityNumber }) => utilityNumber)).toEqual(walk.firstDrawn);
  // More spares only follow: the walk's last one stands where it stood.
  expect(units[walk.n + walk.spares - 1]).toMatchObject({
    utilityNumber: walk.lastSpare,
    spare: true,
    state: "spare",
  });

  const tally = await bench.engineer.agent.get(`/api/lots/${lot.id}/evaluation`).expect(200);
  expect(tally.body).toMatchObject({ outcome: "open", waiting: walk.n });
  const early = await decision(bench.engineer, lot.id);
  expect(early.body.type).toBe("/problems/refused-by-rule");

  for (const [place, reading] of walk.fullLoad.entries()) {
    const unit = units[place];
    if (unit === undefined) throw new Error("the sample is as large as the walk");
    expect(unit.workItemId).not.toBeNull();
    await bench.test(unit, reading);
  }
  const { body: decided } = await decision(bench.engineer, lot.id).expect(201);
  const [full] = decided.decision.evaluation.characteristics;
  expect(full.mean).toBeCloseTo(Number(walk.mean), 12);
  expect(full.s).toBeCloseTo(Number(walk.s), 12);
  expect(Math.abs(full.estimate.pLower - Number(walk.pLower))).toBeLessThanOrEqual(1e-11);
  expect(Math.abs(full.estimate.pUpper - Number(walk.pUpper))).toBeLessThanOrEqual(1e-11);
  expect(full.criteria).toMatchObject([{ bound: walk.M, holds: walk.accepted }]);
  expect(decided.decision.outcome).toBe(walk.accepted ? "accepted" : "not-accepted");
}

/** The decision sheet of a lot, as a browser gets it. */
async function sheetOf(lotId: string): Promise<Buffer> {
  const reply = await bench.engineer.agent
    .get(`/api/lots/${lotId}/decision-sheet`)
    .buffer(true)
    .parse((response, done) => {
      const parts: Buffer[] = [];
      response.on("data", (part: Buffer) => parts.push(part));
      response.on("end", () => done(null, Buffer.concat(parts)));
    })
    .expect(200)
    .expect("content-type", "application/pdf");
  return reply.body;
}

async function refusedTo(by: typeof bench.engineer, lotId: string, sentence: RegExp): Promise<void> {
  const reply = await approval(by, lotId);
  expect(reply.status).toBe(403);
  expect(reply.body.type).toBe("/problems/not-independent");
  expect(reply.body.detail).toMatch(sentence);
}

describe("Indiana: 170 IAC 4-1-10, Z1.9-1993, level II, AQL 2.5, full load only, lots of 301 or more", () => {
  it("goes from the inventory to decisions that nobody involved can approve", {
    timeout: 240_000,
  }, async () => {
    const accepted = await bench.aType();
    const refused = await bench.aType();
    const tooSmall = await bench.aType();
    await bench.inService(accepted, numbersOf(indianaAccepted));
    await bench.inService(refused, numbersOf(indianaRefused));
    await bench.inService(
      tooSmall,
      Array.from({ length: 300 }, (_, place) => `T${place}`),
    );
    await bench.inService(accepted, ["ELSEWHERE-1"], { jurisdiction: "us-nc" });
    await bench.inService(accepted, ["CUSTOMERS-1"], { owner: "customer" });
    // The limits of (c)(5) were not read: these are invented.
    const scheme = await bench.aScheme({
      ...inServiceScheme,
      jurisdiction: "us-in",
      source: "170 IAC 4-1-10(c)",
      lotSize: { min: 301, max: null, standAloneFrom: null },
      replacement: { allowed: true, sparesPercent: 30, reasons: ["no-access"] },
    });

    const { body: preview } = await bench.engineer.agent
      .get(`/api/programmes/preview?schemeId=${scheme.id}`)
      .expect(200);
    expect(
      preview.groups.map(({ size, standing }: { size: number; standing: string }) => [size, standing]),
    ).toEqual(
      expect.arrayContaining([
        [1450, "formed"],
        [301, "formed"],
        [300, "too-small"],
      ]),
    );
    expect(preview.leftOut).toEqual([
      { reason: "In another jurisdiction", meters: 1 },
      { reason: "Owned by the customer", meters: 1 },
    ]);
    expect(preview.meters).toBe(1450 + 301 + 300 + 2);

    const programme: Programme = await bench.aProgramme(scheme);
    expect(programme).toMatchObject({ state: "formed", counts: { lots: 2, members: 1751, sample: 70 } });
    expect(programme.leftOut.map(({ meters }) => meters)).toEqual([1, 1, 300]);
    const lots = await bench.lotsOf(programme.id);
    const large = lots.find(({ counts }) => counts.members === 1450);
    const small = lots.find(({ counts }) => counts.members === 301);
    if (large === undefined || small === undefined) throw new Error("both groups have their lot");

    await walkTo(large, indianaAccepted);
    await refusedTo(bench.engineer, large.id, /You made this decision/);
    const { body: approved } = await approval(bench.approver, large.id).expect(201);
    expect(approved).toMatchObject({ state: "closed", disposition: "kept-in-service" });
    expect(approved.decision.approval.recordHash).toBe(approved.decision.recordHash);

    await walkTo(small, indianaRefused);
    await approval(bench.approver, small.id).expect(201);
    // A rejected group stays until its actions say what becomes of it.
    expect((await bench.lot(small.id)).state).toBe("approved");
    const { body: action } = await bench.engineer.agent
      .post(`/api/lots/${small.id}/actions`)
      .send({
        id: newId(),
        kind: "retire-by",
        detail: "Retire the type, oldest first",
        ownerId: bench.engineer.id,
        dueOn: "2027-10-01",
      })
      .expect(201);
    const { pages, metadata } = readPdf(await sheetOf(small.id));
    const text = pages.join(" ").replaceAll(/\s+/g, " ");
    for (const said of [
      "Not accepted",
      "n = 20, M = 6.18 %",
      indianaRefused.listHash,
      indianaRefused.seed,
      "6.7911 % together",
      "100.79400 %",
      "supervisor number 3",
      "Retire the type, oldest first",
      action.entryId,
      `Page 1 of ${pages.length}`,
    ]) {
      expect(text).toContain(said);
    }
    for (const drawn of indianaRefused.firstDrawn) expect(text).toContain(drawn);
    expect(metadata).toContain("pdfuaid");
    expect(await bench.lot(small.id)).toMatchObject({
      openActions: 1,
      actions: [{ id: action.id, doneOn: null }],
    });
  });
});

describe("Michigan: R 460.3613, Z1.9-2003, level II, lots of 301 to 35,000, tightened inspection", () => {
  it("carries a rejected group into tightened inspection and back into the year table", {
    timeout: 300_000,
  }, async () => {
    const type = await bench.aType();
    await bench.inService(type, numbersOf(michiganFirst), { jurisdiction: "us-mi" });
    // The AQL and the limits of (3)(d) were not read: 2.5 and 98 to 102 are those of the walk.
    const scheme = await bench.aScheme({
      ...inServiceScheme,
      jurisdiction: "us-mi",
      source: "Mich. Admin. Code R 460.3613(3)",
      lotSize: { min: 301, max: 35_000, standAloneFrom: 8001 },
      switching: true,
    });
    const [first] = await bench.lotsOf((await bench.aProgramme(scheme, { year: 2025 })).id);
    if (first === undefined) throw new Error("the group has its lot");
    await walkTo(first, michiganFirst);
    await approval(bench.approver, first.id).expect(201);

    // Z1.9's switching text was not read, so nothing is switched until a person directs it.
    const series = encodeURIComponent(first.series);
    const before = await bench.engineer.agent
      .get(`/api/sampling-series?series=${series}&schemeCode=${scheme.code}`)
      .expect(200);
    expect(before.body.characteristics[0]).toMatchObject({ severity: "normal", steps: [{ kind: "lot" }] });
    expect(before.body.characteristics[0].steps[0].reasons.join(" ")).toContain("Nothing is switched");
    const directed = await bench.engineer.agent
      .post("/api/sampling-series/events")
      .send({
        id: newId(),
        series: first.series,
        schemeCode: scheme.code,
        characteristic: null,
        kind: "directed",
        severity: "tightened",
        reason: "Read in the standard by the engineer",
      })
      .expect(201);
    expect(directed.body.characteristics[0].severity).toBe("tightened");

    const [second] = await bench.lotsOf((await bench.aProgramme(scheme, { year: 2026 })).id);
    if (second === undefined) throw new Error("the group has its lot");
    expect(second.series).toBe(first.series);
    await walkTo(second, michiganTightened);
    await approval(bench.approver, second.id).expect(201);

    const { body: years } = await bench.engineer.agent
      .get(`/api/group-years?schemeCode=${scheme.code}`)
      .expect(200);
    expect(years.rows).toHaveLength(2);
    expect(years.rows[0]).toMatchObject({ year: 2025, n: 100, outcome: "not-accepted", change: null });
    const later = years.rows[1];
    expect(later).toMatchObject({ year: 2026, n: 100, estimated: true, change: { sinceYear: 2025 } });
    const p = (walk: Walk) => Number(walk.pLower) + Number(walk.pUpper);
    expect(later.percentNonconforming).toBeCloseTo(p(michiganTightened), 9);
    expect(later.change.percentNonconforming).toBeCloseTo(p(michiganTightened) - p(michiganFirst), 9);
    expect(later.change.mean).toBeCloseTo(Number(michiganTightened.mean) - Number(michiganFirst.mean), 9);
    expect(later.change.s).toBeCloseTo(Number(michiganTightened.s) - Number(michiganFirst.s), 9);
  });
});
