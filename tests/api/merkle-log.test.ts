import { createHash } from "node:crypto";
import { writeEntry } from "@sealbook/api/platform/ledger";
import { sequenceEntries } from "@sealbook/api/platform/log/sequence-entries";
import { startSequencer } from "@sealbook/api/platform/log/start-sequencer";
import { inTransaction, type Tx } from "@sealbook/api/platform/transaction";
import { openCheckpoint } from "@sealbook/evidence/checkpoint";
import { keyOfSigner } from "@sealbook/evidence/signed-note";
import pg from "pg";
import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { type FreshDatabase, freshDatabase } from "../support/fresh-database.ts";

let database: FreshDatabase;
let admin: pg.Pool;
/** As the server's own role. */
let server: pg.Pool;

beforeEach(async () => {
  database = await freshDatabase();
  admin = new pg.Pool({ connectionString: database.adminUrl, max: 4 });
  server = new pg.Pool({ connectionString: database.appUrl, max: 24 });
  for (const pool of [admin, server]) {
    pool.on("error", () => undefined);
    pool.on("connect", (client) => client.on("error", () => undefined));
  }
});
afterEach(async () => {
  await server.end();
  await admin.end();
  await database.drop();
});

const entry = (note: string) =>
  ({ action: "shop.change", subjectType: "shop", subjectId: "shop", payload: { note } }) as const;

/** No copying in these transactions. */
const notHere = async (): Promise<never> => {
  throw new Error("nothing is copied into the log");
};

async function writeSome(count: number): Promise<void> {
  for (let at = 0; at < count; at++) {
    await inTransaction(server, null, (tx) => writeEntry(tx, entry(`number ${at}`)));
  }
}

const sequence = (limit?: number) => inTransaction(server, null, (tx) => sequenceEntries(tx, limit));

async function sequenceAll(): Promise<void> {
  while ((await sequence()) > 0);
}

const sha256 = (...parts: (Uint8Array | string)[]): Buffer => {
  const hash = createHash("sha256");
  for (const part of parts) hash.update(part);
  return hash.digest();
};

/** RFC 6962 section 2.1 word for word, over another SHA-256 than the service's. */
function rootOf(leaves: readonly Buffer[]): Buffer {
  if (leaves.length === 0) return sha256();
  if (leaves.length === 1) return leaves[0] as Buffer;
  const split = 2 ** Math.ceil(Math.log2(leaves.length) - 1);
  return sha256(Uint8Array.of(1), rootOf(leaves.slice(0, split)), rootOf(leaves.slice(split)));
}

/** What is wrong with the log as it lies in the database; nothing, one hopes. Returns its size. */
async function expectWhole(): Promise<number> {
  const { rows: leaves } = await admin.query<{ index: string; entry_id: string; hash: Buffer }>(
    "SELECT leaf_index AS index, entry_id, hash FROM log_leaf ORDER BY leaf_index",
  );
  const { rows: entries } = await admin.query("SELECT * FROM ledger_entry");
  const hashes = new Map(
    entries.map((row): [string, string] => {
      // Members in the order of canonical JSON (RFC 8785), written by hand.
      const members = {
        action: row.action,
        actorId: row.actor_id,
        at: row.at.toISOString(),
        format: 1,
        id: row.id,
        payload: row.payload,
        reason: row.reason,
        subjectId: row.subject_id,
        subjectType: row.subject_type,
      };
      const entry = sha256(Uint8Array.of(0), JSON.stringify(members)).toString("hex");
      // These entries write no rows: the root is that of a tree without leaves.
      const leaf = { entry, format: 2, rows: { count: 0, root: sha256().toString("hex") } };
      return [row.id, sha256(Uint8Array.of(0), JSON.stringify(leaf)).toString("hex")];
    }),
  );
  expect(leaves.map(({ index }) => Number(index))).toEqual(leaves.map((_, at) => at));
  for (const leaf of leaves) expect(leaf.hash.toString("hex")).toBe(hashes.get(leaf.entry_id));
  const { rows: waiting } = await admin.query<{ entry_id: string }>("SELECT entry_id FROM log_pending");
  const everyEntry = [...leaves, ...waiting].map(({ entry_id }) => entry_id);
  expect(everyEntry.sort()).toEqual([...hashes.keys()].sort());
  const { rows: heads } = await admin.query("SELECT size, root FROM log_head");
  expect(heads).toEqual([{ size: String(leaves.length), root: rootOf(leaves.map(({ hash }) => hash)) }]);
  return leaves.length;
}

