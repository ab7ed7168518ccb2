import { keepDueDates } from "@sealbook/api/modules/due/keep-due-dates";
import { adoptProfile } from "@sealbook/api/modules/profiles/profiles";
import { createServicePoint } from "@sealbook/api/modules/service-points/service-points";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { DueRow } from "@sealbook/contract/due";
import { intervalFor } from "@sealbook/metrology/profiles/interval-for";
import { northCarolina } from "@sealbook/metrology/profiles/places/north-carolina";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp } from "../support/app.ts";
import { daysFromNow, type MeterBench, meterBench } from "../support/meter-bench.ts";

let shop: TestApp;
let bench: MeterBench;
let typeId: string;
let supervisor: SignedIn;
let today: string;

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  typeId = await bench.aType(await bench.aPlan());
  supervisor = await shop.signIn("supervisor");
  today = (await supervisor.agent.get("/api/shop").expect(200)).body.today;
  await inTransaction(shop.admin, null, (tx) =>
    adoptProfile(tx, {
      ...northCarolina,
      version: String(Number(northCarolina.version) + 1),
      intervals: [
        {
          appliesTo: "polyphase meters",
          selector: { phases: "polyphase" },
          months: 1,
          source: "invented rule 7",
        },
      ],
    }),
  );
  await keepDueDates({ pool: shop.admin });
});
afterAll(() => shop.close());

async function aMeterInService(area = "Quillmoor West") {
  const id = newId();
  await inTransaction(shop.admin, null, (tx) =>
    createServicePoint(tx, {
      id,
      number: `SP${id.slice(-8)}`,
      address: "1 Heron Row",
      area,
      jurisdiction: "us-nc",
    }),
  );
  return await bench.aMeter(typeId, id);
}

const due = async (query: Record<string, unknown> = {}, who: SignedIn = bench.technician) => {
  const rows: DueRow[] = [];
  let cursor: string | null = null;
  do {
    const reply: { body: { rows: DueRow[]; next: string | null } } = await who.agent
      .get("/api/due")
      .query({ limit: 2, ...query, ...(cursor === null ? {} : { cursor }) })
      .expect(200);
    rows.push(...reply.body.rows);
    cursor = reply.body.next;
  } while (cursor !== null);
  return rows;
};
const ask = async (meterId: string, dueOn: string | null, over: Record<string, unknown> = {}) => {
  const reply = await bench.technician.agent
    .post("/api/work-items")
    .send({ id: newId(), meterId, reason: "investigation", dueOn, note: "", ...over });
  expect(reply.status, JSON.stringify(reply.body)).toBe(201);
  return reply.body as { id: string; version: number };
};

describe("the interval of a type", () => {
  const interval = (selector: object | undefined) =>
    intervalFor(
      {
        intervals: [
          { appliesTo: "x", ...(selector === undefined ? {} : { selector }), months: 12, source: "s" },
        ],
      },
      { technology: "solid-state", phases: 3, accuracyClass: "0.2", connection: "transformer" },
    );
  it.each([
    [{}, true],
    [{ technology: "solid-state" }, true],
    [{ technology: "electromechanical" }, false],
    [{ phases: "polyphase" }, true],
    [{ phases: "single-phase" }, false],
    [{ accuracyClasses: ["0.2", "0.5"] }, true],
    [{ accuracyClasses: ["1"] }, false],
    [{ connection: "transformer", phases: "polyphase" }, true],
    [{ connection: "direct", phases: "polyphase" }, false],
    [undefined, false],
  ])("with the selector %j fits: %s", (selector, fits) => {
    expect(interval(selector)).toEqual(fits ? { months: 12, source: "s" } : null);
  });
});

