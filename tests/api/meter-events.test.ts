import { moveMeterTray } from "@sealbook/api/modules/meters/move-meters";
import { createPlace } from "@sealbook/api/modules/places/places";
import { addServicePoints } from "@sealbook/api/modules/service-points/service-points";
import { inTransaction, newId, type Tx } from "@sealbook/api/platform/transaction";
import type { LineProblem, StoryItem } from "@sealbook/contract/meter-events";
import type { Meter } from "@sealbook/contract/meters";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp } from "../support/app.ts";
import { type MeterBench, meterBench } from "../support/meter-bench.ts";

// What a meter may do in each state is common practice, no source: the words are those of the table in
// metrology/life-cycle, the expectations here are the trade's.

let shop: TestApp;
let bench: MeterBench;
let storekeeper: SignedIn;
let supervisor: SignedIn;
let engineer: SignedIn;
let typeId: string;
let planId: string;
const storeId = newId();
const shelfId = newId();
const vanId = newId();

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  storekeeper = await shop.signIn("storekeeper");
  supervisor = await shop.signIn("supervisor");
  engineer = await shop.signIn("quality-engineer");
  const plan = await bench.aPlan();
  planId = plan.id;
  typeId = await bench.aType(plan);
  await inTransaction(shop.admin, null, async (tx) => {
    await createPlace(tx, { id: storeId, kind: "store", name: "Main store" });
    await createPlace(tx, { id: shelfId, kind: "shelf", name: "shelf A", parentId: storeId });
    await createPlace(tx, { id: vanId, kind: "van", name: "Van 12" });
  });
});
afterAll(() => shop.close());

const slug = (reply: { body: { type?: string } }) => reply.body.type?.replace("/problems/", "");
const daysAgo = (days: number) => new Date(Date.now() - days * 86_400_000).toISOString();

let made = 0;
async function aPoint(): Promise<string> {
  const id = newId();
  made += 1;
  await inTransaction(shop.admin, null, (tx) =>
    addServicePoints(tx, [
      { id, number: `SP-${made}`, address: `${made} Larch Lane`, area: "North", jurisdiction: "us-nc" },
    ]),
  );
  return id;
}

const receipt = (lines: { serial: string; utilityNumber: string }[], over: Record<string, unknown> = {}) => ({
  ...{ typeId, owner: "utility", placeId: storeId, purchasedOn: null, performedAt: daysAgo(300) },
  ...{ firmware: "", program: "", reason: "Shipment taken in", lines },
  ...over,
});

/** So many meters, received three hundred days ago; their ids by utility number. */
async function received(count: number): Promise<Map<string, string>> {
  const lines = Array.from({ length: count }, () => {
    made += 1;
    return { serial: `E${made}`, utilityNumber: `0${7_000_000 + made}` };
  });
  await storekeeper.agent
    .post("/api/meter-receipts")
    .send({ id: newId(), ...receipt(lines), onlyGood: false, expected: count })
    .expect(201);
  const { rows } = await shop.admin.query<{ id: string; utility_number: string }>(
    "SELECT id, utility_number FROM meter WHERE utility_number = ANY ($1)",
    [lines.map(({ utilityNumber }) => utilityNumber)],
  );
  return new Map(rows.map(({ id, utility_number }) => [utility_number, id]));
}

async function oneReceived(): Promise<{ id: string; number: string }> {
  const [[number, id] = ["", ""]] = await received(1);
  return { id, number };
}

const event = (meterId: string, kind: string, over: Record<string, unknown> = {}, by = storekeeper) =>
  by.agent.post(`/api/meters/${meterId}/events`).send({
    ...{ id: newId(), kind, performedAt: null, placeId: null, registerReading: null, readingNote: null },
    ...{ sealsOn: [], sealsOff: [], reason: "" },
    ...over,
  });

const tray = (
  numbers: readonly string[],
  kind: string,
  placeId: string | null,
  over: Record<string, unknown> = {},
) => ({
  ...{ kind, performedAt: null, placeId, reason: "" },
  lines: numbers.map((number) => ({ number, registerReading: null, readingNote: null })),
  ...over,
});

