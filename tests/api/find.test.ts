import { execFile } from "node:child_process";
import { setTimeout as sleep } from "node:timers/promises";
import { fileURLToPath } from "node:url";
import { promisify } from "node:util";
import { createServicePoint } from "@sealbook/api/modules/service-points/service-points";
import { erasePersonalValue } from "@sealbook/api/platform/personal-values";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { MeterRow } from "@sealbook/contract/meters";
import { parse } from "csv-parse/sync";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp } from "../support/app.ts";
import { type MeterBench, meterBench, pass, registration } from "../support/meter-bench.ts";

let shop: TestApp;
let bench: MeterBench;
let typeId: string;
let otherTypeId: string;
let planId: string;
let clerk: SignedIn;

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  const plan = await bench.aPlan();
  planId = plan.id;
  typeId = await bench.aType(plan);
  otherTypeId = await bench.aType(plan, {
    maker: "Fenwick Instruments",
    form: "2S",
    phases: 1,
    elements: "1",
  });
  clerk = await shop.signIn("storekeeper");
});
afterAll(() => shop.close());

/** A meter of a number and serial of its own. */
async function aMeter(over: Record<string, unknown> = {}) {
  const id = newId();
  const body = {
    id,
    utilityNumber: `U${id.slice(-10)}`,
    serial: `S${id.slice(-10)}`,
    owner: "utility",
    typeId,
    firmware: "",
    program: "",
    purchasedOn: null,
    placeId: bench.placeId,
    registerReading: null,
    ...over,
  };
  await clerk.agent.post("/api/meters").send(body).expect(201);
  return body;
}

async function aPoint(over: Record<string, unknown> = {}) {
  const id = newId();
  const point = {
    id,
    number: `SP${id.slice(-8)}`,
    address: "12 Larch Lane",
    area: "Quillmoor East",
    jurisdiction: "us-nc",
    ...over,
  };
  await inTransaction(shop.admin, null, (tx) => createServicePoint(tx, point));
  return point;
}

const search = async (q: string) =>
  (await clerk.agent.get("/api/search").query({ q }).expect(200)).body as {
    meters: { id: string; utilityNumber: string }[];
    servicePoints: { id: string; number: string; address: string; meters: { id: string }[] }[];
  };
const list = async (query: Record<string, unknown>) =>
  (await clerk.agent.get("/api/meters").query(query).expect(200)).body as {
    rows: MeterRow[];
    next: string | null;
  };
const numbers = async (query: Record<string, unknown>) =>
  (await list(query)).rows.map(({ utilityNumber }) => utilityNumber);

