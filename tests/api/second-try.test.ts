import { decide } from "@sealbook/api/modules/sampling/sampling";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { Lot } from "@sealbook/contract/sampling";
import type { Scheme } from "@sealbook/contract/sampling-schemes";
import { franceInServicePlans } from "@sealbook/metrology/sampling/attributes/france-in-service-plans";
import type { PlanTable } from "@sealbook/metrology/sampling/attributes/plan-table";
import type { SamplingScheme } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import {
  approval,
  decision,
  inServiceScheme,
  type SamplingBench,
  samplingBench,
} from "../support/sampling-bench.ts";

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

const slug = (reply: { body: { type?: string } }) => reply.body.type?.replace("/problems/", "");

const byTable = (table: PlanTable): SamplingScheme => ({
  ...inServiceScheme,
  source: table.source,
  // Judged at full load with the limits of the bench's scheme: which meters fail is the test's own choice.
  plan: { kind: "plan-table", table },
  replacement: { allowed: true, sparesPercent: 0, reasons: ["no-access", "retired"] },
});

/** A small table of the same kind: four with none nonconforming, then six with one. Invented. */
const small: PlanTable = {
  ...franceInServicePlans,
  name: "A table of a test",
  source: "Invented for a test",
  rows: [{ lotMin: 1, lotMax: null, normal: { n: 4, ac: 0 }, tightened: { n: 6, ac: 1 } }],
};

let letters = 0;
/** A programme of one group with so many meters; its lot. */
async function aGroup(scheme: Scheme, count: number, year: number): Promise<Lot> {
  letters += 1;
  const numbers = Array.from({ length: count }, (_, place) => `T${letters}-${place}`);
  const typeId = await bench.aType();
  await bench.inService(typeId, numbers);
  const programme = await bench.aProgramme(scheme, { year });
  const lots = await bench.lotsOf(programme.id);
  const lot = lots.find(({ counts }) => counts.members === count);
  if (lot === undefined) throw new Error("the group has its lot");
  return lot;
}

/** Draws from the lot's list and tests its sample, so many of it too fast; the drawn meters. */
async function tested(lot: Lot, seed: string, fast: number): Promise<string[]> {
  const listId = lot.lists.at(-1)?.id;
  await bench.engineer.agent.post(`/api/draw-lists/${listId}/draw`).send({ id: newId(), seed }).expect(201);
  const sample = (await bench.unitsOf(lot.id)).filter(({ spare }) => !spare);
  for (const [place, unit] of sample.entries()) await bench.test(unit, place < fast ? "109" : "100");
  return sample.map(({ meterId }) => meterId);
}

async function refused(lot: Lot, seed: string, fast: number): Promise<Lot> {
  await tested(lot, seed, fast);
  await decision(bench.engineer, lot.id).expect(201);
  await approval(bench.approver, lot.id).expect(201);
  return await bench.lot(lot.id);
}

const askAgain = (lotId: string, by = bench.engineer, id = newId()) =>
  by.agent
    .post(`/api/lots/${lotId}/second-try`)
    .send({ id, reason: "The fast meters of the first sample were taken out of service" });

async function listed(lotId: string): Promise<Lot> {
  const { body } = await bench.engineer.agent
    .post(`/api/lots/${lotId}/lists`)
    .send({
      id: newId(),
      seed: { source: "typed-dice", announcement: null, notBefore: null },
      repeats: null,
    })
    .expect(201);
  return body;
}

describe("the second try of France's plan (order of 1 August 2013, Article 23 and Annexe 7)", () => {
  it("draws anew under the tightened plan, and its outcome decides the group's", {
    timeout: 240_000,
  }, async () => {
    const scheme = await bench.aScheme(byTable(franceInServicePlans));
    const first = await aGroup(scheme, 250, 2026);
    // Annexe 7, lots below 10,000: normal 56 with at most 5, of 85 drawn; tightened 206 with at most 20, of 310 drawn.
    expect(first.plan).toMatchObject({ n: 56, spares: 29, characteristics: [{ plan: { ac: 5, re: 6 } }] });
    const drawn = await tested(first, "4 1 6 2 5 5", 6);
    await decision(bench.engineer, first.id).expect(201);
    const early = await askAgain(first.id);
    expect(slug(early)).toBe("wrong-state");
    expect((await bench.lot(first.id)).secondTry).toMatchObject({
      refusal: "It is asked for once the refusal is approved.",
    });
    await approval(bench.approver, first.id).expect(201);
    const decided = await bench.lot(first.id);
    expect(decided).toMatchObject({ outcome: "not-accepted", state: "approved" });
    expect(decided.secondTry).toMatchObject({
      refusal: null,
      lotId: null,
      source: franceInServicePlans.source,
    });

    // The keeper may improve the lot before it: three of the fast meters are retired.
    await bench.retire(drawn.slice(0, 3));
    expect((await askAgain(first.id, bench.technician)).status).toBe(403);
    const { body: again } = await askAgain(first.id).expect(201);
    expect(again).toMatchObject({
      number: `${first.number}-2`,
      secondTryOfId: first.id,
      series: first.series,
      programmeId: first.programmeId,
      state: "planned",
      dueOn: decided.secondTry?.until,
      counts: { members: 247 },
      plan: { n: 206, spares: 41, characteristics: [{ severity: "tightened", plan: { ac: 20, re: 21 } }] },
    });
    const twice = await askAgain(first.id);
    expect(slug(twice)).toBe("refused-by-rule");
    expect(twice.body.detail).toContain("asked for already");

    // The seed of the first draw was on record before the second list.
    const list = await listed(again.id);
    const known = await bench.engineer.agent
      .post(`/api/draw-lists/${list.lists[0]?.id}/draw`)
      .send({ id: newId(), seed: "4 1 6 2 5 5" });
    expect(slug(known)).toBe("refused-by-rule");
    expect(known.body.detail).toContain("on record before the list was published");
    await tested(list, "6 6 1 3 2 4", 20);
    // While it runs, the first cannot be closed by other means.
    const closing = await bench.engineer.agent
      .post(`/api/lots/${first.id}/closure`)
      .set("if-match", `"${(await bench.lot(first.id)).version}"`)
      .send({ reason: "Enough was done" });
    expect(closing.body.detail).toContain("second try of this group is under way");
    await expect(
      shop.admin.query("UPDATE lot SET state = 'closed', disposition = 'tried-again' WHERE id = $1", [
        first.id,
      ]),
    ).rejects.toMatchObject({
      code: "23001",
      message: expect.stringContaining("once the second is approved"),
    });

    await decision(bench.engineer, again.id).expect(201);
    const { body: own } = await approval(bench.engineer, again.id).expect(403);
    expect(own.type).toBe("/problems/not-independent");
    const { body: approved } = await approval(bench.approver, again.id).expect(201);
    expect(approved).toMatchObject({ outcome: "accepted", disposition: "kept-in-service" });
    expect(await bench.lot(first.id)).toMatchObject({
      state: "closed",
      disposition: "tried-again",
      outcome: "not-accepted",
      secondTry: { lotId: again.id },
    });
    const { body: programme } = await bench.engineer.agent
      .get(`/api/programmes/${first.programmeId}`)
      .expect(200);
    expect(programme.counts).toMatchObject({
      lots: 1,
      members: 247,
      decided: 1,
      notAccepted: 0,
      sample: 262,
    });
    const { body: years } = await bench.engineer.agent
      .get(`/api/group-years?schemeCode=${scheme.code}`)
      .expect(200);
    expect(years.rows).toMatchObject([{ lotId: again.id, outcome: "accepted", n: 206, change: null }]);
  });
});