const move = (body: Record<string, unknown>, over: { onlyGood?: boolean; expected: number }) =>
  storekeeper.agent.post("/api/meter-moves").send({ id: newId(), ...body, onlyGood: false, ...over });

const check = async (body: Record<string, unknown>) =>
  (await storekeeper.agent.post("/api/meter-moves/check").send(body).expect(200)).body as {
    ready: number;
    problems: LineProblem[];
  };

const whereIs = async (id: string) => {
  const { body } = await storekeeper.agent.get(`/api/meters/${id}`).expect(200);
  const meter = body as Meter;
  return [meter.state, meter.place.name];
};

const storyOf = async (id: string) =>
  (await storekeeper.agent.get(`/api/meters/${id}/story`).expect(200)).body.rows as StoryItem[];

/** A meter in service at a point of its own since two hundred days. */
async function inService(reading = "12"): Promise<{ id: string; number: string; pointId: string }> {
  const { id, number } = await oneReceived();
  const pointId = await aPoint();
  await event(id, "stock", { placeId: shelfId, performedAt: daysAgo(280) }).expect(201);
  await event(id, "set", { placeId: pointId, performedAt: daysAgo(200), registerReading: reading }).expect(
    201,
  );
  return { id, number, pointId };
}

describe("a meter's life", () => {
  it("goes from receipt to disposal, each step where it leads", async () => {
    const { id } = await oneReceived();
    const pointId = await aPoint();
    expect(await whereIs(id)).toEqual(["received", "Main store"]);
    await event(id, "stock", { placeId: shelfId }).expect(201);
    expect(await whereIs(id)).toEqual(["in-stock", "Main store, shelf A"]);
    await event(id, "issue", { placeId: vanId }).expect(201);
    expect(await whereIs(id)).toEqual(["issued", "Van 12"]);
    await event(id, "set", { placeId: pointId, registerReading: "00012" }).expect(201);
    expect((await whereIs(id))[0]).toBe("in-service");
    await event(id, "remove", { placeId: vanId, registerReading: "00450" }).expect(201);
    await event(id, "return", { placeId: bench.placeId }).expect(201);
    await event(id, "repair", { reason: "New battery" }).expect(201);
    expect((await whereIs(id))[0]).toBe("in-shop");
    await event(id, "retire", { placeId: storeId, reason: "Not worth repair" }).expect(201);
    await event(id, "dispose", { reason: "Scrap merchant" }).expect(201);
    expect(await whereIs(id)).toEqual(["disposed", "Main store"]);
    const kinds = (await storyOf(id)).map((item) => (item.kind === "event" ? item.event : item.kind));
    expect(kinds).toEqual(
      ["receive", "stock", "issue", "set", "remove", "return", "repair", "retire", "dispose"].reverse(),
    );
  });

  it("refuses an illegal move and says what alone could be done", async () => {
    const { id, number } = await oneReceived();
    await event(id, "stock", { placeId: shelfId }).expect(201);
    const reply = await event(id, "remove", { placeId: vanId, registerReading: "5" }).expect(422);
    expect(slug(reply)).toBe("illegal-move");
    expect(reply.body.detail).toBe(`${number} is in stock; only a meter in service can be removed.`);
    expect(slug(await event(id, "dispose", { reason: "Scrap merchant" }))).toBe("illegal-move");
    expect(await whereIs(id)).toEqual(["in-stock", "Main store, shelf A"]);
  });

  it.each([
    [
      "a place of a kind to which it does not lead",
      "stock",
      () => ({ placeId: vanId }),
      "Van 12 is a van; this leads to: shop, store room, shelf.",
    ],
    ["no place where one is needed", "stock", () => ({}), "Say where it leads: shop, store room, shelf."],
    [
      "a moment in the future",
      "stock",
      () => ({ placeId: shelfId, performedAt: daysAgo(-1) }),
      "This lies in the future; correct the date or the time.",
    ],
    ["a retirement without a reason", "retire", () => ({ placeId: storeId }), "Say in a few words why."],
  ])("refuses %s", async (_, kind, over, detail) => {
    const { id } = await oneReceived();
    const reply = await event(id, kind, over()).expect(422);
    expect([slug(reply), reply.body.detail]).toEqual(["refused-by-rule", detail]);
  });

  it("tells a back-dated event what it would break, and takes it once that is taken back", async () => {
    const { id, number } = await inService();
    const late = { placeId: storeId, performedAt: daysAgo(250), reason: "Found broken on the shelf" };
    const reply = await event(id, "retire", late).expect(422);
    expect(slug(reply)).toBe("illegal-move");
    expect(reply.body.detail).toMatch(
      new RegExp(
        `^${number}: this would break what is on record after it: "Set at a service point" on \\d{4}-\\d\\d-\\d\\d \\d\\d:\\d\\d \\(it would find the meter retired;`,
      ),
    );
    const set = (await storyOf(id)).find((item) => item.kind === "event" && item.event === "set");
    await storekeeper.agent
      .post(`/api/meter-events/${set?.id}/take-back`)
      .send({ id: newId(), reason: "It was another meter" })
      .expect(201);
    expect(await whereIs(id)).toEqual(["in-stock", "Main store, shelf A"]);
    await event(id, "retire", late).expect(201);
    expect((await whereIs(id))[0]).toBe("retired");
  });

  it("takes a back-dated event that breaks nothing, and stays where the last one put it", async () => {
    const { id } = await inService();
    await event(id, "issue", { placeId: vanId, performedAt: daysAgo(201) }).expect(201);
    expect((await whereIs(id))[0]).toBe("in-service");
  });
});

