import { createHash } from "node:crypto";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { buildApp } from "@sealbook/api/app";
import { readConfig } from "@sealbook/api/config";
import { proposeProfile } from "@sealbook/api/modules/profiles/profiles";
import { openDatabase } from "@sealbook/api/platform/database";
import { logSigner } from "@sealbook/api/platform/log/log-signer";
import { sequenceEntries } from "@sealbook/api/platform/log/sequence-entries";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import { type Report, reportBodySchema } from "@sealbook/contract/reports";
import { fromHex, utf8 } from "@sealbook/evidence/bytes";
import { openCheckpoint } from "@sealbook/evidence/checkpoint";
import { leafHash } from "@sealbook/evidence/leaf-and-node-hash";
import { merkleTreeHash } from "@sealbook/evidence/merkle-tree-hash";
import { readNoteKey } from "@sealbook/evidence/note-key";
import { rootFromMany } from "@sealbook/evidence/proof-of-many";
import { northCarolina } from "@sealbook/metrology/profiles/places/north-carolina";
import { evaluateLot } from "@sealbook/metrology/sampling/decision/evaluate-lot";
import { drawSample } from "@sealbook/metrology/sampling/draw/draw-sample";
import type { FastifyInstance } from "fastify";
import { pino } from "pino";
import request, { type Agent } from "supertest";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp, testPassword } from "../support/app.ts";
import { countsBySql } from "../support/counts-by-sql.ts";
import { readPdf } from "../support/read-pdf.ts";
import { readZip } from "../support/read-zip.ts";

let shop: TestApp;
let folder: string;
let app: FastifyInstance;
let opened: ReturnType<typeof openDatabase>;
let author: Agent;
let other: Agent;
let regulator: Agent;
let technician: Agent;
let profileId: string;
/** The demo shop's last whole year up to today, local dates. */
let period: { from: string; to: string };

beforeAll(async () => {
  shop = await testApp({}, { demo: true });
  folder = await mkdtemp(join(tmpdir(), "sealbook-reports-test-"));
  const config = readConfig({
    LOG_LEVEL: "silent",
    SEALBOOK_DATA_FOLDER: folder,
    SIGN_INS_PER_MINUTE: "1000",
    REQUESTS_PER_MINUTE: "100000",
    EVENT_LOOP_DELAY_MILLISECONDS: "60000",
  });
  const log = pino({ level: "silent" });
  opened = openDatabase(shop.database.appUrl, config, log);
  app = await buildApp({ config, database: opened, log, logSigner: await logSigner(opened.pool, config) });
  await app.ready();
  const asRole = async (role: Parameters<TestApp["signIn"]>[0]) => {
    const { username } = await shop.signIn(role);
    const agent = request.agent(app.server);
    await agent.post("/api/session").send({ username, password: testPassword }).expect(200);
    return agent;
  };
  author = await asRole("quality-engineer");
  other = await asRole("supervisor");
  regulator = await asRole("regulator");
  technician = await asRole("technician");
  const { rows } = await shop.admin.query<{ id: string; from: string; to: string }>(
    `SELECT (SELECT id FROM rule_profile WHERE key = 'us-nc' ORDER BY version::int DESC LIMIT 1) AS id,
       (max(performed_at) - interval '1 year' + interval '1 day')::date::text AS from, max(performed_at)::date::text AS to FROM meter_test`,
  );
  profileId = rows[0]?.id ?? "";
  period = { from: rows[0]?.from ?? "", to: rows[0]?.to ?? "" };
  // The demo's years take a while to tell on a busy machine.
}, 300_000);
afterAll(async () => {
  await app.close();
  await opened.close();
  await shop.close();
  await rm(folder, { recursive: true });
});

const sequence = async () => {
  for (;;) if ((await inTransaction(opened.pool, null, (tx) => sequenceEntries(tx))) === 0) return;
};

async function draft(over: Record<string, unknown> = {}): Promise<Report> {
  const { body } = await author
    .post("/api/reports")
    .send({
      kind: "first",
      id: newId(),
      title: "Meter tests of the year",
      periodFrom: period.from,
      periodTo: period.to,
      profileId,
      layoutProfileId: null,
      placeId: null,
      ...over,
    })
    .expect(201);
  return body as Report;
}

const step = (agent: Agent, id: string, name: "review" | "signature" | "release", password = testPassword) =>
  agent.post(`/api/reports/${id}/${name}`).set("Idempotency-Key", newId()).send({ password });