describe("due work", () => {
  it("has the periodic test of a meter in service, from the day it was set, by the rule that says so", async () => {
    const meter = await aMeterInService();
    const [row] = (await due({ kind: "periodic" })).filter(({ id }) => id === meter.id);
    const set = new Date(`${today}T00:00:00Z`);
    const lastOfNext = new Date(Date.UTC(set.getUTCFullYear(), set.getUTCMonth() + 2, 0)).getUTCDate();
    const expected = new Date(
      Date.UTC(set.getUTCFullYear(), set.getUTCMonth() + 1, Math.min(set.getUTCDate(), lastOfNext)),
    );
    expect(row).toMatchObject({
      dueOn: expected.toISOString().slice(0, 10),
      name: meter.utilityNumber,
      note: "invented rule 7",
    });
  });

  it("counts a periodic test once: as work, once somebody has taken it", async () => {
    const meter = await aMeterInService();
    const before = (await due()).filter(({ meterId }) => meterId === meter.id);
    expect(before.map(({ kind }) => kind)).toEqual(["periodic"]);
    await ask(meter.id, before[0]?.dueOn ?? null, { reason: "periodic", assigneeId: bench.technician.id });
    const after = (await due()).filter(({ meterId }) => meterId === meter.id);
    expect(after.map(({ kind, assignee }) => [kind, assignee?.id])).toEqual([["asked", bench.technician.id]]);
  });

  it("has standards by their calibration, and asked tests; what has no date comes last", async () => {
    const meter = await bench.aMeter(typeId);
    await ask(meter.id, null);
    await ask(meter.id, "2001-01-01", { reason: "referee" });
    const rows = await due();
    expect(rows[0]?.dueOn).toBe("2001-01-01");
    expect(rows.at(-1)?.dueOn).toBeNull();
    const dates = rows.map(({ dueOn }) => dueOn ?? "infinity");
    expect(dates).toEqual(dates.toSorted());
    expect(rows.filter(({ kind, id }) => kind === "standard" && id === bench.standardId)).toHaveLength(1);
    expect(new Set(rows.map(({ kind, id }) => kind + id)).size).toBe(rows.length);
  });

  it("is told apart by area and by person", async () => {
    const meter = await aMeterInService("Far Fells");
    const work = await ask(meter.id, daysFromNow(3), { assigneeId: bench.technician.id });
    expect((await due({ area: "Far Fells" })).map(({ id }) => id).toSorted()).toEqual(
      [meter.id, work.id].toSorted(),
    );
    expect((await due({ area: "Far Fells", assigneeId: bench.technician.id })).map(({ id }) => id)).toEqual([
      work.id,
    ]);
    expect((await due({ area: "Far Fells", unassigned: "true" })).map(({ id }) => id)).toEqual([meter.id]);
    for (const kind of ["sample", "standard"]) expect(await due({ area: "Far Fells", kind })).toEqual([]);
  });

  it("has a calendar whose counts are those of the lists", async () => {
    const month = today.slice(0, 7);
    const months = [
      month,
      new Date(Date.UTC(Number(month.slice(0, 4)), Number(month.slice(5)), 1)).toISOString().slice(0, 7),
    ];
    let counted = 0;
    for (const filter of [
      {},
      { area: "Far Fells" },
      { unassigned: "true" },
      { assigneeId: bench.technician.id },
      { kind: "asked" },
      { kind: "periodic" },
    ]) {
      for (const one of months) {
        const { body } = await bench.technician.agent
          .get("/api/due/calendar")
          .query({ ...filter, month: one })
          .expect(200);
        expect(body.today).toBe(today);
        const lastDay = new Date(Date.UTC(Number(one.slice(0, 4)), Number(one.slice(5)), 0))
          .toISOString()
          .slice(0, 10);
        const rows = await due({ ...filter, from: `${one}-01`, to: lastDay });
        const byDay = new Map<string, number>();
        for (const { dueOn, kind } of rows)
          byDay.set(`${dueOn} ${kind}`, (byDay.get(`${dueOn} ${kind}`) ?? 0) + 1);
        expect(
          new Map(
            body.days.map((day: { on: string; kind: string; count: number }) => [
              `${day.on} ${day.kind}`,
              day.count,
            ]),
          ),
        ).toEqual(byDay);
        const yesterday = new Date(Date.parse(`${today}T00:00:00Z`) - 86_400_000).toISOString().slice(0, 10);
        expect(body.late).toEqual({ count: (await due({ ...filter, to: yesterday })).length, more: false });
        counted += rows.length;
      }
    }
    expect(counted).toBeGreaterThan(3);
  });
});

describe("taking work", () => {
  it("is a technician's for themselves, and a supervisor's for others; each step is in the ledger", async () => {
    const meter = await bench.aMeter(typeId);
    const work = await ask(meter.id, null);
    const colleague = await shop.signIn("technician");
    const assign = (who: SignedIn, version: number, assigneeId: string | null) =>
      who.agent
        .put(`/api/work-items/${work.id}/assignee`)
        .set("if-match", `"${version}"`)
        .send({ assigneeId });
    const taken = await assign(bench.technician, 1, bench.technician.id).expect(200);
    expect(taken.body).toMatchObject({ assignee: { id: bench.technician.id }, version: 2 });
    await assign(colleague, 2, colleague.id).expect(403);
    await assign(bench.technician, 2, colleague.id).expect(403);
    await assign(supervisor, 1, colleague.id).expect(412);
    await assign(supervisor, 2, colleague.id).expect(200);
    const clerk = await shop.signIn("storekeeper");
    const refused = await assign(supervisor, 3, clerk.id).expect(422);
    expect(refused.body.errors[0].pointer).toBe("/assigneeId");
    await assign(clerk, 3, null).expect(403);
    await assign(colleague, 3, null).expect(200);
    const { rows } = await shop.admin.query<{ payload: string }>(
      "SELECT payload FROM ledger_entry WHERE action = 'workItem.assign' AND subject_id = $1 ORDER BY id",
      [work.id],
    );
    expect(rows.map(({ payload }) => JSON.parse(payload).after.assigneeId)).toEqual([
      bench.technician.id,
      colleague.id,
      null,
    ]);
  });
});