describe("a second try", () => {
  it("is refused after its last day, with the reason", async () => {
    const scheme = await bench.aScheme(byTable(small));
    const lot = await aGroup(scheme, 11, 2030);
    await tested(lot, "1 2 3 4 5 6", 1);
    // Decided so long ago as the owning role alone can set the database's clock to.
    const { rows } = await shop.admin.query<{ at: Date }>(
      "SELECT now() - make_interval(months => 3, days => 2) AS at",
    );
    const at = rows[0]?.at ?? new Date();
    await inTransaction(
      shop.admin,
      { id: bench.engineer.id, role: "quality-engineer", username: bench.engineer.username },
      async (tx) => {
        await tx.query("SELECT set_config('sealbook.demo_clock', $1, true)", [at.toISOString()]);
        await decide(tx, lot.id, {
          id: newId(),
          outcome: null,
          reason: "",
          steady: false,
          reducedApproved: false,
        });
      },
    );
    await approval(bench.approver, lot.id).expect(201);
    const late = await askAgain(lot.id);
    expect(slug(late)).toBe("refused-by-rule");
    expect(late.body.detail).toMatch(
      /^It could be asked for until \d{4}-\d{2}-\d{2}, 3 months after the lot was decided\.$/,
    );
    expect((await bench.lot(lot.id)).secondTry).toMatchObject({ refusal: late.body.detail, lotId: null });
  });

  it("that is given up leaves room for another; one that is not accepted leaves the group to its actions", async () => {
    const scheme = await bench.aScheme(byTable(small));
    const first = await refused(await aGroup(scheme, 12, 2031), "2 2 3 4 5 6", 1);
    const { body: givenUp } = await askAgain(first.id).expect(201);
    await bench.engineer.agent
      .post(`/api/lots/${givenUp.id}/withdrawal`)
      .set("if-match", `"${givenUp.version}"`)
      .send({ reason: "Asked for by mistake" })
      .expect(200);
    const { body: again } = await askAgain(first.id).expect(201);
    expect(again.number).toBe(`${first.number}-3`);
    const second = await refused(await listed(again.id), "5 5 5 1 2 3", 2);
    expect(second).toMatchObject({ outcome: "not-accepted", state: "approved", secondTry: { lotId: null } });
    expect(second.secondTry?.refusal).toContain("there is no third");
    expect(slug(await askAgain(second.id))).toBe("refused-by-rule");
    expect(await bench.lot(first.id)).toMatchObject({ disposition: "tried-again" });
    const action = {
      id: newId(),
      kind: "retire-by",
      detail: "Withdraw the whole group",
      ownerId: bench.approver.id,
      dueOn: "2031-12-31",
    };
    await bench.engineer.agent.post(`/api/lots/${second.id}/actions`).send(action).expect(201);
    expect((await bench.lot(second.id)).openActions).toBe(1);
  });

  it("is unknown to plans whose table or standard grants none, and to lots that were accepted", async () => {
    const { secondTry: _, ...without } = small;
    const lot = await refused(
      await aGroup(await bench.aScheme(byTable(without)), 13, 2032),
      "3 2 3 4 5 6",
      1,
    );
    expect(lot.secondTry).toBeNull();
    expect(slug(await askAgain(lot.id))).toBe("refused-by-rule");
    const accepted = await refused(
      await aGroup(await bench.aScheme(byTable(small)), 14, 2033),
      "4 2 3 4 5 6",
      0,
    );
    expect(accepted).toMatchObject({ outcome: "accepted", secondTry: null });
    expect(slug(await askAgain(accepted.id))).toBe("wrong-state");
  });
});