async function released(id: string): Promise<Report> {
  await step(other, id, "review").expect(200);
  await step(author, id, "signature").expect(200);
  const { body } = await step(other, id, "release").expect(200);
  return body as Report;
}

describe("the year's summary of the demo shop", () => {
  it("agrees with an independent SQL query, count by count", async () => {
    const report = await draft();
    const counts = await countsBySql(shop.admin, {
      profileKey: "us-nc",
      ...period,
      timeZone: "America/New_York",
      cutoff: new Date(report.body.cutoff),
    });
    expect(counts.length).toBeGreaterThan(100);
    let looked = 0;
    for (const { dimension, rows } of report.body.summary.divisions) {
      if (!["all", "type", "reason", "phase"].includes(dimension)) continue;
      for (const row of rows) {
        for (const { pass, measure, classes } of row.measures) {
          if (pass !== "asFound") continue;
          for (const [place, count] of classes.entries()) {
            const found = counts.find(
              (one) =>
                one.dimension === dimension &&
                one.key === row.key &&
                one.measure === measure &&
                one.place === place,
            );
            expect({ dimension, key: row.key, measure, place, count }).toEqual({
              dimension,
              key: row.key,
              measure,
              place,
              count: found?.count ?? 0,
            });
            looked += 1;
          }
        }
      }
    }
    expect(looked).toBeGreaterThan(500);
    const [plain] = (
      await shop.admin.query<{ tests: number; fails: number; untestable: number }>(
        `SELECT count(*)::int AS tests, count(*) FILTER (WHERE verdict_as_found = 'fail')::int AS fails,
           count(*) FILTER (WHERE outcome = 'no-test-possible')::int AS untestable
         FROM meter_test t JOIN rule_profile p ON p.id = t.profile_id
         WHERE p.key = 'us-nc' AND t.outcome <> 'withdrawn' AND NOT EXISTS (SELECT FROM meter_test n WHERE n.supersedes_id = t.id)
           AND (t.performed_at AT TIME ZONE 'America/New_York')::date BETWEEN $1 AND $2`,
        [period.from, period.to],
      )
    ).rows;
    expect(report.body.summary.divisions[0]?.rows[0]).toMatchObject({
      tests: plain?.tests,
      outsideLimits: plain?.fails,
      noTestPossible: plain?.untestable,
    });
    expect(plain?.tests).toBeGreaterThan(50);
  });

  it("counts of each test what its own evaluation and entry say", async () => {
    // Read from the texts on record, apart from the table that the summary reads and the trigger that fills it.
    const { rows } = await shop.admin.query<{
      id: string;
      evaluation: string;
      entry_body: string;
      plan: string;
      measures: Record<string, unknown> | null;
    }>(
      `SELECT t.id, t.evaluation, t.entry_body, p.body AS plan, to_jsonb(m) - 'test_id' AS measures
       FROM meter_test t JOIN test_plan p ON p.id = t.plan_id LEFT JOIN test_measures m ON m.test_id = t.id
       WHERE t.outcome = 'tested'`,
    );
    expect(rows.length).toBeGreaterThan(100);
    const roles = [
      ["full-load", "full_load"],
      ["light-load", "light_load"],
      ["power-factor", "power_factor"],
    ] as const;
    for (const { id, evaluation, entry_body, plan, measures } of rows) {
      const roleOf = new Map<string, string>(
        JSON.parse(plan).points.map((point: { key: string; role: string }) => [point.key, point.role]),
      );
      const { asFound, asLeft } = JSON.parse(evaluation);
      const expected: Record<string, unknown> = {};
      for (const [name, pass] of [
        ["as_found", asFound],
        ["as_left", asLeft],
      ]) {
        const points: { pointKey: string; meanPercent: string; verdict: string }[] = pass?.points ?? [];
        for (const [role, column] of roles) {
          const found = points.filter(({ pointKey }) => roleOf.get(pointKey) === role);
          expected[`${column}_${name}`] =
            found.length === 0 ? null : Math.max(...found.map(({ meanPercent }) => Number(meanPercent)));
        }
        const outside = new Set(
          points.filter(({ verdict }) => verdict === "fail").map(({ pointKey }) => roleOf.get(pointKey)),
        );
        if (pass?.average?.verdict === "fail") outside.add("average");
        expected[`outside_${name}`] = outside.size === 0 ? null : [...outside].sort().join(",");
      }
      const { asFound: typed, asLeft: left } = JSON.parse(entry_body).outcome;
      const creep = left.kind === "same" ? typed.creep : left.kind === "entered" ? left.pass.creep : null;
      expected.creeping_as_left = creep === null || creep === "not-checked" ? null : creep === "creeps";
      const sorted = (text: unknown) =>
        typeof text === "string" ? text.split(",").sort().join(",") : (text ?? null);
      expect(
        {
          ...measures,
          outside_as_found: sorted(measures?.outside_as_found),
          outside_as_left: sorted(measures?.outside_as_left),
        },
        id,
      ).toEqual(expected);
    }
  });

  it("opens as many tests behind a number as it says", async () => {
    const report = await draft();
    const type = report.body.summary.divisions.find(({ dimension }) => dimension === "type")?.rows[0];
    const average = type?.measures.find(({ pass, measure }) => pass === "asFound" && measure === "average");
    const place = average?.classes.findIndex((count) => count > 0) ?? 0;
    const key = report.body.summary.layout.classes[place]?.key;
    const rows: unknown[] = [];
    for (let cursor: string | null | undefined; cursor !== null; ) {
      const { body } = await author
        .get(`/api/reports/${report.id}/tests`)
        .query({ dimension: "type", key: type?.key, figure: `asFound/average/${key}`, limit: 7, cursor })
        .expect(200);
      rows.push(...body.rows);
      cursor = body.next;
    }
    expect(rows.length).toBe(average?.classes[place]);
    expect(rows.length).toBeGreaterThan(0);
  });
});

