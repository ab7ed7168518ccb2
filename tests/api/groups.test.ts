import { newId } from "@sealbook/api/platform/transaction";
import type { Programme } from "@sealbook/contract/groups";
import type { Scheme } from "@sealbook/contract/sampling-schemes";
import { afterAll, beforeAll, describe, expect, it, vi } from "vitest";
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
let scheme: Scheme;
let programme: Programme;
const numbers = (letter: string, count: number) =>
  Array.from({ length: count }, (_, place) => `${letter}${String(place).padStart(4, "0")}`);

beforeAll(async () => {
  shop = await testApp();
  bench = await samplingBench(shop);
  // Two types in two areas; one of them above the greatest lot, one below the least; some without a purchase date.
  const large = await bench.aType();
  const small = await bench.aType();
  await bench.inService(large, numbers("A", 130), { area: "North", purchasedOn: "2012-03-01" });
  await bench.inService(large, numbers("B", 120), { area: "=South", purchasedOn: "2013-09-01" });
  await bench.inService(large, numbers("C", 40), { area: "North", purchasedOn: "2016-01-01" });
  await bench.inService(small, numbers("D", 7), { purchasedOn: "2012-03-01" });
  await bench.inService(small, ["E0001"], { purchasedOn: null });
  scheme = await bench.aScheme({
    ...inServiceScheme,
    lotSize: { min: 20, max: 200, standAloneFrom: null },
    grouping: { years: 5, firmware: false, area: false, merge: "never" },
  });
  programme = await bench.aProgramme(scheme, {
    seed: { source: "system", announcement: null, notBefore: null },
  });
});
afterAll(async () => {
  await bench.close();
  await shop.close();
});

const slug = (reply: { body: { type?: string } }) => reply.body.type?.replace("/problems/", "");