describe("the search box", () => {
  it("finds a meter by any part of its number or serial, in any case, the beginning first", async () => {
    await aMeter({ utilityNumber: "ZX-00417", serial: "QF99-1" });
    await aMeter({ utilityNumber: "77-ZX-00", serial: "QF99-2" });
    expect((await search("zx-00")).meters.map(({ utilityNumber }) => utilityNumber)).toEqual([
      "ZX-00417",
      "77-ZX-00",
    ]);
    expect((await search("f99-2")).meters.map(({ utilityNumber }) => utilityNumber)).toEqual(["77-ZX-00"]);
    expect((await search("0417")).meters.map(({ utilityNumber }) => utilityNumber)).toEqual(["ZX-00417"]);
  });

  it("takes one or two characters as a beginning alone", async () => {
    expect((await search("Z")).meters.map(({ utilityNumber }) => utilityNumber)).toEqual(["ZX-00417"]);
    expect((await search("17")).meters).toEqual([]);
  });

  it.each(["%", "_", "\\", "%%%", "___", "Z%4", "Z__0"])("takes %s as it stands", async (typed) => {
    expect(await search(typed)).toEqual({ meters: [], servicePoints: [] });
  });

  it("finds a service point by its number and by words of its address in any order, with its meters", async () => {
    const point = await aPoint({ number: "SP-LOOKUP-1", address: "31 Tannery Close, Quillmoor" });
    const meter = await aMeter({ placeId: point.id, registerReading: "0" });
    const line = {
      id: point.id,
      number: "SP-LOOKUP-1",
      address: "31 Tannery Close, Quillmoor",
      area: point.area,
      meters: [{ id: meter.id, utilityNumber: meter.utilityNumber }],
    };
    expect((await search("lookup")).servicePoints).toEqual([line]);
    expect((await search("close tannery 31")).servicePoints).toEqual([line]);
    expect((await search("close tannery 32")).servicePoints).toEqual([]);
  });

  it("finds an address no more once it is erased", async () => {
    const point = await aPoint({ address: "5 Vanishing Yard" });
    expect((await search("vanishing")).servicePoints.map(({ id }) => id)).toEqual([point.id]);
    const { rows } = await shop.admin.query<{ address_id: string }>(
      "SELECT address_id FROM service_point WHERE id = $1",
      [point.id],
    );
    await inTransaction(shop.admin, null, (tx) => erasePersonalValue(tx, rows[0]?.address_id ?? ""));
    expect((await search("vanishing")).servicePoints).toEqual([]);
    expect((await search(point.number)).servicePoints[0]?.address).toBe("erased");
  });

  it("gives at most eight of a group", async () => {
    for (let index = 0; index < 10; index++) await aMeter({ utilityNumber: `MANY-${index}` });
    expect((await search("MANY")).meters).toHaveLength(8);
    expect((await search("ANY-")).meters).toHaveLength(8);
  });
});