describe("a report on its way", () => {
  it("is reviewed, signed and released by two people, each with their password", async () => {
    const report = await draft();
    expect(report.state).toBe("draft");
    expect(report.sha256).toBeNull();
    const own = await step(author, report.id, "review").expect(403);
    expect(own.body.type).toBe("/problems/not-independent");
    await step(other, report.id, "review", "not my password").expect(401);
    await step(other, report.id, "signature").expect(409);
    const reviewed = (await step(other, report.id, "review").expect(200)).body as Report;
    expect(reviewed).toMatchObject({ state: "reviewed", signatures: [{ meaning: "reviewed" }] });
    await step(other, report.id, "signature").expect(403);
    await step(author, report.id, "signature").expect(200);
    await step(author, report.id, "release").expect(403);
    const done = (await step(other, report.id, "release").expect(200)).body as Report;
    expect(done.state).toBe("released");
    expect(done.signatures.map(({ meaning }) => meaning)).toEqual(["reviewed", "prepared", "released"]);
    expect(done.body).toEqual(reviewed.body);
    await author
      .post(`/api/reports/${report.id}/withdrawal`)
      .set("Idempotency-Key", newId())
      .send({ reason: "Released too early" })
      .expect(409);
  });

  it("shows a regulator and a technician what was released, and nothing else", async () => {
    const report = await draft();
    await regulator.get(`/api/reports/${report.id}`).expect(404);
    await technician.get(`/api/reports/${report.id}/report.json`).expect(404);
    await released(report.id);
    const { body } = await regulator.get(`/api/reports/${report.id}`).expect(200);
    expect(body).toMatchObject({ state: "released", recordedSince: null });
    const list = await regulator.get("/api/reports").expect(200);
    expect(list.body.rows.map(({ id }: { id: string }) => id)).toContain(report.id);
    expect(new Set(list.body.rows.map(({ state }: { state: string }) => state))).toEqual(
      new Set(["released"]),
    );
    await regulator.get(`/api/reports/${report.id}/report.pdf`).expect(200);
  });

  it("never changes once it is released, not even by hand", async () => {
    const report = await draft();
    const done = await released(report.id);
    const client = await opened.pool.connect();
    try {
      for (const sql of [
        "UPDATE report_figures SET body = '{}' WHERE report_id = $1",
        "DELETE FROM report_release WHERE report_id = $1",
        "UPDATE report SET title = 'Another' WHERE id = $1",
      ]) {
        await expect(client.query(sql, [report.id])).rejects.toThrow(/permission denied/);
        await expect(shop.admin.query(sql, [report.id])).rejects.toThrow(
          /never changed or removed|ledger entry of its own/,
        );
      }
      // The author's own release is refused by the database, whatever the service would say.
      const mine = await draft();
      await expect(
        inTransaction(shop.admin, null, async (tx) => {
          await tx.query("SELECT set_config('sealbook.actor', $1, true)", [mine.author?.id]);
          const [entry] = await tx.query<{ id: string }>(
            `INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload)
             VALUES ($1, 'report.sign', 'report', $2, '{}') RETURNING id`,
            [newId(), mine.id],
          );
          await tx.query(
            `INSERT INTO signature (id, subject_type, subject_id, meaning, record_hash, entry_id)
             VALUES ($1, 'report', $2, 'released', repeat('0', 64), $3)`,
            [newId(), mine.id, entry?.id],
          );
        }),
      ).rejects.toThrow(/does not approve/);
    } finally {
      client.release();
    }
    const { body } = await author.get(`/api/reports/${report.id}`).expect(200);
    expect((body as Report).sha256).toBe(done.sha256);
  });

  it("is corrected by another edition, which takes late entries in and says what changed", async () => {
    const report = await draft();
    await released(report.id);
    const before = (await author.get(`/api/reports/${report.id}`).expect(200)).body as Report;
    expect(before.recordedSince).toBe(0);
    // A test of the period that was recorded late: the newest one again, an hour earlier, under an entry of its own.
    // It is judged by another version of the rules, as when a new one comes into force within the period.
    const lateId = newId();
    const laterRules = newId();
    await inTransaction(shop.admin, null, async (tx) => {
      await proposeProfile(tx, {
        id: laterRules,
        document: JSON.stringify({ ...northCarolina, version: String(Number(northCarolina.version) + 1) }),
        reason: "A later version",
      });
      const [entry] = await tx.query<{ id: string }>(
        `INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload)
         VALUES ($1, 'meterTest.record', 'meterTest', $2, '{}') RETURNING id`,
        [newId(), lateId],
      );
      await tx.query(
        `INSERT INTO meter_test SELECT (jsonb_populate_record(t, jsonb_build_object('id', $1::text, 'entry_id', $2::text,
           'performed_at', t.performed_at - interval '1 hour', 'recorded_at', clock_timestamp(), 'method', 'entered',
           'profile_id', $3::text, 'import_id', null, 'import_row', null, 'supersedes_id', null, 'amendment_reason', null))).*
         FROM meter_test t JOIN rule_profile p ON p.id = t.profile_id WHERE p.key = 'us-nc' AND t.outcome = 'tested'
         ORDER BY t.performed_at DESC LIMIT 1`,
        [lateId, entry?.id, laterRules],
      );
    });
    const after = (await author.get(`/api/reports/${report.id}`).expect(200)).body as Report;
    expect(after.body).toEqual(before.body);
    expect(after.recordedSince).toBe(1);

    const { body } = await author
      .post("/api/reports")
      .send({ kind: "edition", id: newId(), correctsId: report.id, reason: "A test was recorded late" })
      .expect(201);
    // A regulator is told of it once it is released, and not before.
    const asRegulator = async () =>
      ((await regulator.get(`/api/reports/${report.id}`).expect(200)).body as Report).correctedById;
    expect(await asRegulator()).toBeNull();
    const next = await released((body as Report).id);
    expect(await asRegulator()).toBe(next.id);
    expect(next.edition).toBe(2);
    expect(next.body.corrects).toMatchObject({ id: report.id, edition: 1, sha256: before.sha256 });
    expect(next.body.summary.divisions[0]?.rows[0]?.late).toBe(1);
    const tests = before.body.summary.divisions[0]?.rows[0]?.tests ?? 0;
    expect(next.body.changes).toContainEqual({
      at: "/summary/divisions/all/rows/0/tests".replace("/0/", "//"),
      before: String(tests),
      after: String(tests + 1),
    });
    const late = await author.get(`/api/reports/${next.id}/tests`).query({ figure: "late" }).expect(200);
    expect(late.body.rows.map(({ id }: { id: string }) => id)).toEqual([lateId]);
    await sequence();
    const evidence = await bundleOf(author, next.id);
    expect(evidence.flatMap(({ kind, id }) => (kind === "profile" ? [id] : []))).toContain(laterRules);
    expect(
      evidence.some(({ kind, text }) => {
        const entry = kind === "entry" ? JSON.parse(String(text)) : null;
        return entry?.action === "profile.add" && entry.subjectId === laterRules;
      }),
    ).toBe(true);
    await author
      .post("/api/reports")
      .send({ kind: "edition", id: newId(), correctsId: report.id, reason: "Once more" })
      .expect(409);
  });
});