describe("the sequencer", () => {
  it("numbers entries from 0 without a gap, in as many batches as it takes", async () => {
    expect(await expectWhole()).toBe(0);
    await writeSome(37);
    const moved: number[] = [];
    for (let last = 1; last > 0; moved.push(last)) last = await sequence(8);
    expect(moved).toEqual([8, 8, 8, 8, 5, 0]);
    expect(await expectWhole()).toBe(37);
  });

  it("misses no entry that is committed after later ones", async () => {
    const late = await server.connect();
    await late.query("BEGIN");
    const lateTx: Tx = {
      actor: null,
      query: async (sql, values) => (await late.query(sql, values)).rows,
      copyIn: notHere,
    };
    const lateId = await writeEntry(lateTx, entry("written first, committed last"));
    await writeSome(5);
    await sequenceAll();
    expect(await expectWhole()).toBe(5);
    await late.query("COMMIT");
    late.release();
    await sequenceAll();
    expect(await expectWhole()).toBe(6);
    const { rows } = await admin.query("SELECT leaf_index FROM log_leaf WHERE entry_id = $1", [lateId]);
    expect(rows).toEqual([{ leaf_index: "5" }]);
  });

  it("leaves no gap for what is rolled back", async () => {
    await writeSome(2);
    await expect(
      inTransaction(server, null, async (tx) => {
        await writeEntry(tx, entry("given up"));
        throw new Error("given up");
      }),
    ).rejects.toThrow("given up");
    await writeSome(1);
    await sequenceAll();
    expect(await expectWhole()).toBe(3);
  });

  it("does not fork when two run at once beside writers", async () => {
    let isWriting = true;
    let committed = 0;
    const writer = async (number: number) => {
      for (let at = 0; at < 25; at++) {
        const isGivenUp = (number + at) % 5 === 0;
        await inTransaction(server, null, async (tx) => {
          await writeEntry(tx, entry(`writer ${number}, ${at}`));
          await tx.query("SELECT pg_sleep($1)", [((number * 7 + at * 3) % 10) / 1000]);
          if (isGivenUp) throw new Error("given up");
        }).then(
          () => {
            committed += 1;
          },
          (error: Error) => expect(error.message).toBe("given up"),
        );
      }
    };
    const moves = [0, 0];
    const sequencer = async (number: 0 | 1) => {
      while (isWriting) {
        moves[number] = (moves[number] ?? 0) + (await sequence(3));
        await new Promise((resolve) => setTimeout(resolve, 1));
      }
    };
    const sequencers = [sequencer(0), sequencer(1)];
    await Promise.all(Array.from({ length: 8 }, (_, number) => writer(number)));
    isWriting = false;
    await Promise.all(sequencers);
    expect(moves.every((moved) => moved > 0)).toBe(true);
    await sequenceAll();
    expect(committed).toBe(160);
    expect(await expectWhole()).toBe(160);
  });

  it("cannot fork even where the advisory lock does not keep two apart", async () => {
    await writeSome(6);
    const unlocked = (tx: Tx): Tx => ({
      actor: null,
      copyIn: notHere,
      query: async (sql, values) =>
        sql.includes("pg_try_advisory_xact_lock")
          ? ([{ taken: true }] as never)
          : await tx.query(sql, values),
    });
    const outcomes = await Promise.allSettled(
      [1, 2].map(() => inTransaction(server, null, (tx) => sequenceEntries(unlocked(tx)))),
    );
    const moved = outcomes.map((outcome) => (outcome.status === "fulfilled" ? outcome.value : 0));
    expect(moved.reduce((sum, one) => sum + one, 0)).toBe(6);
    expect(await expectWhole()).toBe(6);
  });

  it("does all or nothing when it is killed between any two steps", async () => {
    await writeSome(20);
    let steps = 0;
    // One kill before each step, and the last one between the last step and the commit.
    for (let killAt = 1; steps >= killAt - 1; killAt++) {
      steps = 0;
      const before = await expectWhole();
      const killed = inTransaction(server, null, async (tx) => {
        const kill = async () => {
          const [own] = await tx.query<{ pid: number }>("SELECT pg_backend_pid() AS pid");
          await admin.query("SELECT pg_terminate_backend($1, 5000)", [own?.pid]);
        };
        const counted: Tx = {
          actor: null,
          copyIn: notHere,
          async query(sql, values) {
            steps += 1;
            if (steps === killAt) await kill();
            return await tx.query(sql, values);
          },
        };
        await sequenceEntries(counted, 2);
        await kill();
      });
      await expect(killed).rejects.toThrow(/terminat|not queryable/i);
      expect(await expectWhole()).toBe(before);
      expect(await sequence(2)).toBe(2);
    }
    // Lock, lost history, head, entries, subtrees, rows, leaves, head again.
    expect(steps).toBe(8);
    await sequenceAll();
    expect(await expectWhole()).toBe(20);
  });

  it("stops, and says so, when the leaves do not give the head", async () => {
    await writeSome(4);
    await sequenceAll();
    await admin.query(
      `SET session_replication_role = replica; ALTER TABLE log_leaf DISABLE TRIGGER no_change;
       UPDATE log_leaf SET completed = completed || sha256('other') WHERE leaf_index = 1;
       UPDATE log_leaf SET completed = overlay(completed placing sha256('other') from 33) WHERE leaf_index = 3;
       ALTER TABLE log_leaf ENABLE ALWAYS TRIGGER no_change`,
    );
    await writeSome(1);
    await expect(sequence()).rejects.toThrow("do not give its head of size 4");
  });
});