describe("what was recorded in error", () => {
  it("is taken back by a counter-event that names it, and both stay on record", async () => {
    const { id } = await oneReceived();
    await event(id, "stock", { placeId: shelfId }).expect(201);
    const [stocked] = await storyOf(id);
    const takeBack = () =>
      storekeeper.agent
        .post(`/api/meter-events/${stocked?.id}/take-back`)
        .send({ id: newId(), reason: "Wrong meter scanned" });
    await takeBack().expect(201);
    expect(await whereIs(id)).toEqual(["received", "Main store"]);
    const [back, was] = await storyOf(id);
    expect(back).toMatchObject({ event: "take-back", takesBack: { id: stocked?.id, kind: "stock" } });
    expect(was).toMatchObject({ event: "stock", takenBackBy: { reason: "Wrong meter scanned" } });
    expect(slug(await takeBack().expect(409))).toBe("already-exists");
  });

  it("cannot be the event by which the meter came into the book, nor one that later ones lean on", async () => {
    const { id, number } = await inService();
    const story = await storyOf(id);
    const of = (kind: string) => story.find((item) => item.kind === "event" && item.event === kind)?.id;
    const takeBack = (eventId: string | undefined) =>
      storekeeper.agent
        .post(`/api/meter-events/${eventId}/take-back`)
        .send({ id: newId(), reason: "Recorded in error" });
    expect((await takeBack(of("receive")).expect(422)).body.detail).toContain(number);
    const reply = await takeBack(of("stock")).expect(422);
    expect(reply.body.detail).toMatch(/would find the meter received; only a meter that is in stock, issued/);
  });
});

describe("a register reading", () => {
  it("is asked for when a meter is set or removed, unless it cannot be read", async () => {
    const { id } = await inService();
    const reply = await event(id, "remove", { placeId: vanId }).expect(422);
    expect(reply.body.errors[0].pointer).toBe("/registerReading");
    await event(id, "remove", { placeId: vanId, readingNote: "not-readable" }).expect(201);
  });

  it("that is lower than the one before is asked about, and kept with the answer", async () => {
    const { id } = await inService("99990");
    const removal = { placeId: vanId, registerReading: "00015" };
    const reply = await event(id, "remove", removal).expect(422);
    expect(reply.body.detail).toContain("lower than 99990");
    await event(id, "remove", { ...removal, readingNote: "rolled-over" }).expect(201);
    expect((await storyOf(id))[0]).toMatchObject({ registerReading: "15", readingNote: "rolled-over" });
  });

  it("has no more digits than the register has dials", async () => {
    const { id } = await inService();
    const reply = await event(id, "remove", { placeId: vanId, registerReading: "1234567890" }).expect(422);
    expect(reply.body.detail).toMatch(/the register has \d dials/);
  });
});