describe("what is handed out", () => {
  let report: Report;
  beforeAll(async () => {
    // A document prints the newest signed head, so the log must have one by then.
    await sequence();
    report = await released((await draft()).id);
    await sequence();
  });

  it("gives the JSON that was hashed, in the published form", async () => {
    const { text } = await regulator.get(`/api/reports/${report.id}/report.json`).expect(200);
    expect(createHash("sha256").update(text).digest("hex")).toBe(report.sha256);
    expect(reportBodySchema.parse(JSON.parse(text))).toEqual(report.body);
    const schema = await regulator.get("/api/report.schema.json").expect(200);
    expect(JSON.parse(schema.text ?? schema.body.toString())).toMatchObject({
      title: "Report of a meter shop",
      required: expect.arrayContaining(["summary", "manifest"]),
    });
  });

  it("prints every figure of the JSON into the PDF, and the log's head on each page", async () => {
    const reply = await regulator
      .get(`/api/reports/${report.id}/report.pdf`)
      .buffer(true)
      .parse((response, done) => {
        const chunks: Buffer[] = [];
        response.on("data", (chunk: Buffer) => chunks.push(chunk));
        response.on("end", () => done(null, Buffer.concat(chunks)));
      })
      .expect(200);
    const pdf = reply.body as Buffer;
    expect(createHash("sha256").update(pdf).digest("hex")).toBe(report.released?.pdfSha256);
    const { pages } = readPdf(pdf);
    for (const [place, page] of pages.entries()) {
      expect(page).toContain(`Page ${place + 1} of ${pages.length}`);
      expect(page.replaceAll(/\s+/g, " ")).toMatch(/entries, root [0-9a-f]{32}/);
    }
    // Figures as numerals between anything that is not part of a number, counted: the document has each at least as often.
    const printed = countOf(pages.join(" ").match(/\d+(\.\d+)?/g) ?? []);
    const { summary, lots, rejectedLots, standards, setAsideRows, actions } = report.body;
    const wanted = countOf(
      figuresIn({
        summary: { ...summary, layout: null },
        lots,
        rejectedLots,
        standards,
        setAsideRows,
        actions,
      }),
    );
    expect(wanted.size).toBeGreaterThan(10);
    for (const [figure, times] of wanted) {
      expect({ figure, enough: (printed.get(figure) ?? 0) >= times }).toEqual({ figure, enough: true });
    }
  });

  it("gives a spreadsheet with numbers in its cells, and CSV", async () => {
    const reply = await regulator
      .get(`/api/reports/${report.id}/report.xlsx`)
      .buffer(true)
      .parse((response, done) => {
        const chunks: Buffer[] = [];
        response.on("data", (chunk: Buffer) => chunks.push(chunk));
        response.on("end", () => done(null, Buffer.concat(chunks)));
      })
      .expect(200);
    const [all] = report.body.summary.divisions[0]?.rows ?? [];
    // A cell without a type of its own is a number (ECMA-376 part 1, 18.3.1.4 and 18.18.11).
    const sheet =
      readZip(reply.body as Buffer)
        .get("xl/worksheets/sheet2.xml")
        ?.toString("utf8") ?? "";
    expect(sheet).toMatch(new RegExp(`<c r="B2"(?: s="\\d+")?><v>${all?.tests}</v></c>`));
    const csv = (await regulator.get(`/api/reports/${report.id}/report.csv`).expect(200)).text;
    expect(csv.split("\r\n")).toContain(`All tests,1,Tests,${all?.tests}`);
  });

  it("gives evidence: manifest, entries under the signed head, draws and decisions that can be repeated", async () => {
    const lines = await bundleOf(regulator, report.id);
    const [first] = lines;
    expect(first).toMatchObject({ kind: "bundle", format: 1, reportId: report.id, names: "left-out" });
    expect(lines.at(-1)).toEqual({ kind: "end", lines: lines.length - 1 });
    const ofKind = (kind: string) => lines.filter((line) => line.kind === kind);

    const tests = ofKind("test").map(({ text }) => String(text));
    expect(tests.length).toBe(report.body.manifest.tests);
    const root = merkleTreeHash(tests.map((text) => leafHash(utf8(text))));
    expect(Buffer.from(root).toString("hex")).toBe(report.body.manifest.root);

    const [head] = ofKind("head");
    const key = readNoteKey(String(head?.key));
    if (key.kind === "refused") throw new Error(key.refusal);
    const checkpoint = openCheckpoint(String(head?.note), [key.key]);
    if (checkpoint.kind === "refused") throw new Error(checkpoint.refusal);
    const entries = [...ofKind("test").flatMap(({ entry }) => entry ?? []), ...ofKind("entry")] as {
      index: number;
      text: string;
      rows: { count: number; root: string } | null;
    }[];
    const leaves = entries
      .map(({ index, text, rows }) => ({
        index,
        hash: leafHash(
          utf8(
            rows === null
              ? text
              : // Form 2 of a leaf, spelled out here from docs/bundle.md.
                `{"entry":"${Buffer.from(leafHash(utf8(text))).toString("hex")}","format":2,"rows":{"count":${rows.count},"root":"${rows.root}"}}`,
          ),
        ),
      }))
      .sort((a, b) => a.index - b.index);
    const [proof] = ofKind("proof");
    const computed = rootFromMany(
      leaves,
      Number(proof?.size),
      ((proof?.hashes ?? []) as string[]).map(fromHex),
    );
    expect(computed).toEqual({ kind: "root", root: checkpoint.checkpoint.root });

    const release = entries
      .map(({ text }) => JSON.parse(text))
      .find(({ action }) => action === "report.release");
    expect(JSON.parse(release.payload)).toMatchObject({
      sha256: report.sha256,
      manifest: { tests: tests.length, root: report.body.manifest.root },
    });

    const lots = ofKind("lot");
    expect(lots.length).toBe(report.body.lots.length);
    expect(lots.length).toBeGreaterThan(0);
    for (const lot of lots) {
      const evaluation = evaluateLot(
        JSON.parse(String(lot.scheme)),
        JSON.parse(String(lot.plan)),
        lot.places as never,
      );
      const { engineVersion: _, ...decided } = JSON.parse(String(lot.evaluation));
      expect(JSON.parse(JSON.stringify(evaluation))).toMatchObject(decided);
      for (const { candidates, seed, n, spares } of lot.draws as {
        candidates: string[];
        seed: string;
        n: number;
        spares: number;
      }[]) {
        const drawn = drawSample({ candidates, seed, n, spares });
        if (drawn.kind === "refused") throw new Error(drawn.reason);
        const recorded = entries
          .map(({ text }) => JSON.parse(text))
          .filter(({ action, subjectId }) => action === "lot.draw" && subjectId === lot.id)
          .map(({ payload }) => JSON.parse(payload).sample);
        expect(recorded).toContainEqual(drawn.sample);
      }
    }
  });

  it("opens names by their salts for those who prepare reports, and for nobody else", async () => {
    await regulator.get(`/api/reports/${report.id}/bundle`).query({ names: "opened" }).expect(403);
    const names = (await bundleOf(author, report.id, "opened")).filter(({ kind }) => kind === "name");
    expect(names.length).toBeGreaterThan(0);
    for (const { name, salt, commitment } of names) {
      const bytes = Buffer.from(String(salt), "hex");
      // The commitment as docs/bundle.md spells it out.
      const hash = createHash("sha256")
        .update("sealbook/personal/1\n")
        .update(Buffer.of(bytes.length))
        .update(bytes)
        .update(String(name))
        .digest("hex");
      expect(hash).toBe(commitment);
    }
    const closed = JSON.stringify(await bundleOf(regulator, report.id));
    for (const { name } of names) expect(closed).not.toContain(String(name));
  });
});

