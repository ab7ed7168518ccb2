import { mkdtemp, readFile, rm, stat, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { buildApp } from "@sealbook/api/app";
import { readConfig } from "@sealbook/api/config";
import { openDatabase } from "@sealbook/api/platform/database";
import { logSigner } from "@sealbook/api/platform/log/log-signer";
import { sequenceEntries } from "@sealbook/api/platform/log/sequence-entries";
import { inTransaction } from "@sealbook/api/platform/transaction";
import { fromHex, utf8 } from "@sealbook/evidence/bytes";
import { checkConsistencyProof } from "@sealbook/evidence/check-consistency-proof";
import { openCheckpoint } from "@sealbook/evidence/checkpoint";
import { leafHash } from "@sealbook/evidence/leaf-and-node-hash";
import { type NoteKey, readNoteKey } from "@sealbook/evidence/note-key";
import { checkTlogProof, readTlogProof } from "@sealbook/evidence/tlog-proof";
import type { FastifyInstance } from "fastify";
import { pino } from "pino";
import request, { type Agent } from "supertest";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp, testPassword } from "../support/app.ts";

let shop: TestApp;
let folder: string;
let app: FastifyInstance;
let opened: ReturnType<typeof openDatabase>;
/** A regulator, who may ask for heads and proofs; the list of entries is for people of the shop. */
let regulator: Agent;
let engineer: Agent;

const config = () => readConfig({ LOG_LEVEL: "silent", SEALBOOK_DATA_FOLDER: folder });
const log = pino({ level: "silent" });

beforeAll(async () => {
  shop = await testApp();
  folder = await mkdtemp(join(tmpdir(), "sealbook-log-test-"));
  opened = openDatabase(shop.database.appUrl, config(), log);
  const signer = await logSigner(opened.pool, config());
  app = await buildApp({ config: config(), database: opened, log, logSigner: signer });
  await app.ready();
  const { username } = await shop.signIn("regulator");
  regulator = request.agent(app.server);
  await regulator.post("/api/session").send({ username, password: testPassword }).expect(200);
  engineer = (await shop.signIn("quality-engineer")).agent;
});
afterAll(async () => {
  await app.close();
  await opened.close();
  await shop.close();
  await rm(folder, { recursive: true });
});

const sequence = () => inTransaction(opened.pool, null, (tx) => sequenceEntries(tx));

function keyOf(line: string): NoteKey {
  const read = readNoteKey(line);
  if (read.kind === "refused") throw new Error(read.refusal);
  return read.key;
}