describe("the list of meters", () => {
  it("holds all filters at once", async () => {
    const point = await aPoint({ area: "Combined" });
    const wanted = await aMeter({
      typeId: otherTypeId,
      placeId: point.id,
      registerReading: "0",
      owner: "customer",
    });
    await aMeter({ typeId: otherTypeId, owner: "customer" });
    const elsewhere = await aPoint({ area: "Combined" });
    await aMeter({ placeId: elsewhere.id, registerReading: "0" });
    const year = new Date().getFullYear();
    const both = { area: "Combined", maker: "Fenwick Instruments" };
    expect(await numbers(both)).toEqual([wanted.utilityNumber]);
    expect(
      await numbers({
        ...both,
        form: "2S",
        owner: "customer",
        state: "in-service",
        placeId: point.id,
        typeId: otherTypeId,
        setYear: year,
        lastVerdict: "not-tested",
        q: wanted.serial.slice(1),
      }),
    ).toEqual([wanted.utilityNumber]);
    for (const other of [
      { form: "9S" },
      { owner: "utility" },
      { state: "in-stock" },
      { setYear: year - 2 },
      { lastVerdict: "pass" },
      { typeId },
      { placeId: bench.placeId },
    ])
      expect(await numbers({ ...both, ...other }), JSON.stringify(other)).toEqual([]);
  });

  it("knows the last test, its day in the shop and its result, from a late entry and an amendment, too", async () => {
    const meter = await aMeter();
    // A meter has no test from before it came into the book, so all of this happens within a moment.
    const received = Date.now();
    const record = async (milliseconds: number, percent: string) => {
      const test = bench.aTest(meter.id, planId, {
        performedAt: new Date(received + milliseconds).toISOString(),
        outcome: {
          kind: "tested",
          asFound: pass({ FL: registration(percent), LL: registration(percent), PF: registration(percent) }),
          asLeft: { kind: "same" },
        },
      });
      const reply = await bench.technician.agent.post("/api/meter-tests").send(test);
      expect(reply.status, JSON.stringify(reply.body)).toBe(201);
    };
    const row = async () => (await list({ q: meter.utilityNumber })).rows[0];
    expect(await row()).toMatchObject({ lastTestOn: null, lastVerdict: null });
    await sleep(60);
    await record(50, "100");
    const recent = (await row())?.lastTestOn ?? "";
    expect(await row()).toMatchObject({ lastVerdict: "pass" });
    await record(10, "92");
    expect(await row()).toMatchObject({ lastTestOn: recent, lastVerdict: "pass" });
    expect(
      await numbers({ q: meter.utilityNumber, testedFrom: recent, testedTo: recent, lastVerdict: "pass" }),
    ).toEqual([meter.utilityNumber]);
    expect(await numbers({ q: meter.utilityNumber, testedTo: "2001-01-01" })).toEqual([]);
  });

  it.each(["number", "last-test", "last-test-newest", "due"])(
    "pages by %s to every meter once, though keys are equal",
    async (order) => {
      const { rows: all } = await shop.admin.query<{ count: number }>(
        "SELECT count(*)::int AS count FROM meter",
      );
      const seen: string[] = [];
      let cursor: string | undefined;
      for (let pages = 0; pages < 40; pages++) {
        const page = await list({ order, limit: 3, ...(cursor === undefined ? {} : { cursor }) });
        seen.push(...page.rows.map(({ id }) => id));
        if (page.next === null) break;
        cursor = page.next;
      }
      expect(new Set(seen).size).toBe(seen.length);
      expect(seen).toHaveLength(all[0]?.count ?? -1);
    },
  );

  it("puts meters that were never tested behind all others, in either direction", async () => {
    for (const order of ["last-test", "last-test-newest"]) {
      const dates = (await list({ order, limit: 200 })).rows.map(({ lastTestOn }) => lastTestOn);
      const tested = dates.filter((date) => date !== null);
      expect(dates.slice(0, tested.length)).toEqual(tested);
      expect(tested).toEqual(order === "last-test" ? tested.toSorted() : tested.toSorted().reverse());
    }
  });

  it.each([
    ["number", ["due", "2026-01-01", "x"]],
    ["due", ["due", "no date", "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"]],
    ["number", [1, 2, 3]],
  ])("refuses a cursor that is none of its own, by %s", async (order, key) => {
    const cursor = Buffer.from(JSON.stringify(key)).toString("base64url");
    const reply = await clerk.agent.get("/api/meters").query({ order, cursor }).expect(400);
    expect(reply.body.errors[0].pointer).toBe("cursor");
  });

  it("counts what the filters leave", async () => {
    const { body } = await clerk.agent.get("/api/meters/count").query({ q: "MANY-" }).expect(200);
    expect(body).toEqual({ count: 10, more: false });
  });
});

describe("views kept by name", () => {
  const body = { search: { state: "in-shop", order: "due" }, columns: ["utilityNumber", "dueOn"] };

  it("are one's own until they are shared, and their owner's to change", async () => {
    const id = newId();
    const colleague = await shop.signIn("technician");
    await clerk.agent
      .post("/api/saved-views")
      .send({ id, name: "In the shop", shared: false, body })
      .expect(201);
    const seen = async (person: SignedIn) =>
      (await person.agent.get("/api/saved-views").expect(200)).body.rows.filter(
        (view: { id: string }) => view.id === id,
      );
    expect(await seen(clerk)).toMatchObject([{ name: "In the shop", own: true, body, version: 1 }]);
    expect(await seen(colleague)).toEqual([]);
    await clerk.agent
      .put(`/api/saved-views/${id}`)
      .set("if-match", '"1"')
      .send({ name: "In the shop", shared: true, body })
      .expect(200);
    expect(await seen(colleague)).toMatchObject([
      { own: false, ownerName: expect.stringContaining("storekeeper") },
    ]);
    await colleague.agent
      .put(`/api/saved-views/${id}`)
      .set("if-match", '"2"')
      .send({ name: "Mine", shared: true, body })
      .expect(404);
    await colleague.agent.delete(`/api/saved-views/${id}`).expect(404);
    await clerk.agent
      .put(`/api/saved-views/${id}`)
      .set("if-match", '"1"')
      .send({ name: "Old", shared: true, body })
      .expect(412);
    await clerk.agent.delete(`/api/saved-views/${id}`).expect(204);
    expect(await seen(clerk)).toEqual([]);
  });

  it("have a name of their own", async () => {
    await clerk.agent
      .post("/api/saved-views")
      .send({ id: newId(), name: "Twice", shared: false, body })
      .expect(201);
    const reply = await clerk.agent
      .post("/api/saved-views")
      .send({ id: newId(), name: "Twice", shared: false, body })
      .expect(409);
    expect(reply.body.errors[0].pointer).toBe("/name");
  });
});