describe("the running service", () => {
  it("has an entry in the log, and its first head signed, within a second; and stops", async () => {
    const signer = { name: "sealbook/test", seed: new Uint8Array(32).fill(7) };
    const sequencer = startSequencer({
      database: { url: database.appUrl },
      signer,
      log: pino({ level: "silent" }),
    });
    try {
      // Two rounds apart, so that the second entry waits for a round of its own.
      for (const size of [1, 2]) {
        await writeSome(1);
        const since = Date.now();
        const isThere = async () =>
          (await admin.query("SELECT size FROM log_head")).rows[0].size === String(size);
        while (!(await isThere())) {
          expect(Date.now() - since).toBeLessThan(1000);
          await new Promise((resolve) => setTimeout(resolve, 20));
        }
      }
    } finally {
      await sequencer.stop();
    }
    expect(await expectWhole()).toBe(2);
    const { rows } = await admin.query("SELECT size, note FROM log_checkpoint");
    expect(rows).toHaveLength(1);
    expect(openCheckpoint(rows[0].note, [keyOfSigner(signer)])).toMatchObject({
      kind: "accepted",
      checkpoint: { origin: "sealbook/test", size: Number(rows[0].size) },
    });
    const { rows: left } = await admin.query(
      "SELECT FROM pg_stat_activity WHERE datname = current_database() AND application_name = 'sealbook log'",
    );
    expect(left).toEqual([]);
  });
});

describe("the server's own role", () => {
  const insufficientPrivilege = "42501";
  const restrictViolation = "23001";
  const zeroHash = "decode(repeat('00', 32), 'hex')";

  async function refusedWith(statement: string): Promise<string> {
    try {
      await inTransaction(server, null, (tx) => tx.query(statement));
      return "taken";
    } catch (error) {
      return (error as pg.DatabaseError).code ?? String(error);
    }
  }

  beforeEach(async () => {
    await writeSome(3);
    await sequenceAll();
    await writeSome(1);
  });

  it.each([
    ["a leaf changed", "UPDATE log_leaf SET hash = hash"],
    ["a leaf removed", "DELETE FROM log_leaf"],
    ["an entry taken out of the queue", "DELETE FROM log_pending"],
    ["an entry put into the queue", "INSERT INTO log_pending SELECT id FROM ledger_entry LIMIT 1"],
    ["the head removed", "DELETE FROM log_head"],
    ["another head", "INSERT INTO log_head DEFAULT VALUES"],
    ["the log's name changed", "UPDATE log_head SET log_id = gen_random_uuid()"],
    ["a signed head changed", "UPDATE log_checkpoint SET note = note"],
    ["a signed head with a time of its own", "INSERT INTO log_checkpoint (size, at) VALUES (3, now())"],
  ])("may not have %s", async (_what, statement) => {
    expect(await refusedWith(statement)).toBe(insufficientPrivilege);
    expect(await expectWhole()).toBe(3);
  });

  it.each([
    ["a head that shrinks", "UPDATE log_head SET size = 2"],
    ["a head of the same size with another root", `UPDATE log_head SET root = ${zeroHash}`],
    ["a head beyond the leaves", "UPDATE log_head SET size = 5"],
    [
      "a leaf without its head",
      `INSERT INTO log_leaf SELECT 3, entry_id, ${zeroHash}, '', 2 FROM log_pending`,
    ],
    [
      "a leaf that leaves a gap",
      `WITH leaf AS (INSERT INTO log_leaf (leaf_index, entry_id, hash, completed, format)
         SELECT 4, entry_id, ${zeroHash}, '', 2 FROM log_pending) UPDATE log_head SET size = 5`,
    ],
    [
      "a signed head that never was",
      `INSERT INTO log_checkpoint (size, root, note) VALUES (3, ${zeroHash}, 'no head')`,
    ],
  ])("is refused %s", async (_what, statement) => {
    expect(await refusedWith(statement)).toBe(restrictViolation);
    expect(await expectWhole()).toBe(3);
  });

  it("is refused a second leaf of an entry", async () => {
    const uniqueViolation = "23505";
    const again = `INSERT INTO log_leaf SELECT 3, entry_id, hash, '', 2 FROM log_leaf WHERE leaf_index = 0`;
    expect(await refusedWith(again)).toBe(uniqueViolation);
    expect(await expectWhole()).toBe(3);
  });
});