describe("the log by API", () => {
  it("has no head and no proof before its first entry is in it", async () => {
    await regulator.get("/api/log/head").expect(404);
    const { body } = await engineer.get("/api/ledger").expect(200);
    const reply = await regulator.get(`/api/ledger/${body.rows[0].id}/proof`).expect(404);
    expect(reply.body.detail).toContain("within a second");
  });

  it("proves every entry to somebody who has the key, the entry and the file alone", async () => {
    await sequence();
    const head = (await regulator.get("/api/log/head").expect(200)).body;
    const { body } = await engineer.get("/api/ledger?limit=200").expect(200);
    expect(head.size).toBe(body.rows.length);
    const indexes: number[] = [];
    for (const entry of body.rows) {
      const proof = (await regulator.get(`/api/ledger/${entry.id}/proof`).expect(200)).body;
      // The leaf's text travels in the file; it names the entry's hash.
      const file = readTlogProof(proof.file);
      if (file.kind === "refused") throw new Error(file.refusal);
      const text = Buffer.from(file.extra ?? []).toString("utf8");
      expect(JSON.parse(text)).toEqual({ entry: entry.hash, format: 2, rows: proof.rows });
      const checked = checkTlogProof(proof.file, leafHash(utf8(text)), [keyOf(head.key)]);
      expect(checked).toMatchObject({
        kind: "accepted",
        index: proof.index,
        checkpoint: { size: head.size, root: fromHex(head.root) },
      });
      indexes.push(proof.index);
      const other = body.rows.find((row: { id: string }) => row.id !== entry.id);
      const bent = text.replace(entry.hash, other.hash);
      expect(checkTlogProof(proof.file, leafHash(utf8(bent)), [keyOf(head.key)]).kind).toBe("refused");
    }
    expect(indexes.sort((a, b) => a - b)).toEqual(body.rows.map((_: unknown, at: number) => at));
  });

  it("gives head and proof as files", async () => {
    const head = (await regulator.get("/api/log/head").expect(200)).body;
    const headFile = await regulator.get("/api/log/head/file").expect(200);
    expect(headFile.text).toBe(head.note);
    expect(headFile.headers["content-disposition"]).toContain(`log-head-${head.size}.txt`);
    const { body } = await engineer.get("/api/ledger?limit=1").expect(200);
    const id = body.rows[0].id;
    const proof = (await regulator.get(`/api/ledger/${id}/proof`).expect(200)).body;
    const proofFile = await regulator.get(`/api/ledger/${id}/proof/file`).expect(200);
    expect(proofFile.text).toBe(proof.file);
    expect(proofFile.headers["content-disposition"]).toContain(`entry-${proof.index}.tlog-proof`);
  });

  it("proves that the log of each earlier head is the beginning of the later ones", async () => {
    const heads = [];
    for (let at = 0; at < 4; at++) {
      await shop.signIn("technician");
      await sequence();
      heads.push((await regulator.get("/api/log/head").expect(200)).body);
    }
    expect(new Set(heads.map(({ size }) => size)).size).toBe(4);
    for (const newer of heads) {
      const key = keyOf(newer.key);
      const opened = openCheckpoint(newer.note, [key]);
      expect(opened.kind).toBe("accepted");
      for (const older of heads.filter(({ size }) => size <= newer.size)) {
        const { body } = await regulator
          .get("/api/log/consistency")
          .query({ from: older.size, to: newer.size })
          .expect(200);
        const checked = checkConsistencyProof(
          { size: older.size, root: fromHex(older.root) },
          { size: newer.size, root: fromHex(newer.root) },
          body.hashes.map(fromHex),
        );
        expect(checked).toEqual({ kind: "accepted" });
      }
    }
  });

  it("refuses sizes that the log does not have", async () => {
    const { size } = (await regulator.get("/api/log/head").expect(200)).body;
    const ask = (from: number, to: number) => regulator.get("/api/log/consistency").query({ from, to });
    expect((await ask(1, size + 1).expect(422)).body.errors[0].pointer).toBe("to");
    expect((await ask(3, 2).expect(422)).body.errors[0].pointer).toBe("from");
    await ask(0, 2).expect(400);
    await regulator.get("/api/ledger/017f22e2-79b0-7cc3-98c4-dc0c0c07398f/proof").expect(404);
  });
});

describe("the log's key", () => {
  const entriesOfKey = async (): Promise<{ payload: string }[]> =>
    (await shop.admin.query("SELECT payload FROM ledger_entry WHERE action = 'logKey.use' ORDER BY id")).rows;

  it("is kept in the data folder for its owner alone, and used again at the next start", async () => {
    const path = join(folder, "log-key-seed");
    expect((await stat(path)).mode & 0o777).toBe(0o600);
    expect(Buffer.from(await readFile(path, "utf8"), "base64")).toHaveLength(32);
    const before = await entriesOfKey();
    const signers = await Promise.all([1, 2, 3].map(() => logSigner(opened.pool, config())));
    expect(new Set(signers.map(({ seed }) => Buffer.from(seed).toString("hex"))).size).toBe(1);
    expect(await entriesOfKey()).toEqual(before);
    expect(before).toHaveLength(1);
  });

  it("is one key when several processes start for the first time at once", async () => {
    const fresh = await mkdtemp(join(tmpdir(), "sealbook-log-test-"));
    const first = readConfig({ SEALBOOK_DATA_FOLDER: fresh });
    const signers = await Promise.all([1, 2, 3, 4].map(() => logSigner(opened.pool, first)));
    expect(new Set(signers.map(({ seed }) => Buffer.from(seed).toString("hex"))).size).toBe(1);
    await rm(fresh, { recursive: true });
  });

  it("is recorded in the ledger when it changes", async () => {
    const seed = Buffer.alloc(32, 9).toString("base64");
    await logSigner(opened.pool, readConfig({ LOG_KEY_SEED: seed }));
    const keys = (await entriesOfKey()).map(({ payload }) => JSON.parse(payload));
    expect(keys.length).toBeGreaterThan(1);
    expect(keys[0].before).toBeNull();
    for (let at = 1; at < keys.length; at++) expect(keys[at].before).toBe(keys[at - 1].key);
  });

  it("is not replaced in silence when what is kept is damaged", async () => {
    const damaged = await mkdtemp(join(tmpdir(), "sealbook-log-test-"));
    await writeFile(join(damaged, "log-key-seed"), "half a ke");
    await expect(logSigner(opened.pool, readConfig({ SEALBOOK_DATA_FOLDER: damaged }))).rejects.toThrow(
      "Put back the one that was there",
    );
    expect(await readFile(join(damaged, "log-key-seed"), "utf8")).toBe("half a ke");
    await rm(damaged, { recursive: true });
  });
});