describe("a service point", () => {
  it("has one meter at a time", async () => {
    const { number, pointId, id } = await inService();
    const next = await oneReceived();
    await event(next.id, "stock", { placeId: shelfId }).expect(201);
    const set = { placeId: pointId, registerReading: "0" };
    const reply = await event(next.id, "set", set).expect(422);
    expect(reply.body.detail).toContain(`has meter ${number}, set on`);
    await event(id, "remove", { placeId: vanId, registerReading: "77" }).expect(201);
    await event(next.id, "set", set).expect(201);
  });

  it("takes one of two meters that two people set at the same moment", async () => {
    const pointId = await aPoint();
    const ids = [...(await received(2)).values()];
    for (const id of ids) await event(id, "stock", { placeId: shelfId }).expect(201);
    const set = { placeId: pointId, registerReading: "0" };
    const replies = await Promise.all([
      event(ids[0] ?? "", "set", set),
      event(ids[1] ?? "", "set", set, supervisor),
    ]);
    expect(replies.map(({ status }) => status).sort()).toEqual([201, 422]);
  });
});

describe("seals", () => {
  it("go on and off by event, with their numbers", async () => {
    const { id } = await inService();
    await event(id, "seal", { sealsOn: ["Q1", "Q2"] }).expect(201);
    await event(id, "seal", { sealsOff: ["Q1"], sealsOn: ["Q3"] }).expect(201);
    expect((await storekeeper.agent.get(`/api/meters/${id}`)).body.seals).toEqual(["Q2", "Q3"]);
    expect(slug(await event(id, "seal", {}))).toBe("refused-by-rule");
    const [last] = await storyOf(id);
    await storekeeper.agent
      .post(`/api/meter-events/${last?.id}/take-back`)
      .send({ id: newId(), reason: "Another meter's seals" })
      .expect(201);
    expect((await storekeeper.agent.get(`/api/meters/${id}`)).body.seals).toEqual(["Q1", "Q2"]);
  });
});

describe("a legal hold", () => {
  const hold = (meterId: string, by = engineer) =>
    by.agent
      .post(`/api/meters/${meterId}/holds`)
      .send({ id: newId(), reason: "Referee test of a complaint" });
  const lift = (holdId: string, by = engineer) =>
    by.agent
      .post(`/api/meter-holds/${holdId}/lift`)
      .set("idempotency-key", newId())
      .send({ reason: "The referee has spoken" });

  it("stops every event, alone and in a tray, until who placed it lifts it", async () => {
    const { id, number } = await inService();
    const { body } = await hold(id).expect(201);
    const reply = await event(id, "remove", { placeId: vanId, registerReading: "50" }).expect(422);
    expect(slug(reply)).toBe("meter-held");
    expect(reply.body.detail).toContain("Referee test of a complaint");
    expect((await check(tray([number], "remove", vanId))).problems).toMatchObject([{ code: "held" }]);
    const [set] = (await storyOf(id)).filter(({ kind }) => kind === "event");
    const back = await storekeeper.agent
      .post(`/api/meter-events/${set?.id}/take-back`)
      .send({ id: newId(), reason: "Recorded in error" });
    expect(slug(back)).toBe("meter-held");

    expect((await lift(body.id, supervisor).expect(422)).body.detail).toMatch(
      /^Only quality-engineer number/,
    );
    await lift(body.id).expect(204);
    expect(slug(await lift(body.id).expect(409))).toBe("already-exists");
    await event(id, "remove", { placeId: vanId, registerReading: "50" }).expect(201);
    const kinds = (await storyOf(id)).map((item) => (item.kind === "event" ? item.event : item.kind));
    expect(kinds.slice(0, 3)).toEqual(["remove", "lift", "hold"]);
  });

  it("lets the meter be tested as found and not adjusted", async () => {
    const meter = await bench.aMeter(typeId);
    await hold(meter.id).expect(201);
    const test = bench.aTest(meter.id, planId);
    if (test.outcome.kind !== "tested") throw new Error("the bench's test is one");
    const adjusted = {
      ...test,
      id: newId(),
      outcome: {
        ...test.outcome,
        asLeft: { kind: "entered", pass: test.outcome.asFound, adjustment: "Cleaned" },
      },
    };
    const reply = await bench.technician.agent.post("/api/meter-tests").send(adjusted).expect(422);
    expect(reply.body.errors).toMatchObject([{ pointer: "/outcome/asLeft" }]);
    await bench.technician.agent.post("/api/meter-tests").send(test).expect(201);
  });

  it("is lifted by a supervisor once the account that placed it is closed", async () => {
    const { id } = await oneReceived();
    const other = await shop.signIn("quality-engineer");
    const { body } = await hold(id, other).expect(201);
    await lift(body.id, supervisor).expect(422);
    const administrator = await shop.signIn("administrator");
    const { rows } = await shop.admin.query<{ version: number; name: string }>(
      "SELECT a.version, v.value AS name FROM account a JOIN personal_value v ON v.id = a.name_id WHERE a.id = $1",
      [other.id],
    );
    await administrator.agent
      .put(`/api/people/${other.id}`)
      .set("if-match", `"${rows[0]?.version}"`)
      .send({ name: rows[0]?.name, role: "quality-engineer", active: false, reason: "Has left the shop" })
      .expect(200);
    await lift(body.id, supervisor).expect(204);
  });
});