describe("a programme", () => {
  it("forms, plans, lists and draws all groups in one job, and says what is left out", async () => {
    expect(programme).toMatchObject({
      state: "drawn",
      counts: { lots: 3, members: 290, done: 0, decided: 0 },
      progress: { done: 3, total: 3 },
      areas: ["=South", "North"],
    });
    expect(programme.leftOut).toEqual([
      { reason: "No purchase date on record: the year set is not known", meters: 1 },
      expect.objectContaining({ meters: 7, reason: expect.stringContaining("below the least lot of 20") }),
    ]);
    const lots = await bench.lotsOf(programme.id);
    // 250 above 200: two lots of 125; bought 2010 to 2014. 40 stand alone; bought 2015 to 2019.
    expect(
      lots.map(({ counts, title }) => [counts.members, /bought (\d+ to \d+)/.exec(title)?.[1]]).sort(),
    ).toEqual([
      [125, "2010 to 2014"],
      [125, "2010 to 2014"],
      [40, "2015 to 2019"],
    ]);
    // A split loses nobody, and each meter is in one lot.
    const { rows } = await shop.admin.query(
      `SELECT count(*)::int AS members, count(DISTINCT b.meter_id)::int AS meters FROM lot_member b JOIN lot l ON l.id = b.lot_id
       WHERE l.programme_id = $1`,
      [programme.id],
    );
    expect(rows[0]).toEqual({ members: 290, meters: 290 });
    for (const lot of lots) {
      expect(lot).toMatchObject({ state: "drawn", dueOn: "2026-12-31", kind: "in-service" });
      const [list] = lot.lists;
      expect(list?.draw?.seed).toMatch(/^[0-9a-f]{64}$/);
      expect((list?.entryId ?? "") < (list?.draw?.entryId ?? "")).toBe(true);
    }
  });

  it("is one a year and scheme, and for schemes in service alone", async () => {
    const post = (over: Record<string, unknown>) =>
      bench.engineer.agent.post("/api/programmes").send({
        id: newId(),
        year: 2026,
        name: "Again",
        schemeId: scheme.id,
        seed: { source: "system", announcement: null, notBefore: null },
        dueOn: "2026-12-31",
        ...over,
      });
    expect(slug(await post({}))).toBe("already-exists");
    expect(slug(await post({ schemeId: newId() }))).toBe("not-found");
    const unnamed = { source: "announced-number", announcement: null, notBefore: null };
    expect(slug(await post({ year: 2027, seed: unnamed }))).toBe("refused-by-rule");
  });

  it("gives its pull list by area as pages and as CSV that no spreadsheet runs", async () => {
    const sample = programme.counts.sample;
    const { body: page } = await bench.technician.agent
      .get(`/api/programmes/${programme.id}/pulls?limit=5`)
      .expect(200);
    expect(page.rows).toHaveLength(5);
    expect(page.rows[0].area).toBe("=South");
    const { body: north } = await bench.technician.agent
      .get(`/api/programmes/${programme.id}/pulls?limit=200&area=North`)
      .expect(200);
    expect(new Set(north.rows.map(({ area }: { area: string }) => area))).toEqual(new Set(["North"]));
    const csv = await bench.technician.agent.get(`/api/programmes/${programme.id}/pull-list`).expect(200);
    expect(csv.headers["content-disposition"]).toContain("attachment");
    const lines = csv.text.trimEnd().split("\r\n");
    expect(lines).toHaveLength(sample + 1);
    expect(lines[0]).toBe("Area,Service point,Address,Utility number,Serial,Form,Lot,Group,Place,State,Due");
    expect(lines[1]?.startsWith("'=South,")).toBe(true);
  });

  it("judges a group with meters that cannot be had, one not registering and one retired, and gives it an action", async () => {
    const lot = (await bench.lotsOf(programme.id)).find(({ counts }) => counts.members === 40);
    if (lot === undefined) throw new Error("the small group has its lot");
    const units = await bench.unitsOf(lot.id);
    const sample = units.filter(({ spare }) => !spare);
    const n = sample.length;
    const event = (position: number, kind: string, reason: string | null) => ({
      id: newId(),
      position,
      kind,
      reason,
      note: "",
    });
    const { body: followed } = await bench.technician.agent
      .post(`/api/lots/${lot.id}/events`)
      .set("idempotency-key", newId())
      .send({ events: [event(1, "retired", null), event(2, "not-reached", "customer-refused")] })
      .expect(200);
    // Customers who refuse are no reason for a spare under this scheme.
    expect(followed.calledUp).toMatchObject([{ place: 1, position: n + 1 }]);
    expect(followed.withoutSpare).toEqual([2]);
    const standing = (await bench.unitsOf(lot.id)).filter(({ state }) => state === "waiting");
    expect(standing).toHaveLength(n - 1);
    const [dead, ...rest] = standing;
    if (dead === undefined) throw new Error("someone is waiting");
    await bench.deadMeter(dead);
    for (const [place, unit] of rest.entries()) await bench.test(unit, place % 2 === 0 ? "101.9" : "97.8");

    const { body: tally } = await bench.engineer.agent.get(`/api/lots/${lot.id}/evaluation`).expect(200);
    expect(tally).toMatchObject({
      waiting: 0,
      outcome: "person-decides",
      characteristics: [{ leftOut: 1, untestable: 1, counted: n - 1 }],
    });
    const { body: decided } = await decision(bench.engineer, lot.id, {
      outcome: "not-accepted",
      reason: "The estimate is far above M even without the two",
    }).expect(201);
    expect(decided).toMatchObject({
      decision: { byPerson: true },
      counts: { done: n, leftOut: 1, sparesUsed: 1 },
    });
    await approval(bench.approver, lot.id).expect(201);
    const action = {
      id: newId(),
      kind: "accelerate",
      detail: "Test the rest of the group within a year",
      ownerId: bench.approver.id,
      dueOn: "2027-11-30",
    };
    const { body: added } = await bench.engineer.agent
      .post(`/api/lots/${lot.id}/actions`)
      .send(action)
      .expect(201);
    const { body: open } = await bench.engineer.agent.get("/api/corrective-actions?state=open").expect(200);
    expect(open.rows).toMatchObject([{ id: action.id, lotNumber: lot.number }]);
    const done = {
      ownerId: bench.approver.id,
      dueOn: "2027-11-30",
      doneOn: "2027-10-02",
      doneNote: "All tested",
      reason: "The group was tested whole",
    };
    const put = (version: number) =>
      bench.engineer.agent
        .put(`/api/corrective-actions/${action.id}`)
        .set("if-match", `"${version}"`)
        .send(done);
    expect(slug(await put(added.version + 1))).toBe("stale");
    const reason = "The rest of the group was tested and is within limits";
    const close = async (by = bench.engineer) =>
      by.agent
        .post(`/api/lots/${lot.id}/closure`)
        .set("if-match", `"${(await bench.lot(lot.id)).version}"`)
        .send({ reason });
    const early = await close();
    expect(slug(early)).toBe("refused-by-rule");
    expect(JSON.stringify(early.body)).toContain("Test the rest of the group within a year (due 2027-11-30)");
    // Nor does the database close it, whatever the server does.
    await expect(
      shop.admin.query(
        "UPDATE lot SET state = 'closed', disposition = 'corrected', entry_id = entry_id WHERE id = $1",
        [lot.id],
      ),
    ).rejects.toMatchObject({
      code: "23001",
      message: expect.stringContaining("corrective actions are done"),
    });
    const { body: finished } = await put(added.version).expect(200);
    expect(await bench.lot(lot.id)).toMatchObject({
      openActions: 0,
      outcome: "not-accepted",
      state: "approved",
    });
    expect((await close(bench.technician)).status).toBe(403);
    const { body: closed } = await close();
    expect(closed).toMatchObject({ state: "closed", disposition: "corrected", outcome: "not-accepted" });
    const { body: entry } = await bench.engineer.agent.get(`/api/ledger/${closed.entryId}`).expect(200);
    expect(entry).toMatchObject({ action: "lot.dispose", reason });
    expect(JSON.parse(entry.payload)).toEqual({ disposition: "corrected", actions: [action.id] });
    expect(slug(await close())).toBe("wrong-state");
    const { body: listed } = await bench.engineer.agent
      .get(`/api/lots?programmeId=${programme.id}&state=closed`)
      .expect(200);
    expect(listed.rows).toMatchObject([{ id: lot.id, disposition: "corrected" }]);
    // What it was closed on stands: no further action, and none opens again.
    const further = await bench.engineer.agent
      .post(`/api/lots/${lot.id}/actions`)
      .send({ ...action, id: newId() });
    expect(slug(further)).toBe("wrong-state");
    const reopened = await bench.engineer.agent
      .put(`/api/corrective-actions/${action.id}`)
      .set("if-match", `"${finished.version}"`)
      .send({ ...done, doneOn: null });
    expect(slug(reopened)).toBe("wrong-state");
    const { body: years } = await bench.engineer.agent
      .get(`/api/group-years?schemeCode=${scheme.code}`)
      .expect(200);
    expect(years.rows).toMatchObject([{ series: lot.series, year: 2026, n: n - 1, change: null }]);
    const { body: whole } = await bench.engineer.agent.get(`/api/programmes/${programme.id}`).expect(200);
    expect(whole.counts).toMatchObject({ decided: 1, notAccepted: 1, done: n });
  });

  it("draws all its lists with a number that was announced, in a job, when it has come", async () => {
    const notBefore = new Date(Date.now() + 2_500).toISOString();
    const formed = await bench.aProgramme(scheme, {
      year: 2027,
      seed: {
        source: "announced-number",
        announcement: "Evening number of the invented state lottery of today",
        notBefore,
      },
    });
    expect(formed.state).toBe("formed");
    const draw = (version: number, seed: string | null) =>
      bench.engineer.agent
        .post(`/api/programmes/${formed.id}/draw`)
        .set("if-match", `"${version}"`)
        .send({ seed });
    expect(slug(await draw(formed.version + 5, "77 031"))).toBe("stale");
    expect(slug(await draw(formed.version, null))).toBe("refused-by-rule");
    await vi.waitFor(
      async () => {
        const reply = await draw(formed.version, "77 031");
        if (reply.status !== 202) throw new Error(JSON.stringify(reply.body));
      },
      { timeout: 10_000, interval: 300 },
    );
    await vi.waitFor(
      async () => {
        const { body } = await bench.engineer.agent.get(`/api/programmes/${formed.id}`).expect(200);
        expect(body.state).toBe("drawn");
      },
      { timeout: 20_000, interval: 200 },
    );
    const lots = await bench.lotsOf(formed.id);
    expect(lots).toHaveLength(3);
    expect(new Set(lots.map(({ lists }) => lists[0]?.draw?.seed))).toEqual(new Set(["77 031"]));
    expect(new Set(lots.map(({ lists }) => lists[0]?.draw?.key)).size).toBe(3);
    // The series of the year before go on.
    const before = new Set((await bench.lotsOf(programme.id)).map(({ series }) => series));
    expect(lots.every(({ series }) => before.has(series))).toBe(true);
  });

  it("lets a split go on from the series that its meters were in", async () => {
    const { body: revised } = await bench.engineer.agent
      .post("/api/sampling-schemes")
      .send({
        id: newId(),
        code: scheme.code,
        revision: 2,
        name: "Smaller lots",
        body: { ...scheme.body, lotSize: { min: 15, max: 30, standAloneFrom: null } },
        reason: "Smaller lots from now on",
      })
      .expect(201);
    const old = await bench.engineer.agent.post("/api/programmes").send({
      id: newId(),
      year: 2028,
      name: "Old revision",
      schemeId: scheme.id,
      seed: { source: "system", announcement: null, notBefore: null },
      dueOn: "2028-12-31",
    });
    expect(slug(old)).toBe("refused-by-rule");
    const next = await bench.aProgramme(revised, {
      year: 2028,
      seed: { source: "system", announcement: null, notBefore: null },
    });
    // 250 by 30: nine lots of 27 or 28; 40 by 30: two of 20.
    const lots = await bench.lotsOf(next.id);
    expect(lots.map(({ counts }) => counts.members).sort((a, b) => a - b)).toEqual([
      20, 20, 27, 27, 28, 28, 28, 28, 28, 28, 28,
    ]);
    const small = (await bench.lotsOf(programme.id)).find(({ counts }) => counts.members === 40);
    for (const lot of lots.filter(({ counts }) => counts.members === 20)) {
      expect(lot.inherits).toEqual([small?.series]);
      expect(lot.plan?.characteristics[0]?.reasons.join(" ")).toContain(
        "goes on from another: normal inspection",
      );
    }
  });
});