describe("a list taken out as a file", () => {
  /** A meter whose number has leading zeros, whose serial looks like a formula, and which is 0.25 % slow. */
  async function awkwardMeter() {
    const meter = await aMeter({ utilityNumber: "000123", serial: "=1+2" });
    const percent = registration("99.75");
    await bench.technician.agent
      .post("/api/meter-tests")
      .send(
        bench.aTest(meter.id, planId, {
          outcome: {
            kind: "tested",
            asFound: pass({ FL: percent, LL: percent, PF: percent }),
            asLeft: { kind: "same" },
          },
        }),
      )
      .expect(201);
    return meter;
  }
  const columns = "utilityNumber,serial,lastTestOn,lastAverageErrorPercent";
  const take = (format: string) =>
    clerk.agent
      .get("/api/meters/export")
      .query({ format, columns, q: "000123" })
      .buffer(true)
      .parse((response, done) => {
        const pieces: Buffer[] = [];
        response.on("data", (piece: Buffer) => pieces.push(piece));
        response.on("end", () => done(null, Buffer.concat(pieces)));
      });

  it("is CSV in which text is text and a number a number, and says in the ledger who took what", async () => {
    await awkwardMeter();
    const reply = await take("csv").expect(200);
    expect(reply.headers["content-disposition"]).toMatch(
      /^attachment; filename="meters-\d{4}-\d\d-\d\d\.csv"/,
    );
    // RFC 4180 says the lines end in CRLF; csv-parse reads them as another program would.
    const text = (reply.body as Buffer).toString("utf8");
    expect(text).toMatch(/\r\n$/);
    const rows: string[][] = parse(text);
    expect(rows[0]).toEqual(["Number", "Serial", "Last test", "Average as found, % error"]);
    expect(rows[1]?.[0]).toBe("000123");
    expect(rows[1]?.[1]).toBe("'=1+2");
    expect(Number(rows[1]?.[3])).toBe(-0.25);
    expect(rows[1]?.[3]).toMatch(/^-0\.25/);

    const { rows: entries } = await shop.admin.query<{ action: string; payload: string; actor_id: string }>(
      "SELECT action, payload, actor_id FROM ledger_entry WHERE subject_type = 'meterList' ORDER BY id",
    );
    expect(entries.map(({ action }) => action)).toEqual(["meterList.take", "meterList.taken"]);
    expect(entries.map((entry) => entry.actor_id)).toEqual([clerk.id, clerk.id]);
    expect(JSON.parse(entries[0]?.payload ?? "")).toMatchObject({ filter: { q: "000123" }, format: "csv" });
    expect(JSON.parse(entries[1]?.payload ?? "")).toEqual({ rows: 1, whole: true });
  });

  it("begins with a byte order mark where that is asked for", async () => {
    const reply = await take("csv-with-mark").expect(200);
    expect([...(reply.body as Buffer).subarray(0, 3)]).toEqual([0xef, 0xbb, 0xbf]);
  });

  it("is a sheet whose cells have types, read here by an unzipping of our own", async () => {
    const reply = await take("xlsx").expect(200);
    const sheet = await sheetXml(reply.body as Buffer);
    // ECMA-376 part 1, 18.3.1.4: a cell of inline text says t="inlineStr", a number has none or t="n".
    expect(sheet).toMatch(/t="inlineStr"[^>]*><is><t[^>]*>000123<\/t>/);
    expect(sheet).toMatch(/t="inlineStr"[^>]*><is><t[^>]*>=1\+2<\/t>/);
    expect(sheet).toMatch(/<c r="D2"(?![^>]*t="(?:inlineStr|s|str)")[^>]*><v>-0\.25<\/v>/);
    expect(sheet).not.toContain("<f>");
  });

  it.each(["csv", "xlsx"])(
    "holds 200,000 meters as %s, made in a process whose heap could not hold them",
    async (format) => {
      const { rows: before } = await shop.admin.query<{ count: number }>(
        "SELECT count(*)::int AS count FROM meter",
      );
      if ((before[0]?.count ?? 0) < 200_000) await manyMeters(200_000);
      const script = fileURLToPath(new URL("../support/export-worker.ts", import.meta.url));
      // 200,000 rows as objects take more than twice this heap; the service itself and its libraries about half of it.
      const { stdout } = await promisify(execFile)(
        process.execPath,
        ["--max-old-space-size=96", "--import", "tsx", script, shop.database.appUrl, clerk.id, format],
        { cwd: fileURLToPath(new URL("../..", import.meta.url)) },
      );
      const { bytes, megabytesMore } = JSON.parse(stdout) as { bytes: number; megabytesMore: number };
      expect(bytes).toBeGreaterThan(1_000_000);
      expect(megabytesMore).toBeLessThan(150);
      const { rows } = await shop.admin.query<{ payload: string }>(
        "SELECT payload FROM ledger_entry WHERE action = 'meterList.taken' ORDER BY id DESC LIMIT 1",
      );
      const { rows: all } = await shop.admin.query<{ count: number }>(
        "SELECT count(*)::int AS count FROM meter",
      );
      expect(JSON.parse(rows[0]?.payload ?? "")).toEqual({ rows: all[0]?.count, whole: true });
    },
    300_000,
  );
});