describe("a tray", () => {
  it("is looked through line by line, then moved whole or its good lines alone", async () => {
    const numbers = [...(await received(5)).keys()];
    const [, held] = [...(await received(1))][0] ?? [];
    const [heldNumber] = (
      await shop.admin.query("SELECT utility_number FROM meter WHERE id = $1", [held])
    ).rows.map(({ utility_number }) => utility_number as string);
    await engineer.agent
      .post(`/api/meters/${held}/holds`)
      .send({ id: newId(), reason: "Evidence in a case" })
      .expect(201);
    const service = await inService();
    const serial = (
      await shop.admin.query("SELECT serial FROM meter WHERE utility_number = $1", [numbers[0]])
    ).rows[0].serial as string;
    const list = [...numbers, serial, "NO-SUCH", heldNumber ?? "", service.number];
    const preview = await check(tray(list, "stock", shelfId));
    expect(preview.ready).toBe(5);
    expect(preview.problems.map(({ line, code }) => [line, code])).toEqual([
      [6, "twice"],
      [7, "unknown"],
      [8, "held"],
      [9, "illegal"],
    ]);
    expect(preview.problems[3]?.detail).toBe(
      `${service.number} is in service; only a meter that is received, in stock, issued, removed or in the shop can be put in stock.`,
    );
    const whole = await move(tray(list, "stock", shelfId), { expected: 5 }).expect(422);
    expect(whole.body.errors.map(({ pointer }: { pointer: string }) => pointer)).toEqual([
      "/lines/5",
      "/lines/6",
      "/lines/7",
      "/lines/8",
    ]);
    const moved = await move(tray(list, "stock", shelfId), { onlyGood: true, expected: 5 }).expect(201);
    expect(moved.body.move).toMatchObject({
      kind: "stock",
      meters: 5,
      place: { name: "Main store, shelf A" },
    });
    expect(moved.body.leftOut).toHaveLength(4);
    const { rows } = await shop.admin.query(
      "SELECT DISTINCT entry_id FROM meter WHERE utility_number = ANY ($1) AND state = 'in-stock'",
      [numbers],
    );
    expect(rows).toEqual([{ entry_id: moved.body.move.entryId }]);
    // One entry binds every row of the tray.
    const entry = await storekeeper.agent.get(`/api/ledger/${moved.body.move.entryId}`).expect(200);
    expect(JSON.parse(entry.body.payload).rows).toHaveLength(5);
  });

  it("that changed between the look and the word is not moved", async () => {
    const numbers = [...(await received(3)).keys()];
    const reply = await move(tray(numbers, "stock", shelfId), { expected: 2 }).expect(409);
    expect(slug(reply)).toBe("wrong-state");
  });

  it("is taken back by one counter-move, once", async () => {
    const meters = await received(4);
    const { body } = await move(tray([...meters.keys()], "stock", shelfId), { expected: 4 }).expect(201);
    const takeBack = () =>
      storekeeper.agent
        .post(`/api/meter-moves/${body.move.id}/take-back`)
        .send({ id: newId(), reason: "The wrong tray" });
    const counter = await takeBack().expect(201);
    expect(counter.body).toMatchObject({ kind: "take-back", meters: 4, takesBackId: body.move.id });
    for (const id of meters.values()) expect(await whereIs(id)).toEqual(["received", "Main store"]);
    expect(slug(await takeBack().expect(409))).toBe("already-exists");
    expect((await storekeeper.agent.get(`/api/meter-moves/${body.move.id}`)).body.takenBackById).toBe(
      counter.body.id,
    );
  });

  it("stays moved where later events lean on it, and says which", async () => {
    const meters = [...(await received(2))];
    const { body } = await move(
      tray(
        meters.map(([number]) => number),
        "stock",
        shelfId,
      ),
      { expected: 2 },
    ).expect(201);
    await event(meters[1]?.[1] ?? "", "issue", { placeId: vanId }).expect(201);
    const reply = await storekeeper.agent
      .post(`/api/meter-moves/${body.move.id}/take-back`)
      .send({ id: newId(), reason: "The wrong tray" })
      .expect(422);
    expect(reply.body.errors).toHaveLength(1);
    expect(reply.body.detail).toContain(`${meters[1]?.[0]}: this would break`);
  });

  it("of 5,000 meters is moved by as many statements as one of five", async () => {
    const lines = Array.from({ length: 5_005 }, (_, n) => ({
      serial: `BULK${n}`,
      utilityNumber: `BU${String(n).padStart(6, "0")}`,
    }));
    for (const part of [lines.slice(0, 5_000), lines.slice(5_000)]) {
      await storekeeper.agent
        .post("/api/meter-receipts")
        .send({ id: newId(), ...receipt(part), onlyGood: false, expected: part.length })
        .expect(201);
    }
    const statementsFor = async (part: typeof lines): Promise<number> =>
      await inTransaction(shop.app.database.pool, null, async (tx) => {
        let statements = 0;
        const counting: Tx = {
          ...tx,
          async query(sql, values) {
            statements += 1;
            return await tx.query(sql, values);
          },
        };
        const request = {
          ...tray(
            part.map(({ utilityNumber }) => utilityNumber),
            "stock",
            shelfId,
          ),
          ...{ id: newId(), onlyGood: false, expected: part.length },
        };
        await moveMeterTray(counting, request as Parameters<typeof moveMeterTray>[1]);
        return statements;
      });
    const few = await statementsFor(lines.slice(5_000));
    const began = performance.now();
    expect(await statementsFor(lines.slice(0, 5_000))).toBe(few);
    // Two seconds on a machine with nothing else to do; this bound only catches a move that goes meter by meter.
    expect(performance.now() - began).toBeLessThan(20_000);
  }, 60_000);
});