type Line = Record<string, unknown> & { kind: string };

async function bundleOf(agent: Agent, id: string, names = "left-out"): Promise<Line[]> {
  const reply = await agent
    .get(`/api/reports/${id}/bundle`)
    .query({ names })
    .buffer(true)
    .parse((response, done) => {
      const chunks: Buffer[] = [];
      response.on("data", (chunk: Buffer) => chunks.push(chunk));
      response.on("end", () => done(null, Buffer.concat(chunks)));
    })
    .expect(200);
  return gunzipSync(reply.body as Buffer)
    .toString("utf8")
    .trimEnd()
    .split("\n")
    .map((line) => JSON.parse(line) as Line);
}

/** Numbers and decimals of plain data; ids, hashes and dates are no figures. */
function figuresIn(value: unknown): string[] {
  if (typeof value === "number") return [String(value)];
  if (typeof value === "string") return /^-?\d+(\.\d+)?$/.test(value) ? [value.replace("-", "")] : [];
  if (Array.isArray(value)) return value.flatMap(figuresIn);
  if (typeof value === "object" && value !== null) {
    return Object.entries(value).flatMap(([name, member]) => (name === "key" ? [] : figuresIn(member)));
  }
  return [];
}

function countOf(texts: readonly string[]): Map<string, number> {
  const counts = new Map<string, number>();
  for (const text of texts) counts.set(text, (counts.get(text) ?? 0) + 1);
  return counts;
}