async function manyMeters(count: number): Promise<void> {
  const client = await shop.admin.connect();
  const entryId = newId();
  try {
    await client.query("BEGIN");
    await client.query(
      "INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload) VALUES ($1, 'meter.receive', 'meter', 'many', '{}')",
      [entryId],
    );
    await client.query(
      `INSERT INTO meter (id, utility_number, serial, owner, type_id, maker, state, place_id, entry_id)
       SELECT gen_random_uuid(), 'B' || lpad(n::text, 9, '0'), 'B' || n, 'utility', y.id, y.maker, 'received', $1, $2
       FROM generate_series(1, ${count}) n, meter_type y WHERE y.id = $3`,
      [bench.placeId, entryId, typeId],
    );
    await client.query("COMMIT");
  } finally {
    client.release();
  }
}

/** The first sheet of a workbook: found by the ZIP's own headers and inflated by Node. */
async function sheetXml(workbook: Buffer): Promise<string> {
  const { inflateRawSync } = await import("node:zlib");
  // The central directory names each part and where it begins (APPNOTE.TXT 4.3.12).
  for (
    let at = workbook.indexOf("PK\u0001\u0002", 0, "latin1");
    at >= 0;
    at = workbook.indexOf("PK\u0001\u0002", at + 4, "latin1")
  ) {
    const nameLength = workbook.readUInt16LE(at + 28);
    const name = workbook.toString("utf8", at + 46, at + 46 + nameLength);
    if (!/worksheets\/sheet1\.xml$/.test(name)) continue;
    const size = workbook.readUInt32LE(at + 20);
    const local = workbook.readUInt32LE(at + 42);
    const begin = local + 30 + workbook.readUInt16LE(local + 26) + workbook.readUInt16LE(local + 28);
    const packed = workbook.subarray(begin, begin + size);
    return (workbook.readUInt16LE(at + 10) === 8 ? inflateRawSync(packed) : packed).toString("utf8");
  }
  throw new Error("a workbook has a first sheet");
}