describe("receiving a pasted list", () => {
  it("names each line that cannot go in, and takes the others", async () => {
    const known = await oneReceived();
    const { rows } = await shop.admin.query("SELECT serial FROM meter WHERE id = $1", [known.id]);
    const lines = [
      { serial: "R1", utilityNumber: "R-0001" },
      { serial: rows[0].serial as string, utilityNumber: "R-0002" },
      { serial: "R3", utilityNumber: known.number },
      { serial: "R1", utilityNumber: "R-0004" },
      { serial: "R5", utilityNumber: "R-0001" },
    ];
    const preview = await storekeeper.agent
      .post("/api/meter-receipts/check")
      .send(receipt(lines))
      .expect(200);
    expect(preview.body.ready).toBe(1);
    expect(preview.body.problems.map((one: LineProblem) => [one.line, one.code])).toEqual([
      [2, "on-record"],
      [3, "number-taken"],
      [4, "twice"],
      [5, "twice"],
    ]);
    const reply = await storekeeper.agent
      .post("/api/meter-receipts")
      .send({ id: newId(), ...receipt(lines), onlyGood: true, expected: 1 })
      .expect(201);
    expect(reply.body.move).toMatchObject({ kind: "receive", meters: 1, place: { name: "Main store" } });
  });

  it("takes a customer's meter, and gives a retired meter's number to another", async () => {
    const { id, number } = await oneReceived();
    await event(id, "retire", { placeId: storeId, reason: "Broken in transit" }).expect(201);
    await storekeeper.agent
      .post("/api/meter-receipts")
      .send({
        id: newId(),
        ...receipt([{ serial: "C1", utilityNumber: number }], { owner: "customer" }),
        ...{ onlyGood: false, expected: 1 },
      })
      .expect(201);
    const old = (await storekeeper.agent.get(`/api/meters/${id}`)).body as Meter;
    expect(old.sameNumber).toMatchObject([{ serial: "C1", state: "received" }]);
    const second = (await storekeeper.agent.get(`/api/meters/${old.sameNumber[0]?.id}`)).body as Meter;
    expect([second.owner, second.sameNumber[0]?.state]).toEqual(["customer", "retired"]);
    // The number is in use: the retirement of its first meter cannot be undone under it.
    const [retired] = await storyOf(id);
    const reply = await storekeeper.agent
      .post(`/api/meter-events/${retired?.id}/take-back`)
      .send({ id: newId(), reason: "It works after all" })
      .expect(422);
    expect(reply.body.detail).toContain("given to another meter since");
    // To dispose of, the retired one of two is meant.
    expect(await check(tray([number], "dispose", null, { reason: "Scrap merchant" }))).toEqual({
      ready: 1,
      problems: [],
      notes: [],
    });
  });
});

describe("a place", () => {
  const place = (body: Record<string, unknown>) =>
    supervisor.agent.post("/api/places").send({ id: newId(), parentId: null, ...body });

  it("is made, renamed and closed once it is empty", async () => {
    const store = (await place({ kind: "store", name: "Cellar" }).expect(201)).body;
    const shelf = (await place({ kind: "shelf", name: "Low", parentId: store.id }).expect(201)).body;
    expect(shelf.name).toBe("Cellar, Low");
    expect(slug(await place({ kind: "shelf", name: "Low", parentId: store.id }))).toBe("already-exists");
    expect(slug(await place({ kind: "shelf", name: "Loose" }))).toBe("refused-by-rule");
    const { id, number } = await oneReceived();
    await event(id, "stock", { placeId: shelf.id }).expect(201);
    const change = (of: { id: string; version: number }, body: Record<string, unknown>) =>
      supervisor.agent.put(`/api/places/${of.id}`).set("if-match", `"${of.version}"`).send(body);
    const full = await change(shelf, { name: "Low", closed: true }).expect(422);
    expect(full.body.detail).toBe("1 meter is in Cellar, Low; move them elsewhere first.");
    const renamed = (await change(shelf, { name: "Lowest", closed: false }).expect(200)).body;
    expect(slug(await change(shelf, { name: "Lower", closed: false }))).toBe("stale");
    const inside = (await supervisor.agent.get(`/api/places/${shelf.id}`).expect(200)).body;
    expect(inside).toMatchObject({ name: "Cellar, Lowest", meters: [{ state: "in-stock", meters: 1 }] });
    const list = (await supervisor.agent.get(`/api/places/${shelf.id}/meters`).expect(200)).body;
    expect(list.rows).toMatchObject([{ utilityNumber: number, state: "in-stock", held: false }]);
    await event(id, "stock", { placeId: shelfId }).expect(201);
    await change(renamed, { name: "Lowest", closed: true }).expect(200);
    expect(slug(await event(id, "stock", { placeId: shelf.id }))).toBe("refused-by-rule");
  });
});

describe("a meter's nameplate", () => {
  it("is corrected with a reason, and never under a legal hold", async () => {
    const { id, number } = await oneReceived();
    const meter = (await storekeeper.agent.get(`/api/meters/${id}`)).body as Meter;
    const fields = {
      ...{ utilityNumber: number, serial: "CORRECT-1", owner: "utility", typeId },
      ...{ firmware: "", program: "", purchasedOn: null, reason: "Read wrong from the box" },
    };
    const change = (version: number) =>
      storekeeper.agent.put(`/api/meters/${id}`).set("if-match", `"${version}"`).send(fields);
    expect((await change(meter.version).expect(200)).body.serial).toBe("CORRECT-1");
    expect(slug(await change(meter.version))).toBe("stale");
    await engineer.agent
      .post(`/api/meters/${id}/holds`)
      .send({ id: newId(), reason: "Evidence in a case" })
      .expect(201);
    expect(slug(await change(meter.version + 1))).toBe("meter-held");
  });
});
