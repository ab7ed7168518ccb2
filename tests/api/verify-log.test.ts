import { spawnSync } from "node:child_process";
import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { readConfig } from "@sealbook/api/config";
import { writeEntry } from "@sealbook/api/platform/ledger";
import { logSigner } from "@sealbook/api/platform/log/log-signer";
import { sequenceEntries } from "@sealbook/api/platform/log/sequence-entries";
import { signHead } from "@sealbook/api/platform/log/sign-head";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import { verify } from "@sealbook/api/verify";
import { writeCheckpoint } from "@sealbook/evidence/checkpoint";
import { writeNoteKey } from "@sealbook/evidence/note-key";
import { keyOfSigner, type NoteSigner } from "@sealbook/evidence/signed-note";
import pg from "pg";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { type FreshDatabase, freshDatabase } from "../support/fresh-database.ts";

let database: FreshDatabase;
let admin: pg.Pool;
let signer: NoteSigner;
/** A head of ten entries that somebody keeps elsewhere; the log has fifteen. */
let outside: string;
/** Entries in the order of the log. */
let entries: string[];

const config = readConfig({ LOG_KEY_SEED: Buffer.alloc(32, 3).toString("base64") });

beforeEach(async () => {
  database = await freshDatabase();
  admin = openAdmin();
  signer = await logSigner(admin, config);
  await writeSome(4);
  await sequenceAndSign();
  await writeSome(5);
  outside = await sequenceAndSign();
  await writeSome(5);
  await sequenceAndSign();
  const { rows } = await admin.query("SELECT entry_id FROM log_leaf ORDER BY leaf_index");
  entries = rows.map((row) => row.entry_id);
  expect(entries).toHaveLength(15);
});
afterEach(async () => {
  await admin.end();
  await database.drop();
});

/** A pool that takes it calmly when its database is dropped under it. */
function openAdmin(): pg.Pool {
  const pool = new pg.Pool({ connectionString: database.adminUrl, max: 3 });
  pool.on("error", () => undefined);
  pool.on("connect", (client) => client.on("error", () => undefined));
  return pool;
}

async function writeSome(count: number): Promise<void> {
  for (let at = 0; at < count; at++) {
    await inTransaction(admin, null, (tx) =>
      writeEntry(tx, {
        action: "shop.change",
        subjectType: "shop",
        subjectId: "shop",
        payload: { average: "100.04" },
      }),
    );
  }
}

async function sequenceAndSign(by = signer): Promise<string> {
  await inTransaction(admin, null, (tx) => sequenceEntries(tx));
  const signed = await signHead(admin, by, { isAskedFor: true });
  if (signed === null) throw new Error("a log with entries has a head to sign");
  return signed.note;
}

/** Statements of somebody who owns the database: first the triggers go, afterwards all looks as before. */
async function asOwner(...statements: string[]): Promise<void> {
  const tables = ["ledger_entry", "ledger_rows", "log_leaf", "log_head", "log_checkpoint", "place"];
  const triggers = (what: string) => tables.map((table) => `ALTER TABLE ${table} ${what} TRIGGER ALL`);
  const { rows } = await admin.query(
    `SELECT c.relname AS table, t.tgname AS name FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
     WHERE t.tgenabled = 'A' AND c.relname = ANY($1)`,
    [tables],
  );
  const always = rows.map((row) => `ALTER TABLE ${row.table} ENABLE ALWAYS TRIGGER ${row.name}`);
  await admin.query([...triggers("DISABLE"), ...statements, ...triggers("ENABLE"), ...always].join(";\n"));
}

/** Makes the whole log anew over the entries as they are now, so that the database agrees with itself. */
async function rebuildLog(by = signer): Promise<void> {
  await asOwner(
    "DELETE FROM log_leaf",
    "DELETE FROM log_checkpoint",
    "DELETE FROM log_pending",
    "UPDATE log_head SET size = 0, root = sha256('')",
    "INSERT INTO log_pending SELECT id FROM ledger_entry",
  );
  await sequenceAndSign(by);
}

async function findings(withHead: boolean): Promise<string[]> {
  const given = withHead ? { note: outside, keys: [keyOfSigner(signer)] } : null;
  const { verified } = await verify(database.adminUrl, given);
  return verified.findings.map(({ name }) => name);
}

async function sentences(): Promise<string> {
  const { lines } = await verify(database.adminUrl, { note: outside, keys: [keyOfSigner(signer)] });
  return lines.join("\n");
}

const changedPayload = `'{"average":"99.98"}'`;

describe("a log that nobody bent", () => {
  it("agrees, with and without a head held outside, and while entries wait", async () => {
    await writeSome(2);
    expect(await findings(false)).toEqual([]);
    const { verified, lines } = await verify(database.adminUrl, {
      note: outside,
      keys: [keyOfSigner(signer)],
    });
    expect(verified).toEqual({
      findings: [],
      rows: 0,
      leaves: 15,
      waiting: 2,
      signedSize: 15,
      outsideSize: 10,
    });
    expect(lines).toContain("Everything agrees.");
  });

  it("can be looked at by the server's own role", async () => {
    expect((await verify(database.appUrl)).verified.findings).toEqual([]);
  });

  it("says what cannot be known", async () => {
    const without = (await verify(database.adminUrl)).lines.join("\n");
    expect(without).toContain("No head held outside was given");
    expect(without).toContain("never recorded");
    expect(await sentences()).toContain("A rewrite of what is newer than the head held outside");
    const { lines } = await verify(database.adminUrl, { note: outside, keys: [] });
    expect(lines.join("\n")).toContain("was taken from this very database");
  });
});

describe("somebody who owns the database is found out when", () => {
  it("an old entry is changed: the entry is named", async () => {
    await asOwner(`UPDATE ledger_entry SET payload = ${changedPayload} WHERE id = '${entries[3]}'`);
    expect(await findings(false)).toEqual(["entry-changed"]);
    expect(await sentences()).toContain(`Entry ${entries[3]} (shop.change`);
  });

  it("the newest entry is changed", async () => {
    await asOwner(`UPDATE ledger_entry SET reason = 'none' WHERE id = '${entries[14]}'`);
    expect(await findings(false)).toEqual(["entry-changed"]);
    expect(await sentences()).toContain(`Entry ${entries[14]}`);
  });

  it("a leaf is changed, and with it the entry it is of", async () => {
    await asOwner("UPDATE log_leaf SET hash = sha256('other') WHERE leaf_index = 6");
    const found = await findings(true);
    expect(found).toEqual(expect.arrayContaining(["entry-changed", "head-differs", "outside-head-differs"]));
    // The signed head of five entries agrees, so the change lies behind it.
    expect(await sentences()).toContain("among leaves 5 to 9");
  });

  it("an entry and the whole log after it are made anew with the true key: by the head held outside alone", async () => {
    await asOwner(`UPDATE ledger_entry SET payload = ${changedPayload} WHERE id = '${entries[3]}'`);
    await rebuildLog();
    expect(await findings(false)).toEqual([]);
    expect(await findings(true)).toEqual(["outside-head-differs"]);
  });

  it("a row, its hash and the whole log after it are made anew with the true key: by the head held outside alone", async () => {
    const id = newId();
    await inTransaction(admin, null, async (tx) => {
      const entry = await writeEntry(tx, {
        action: "place.create",
        subjectType: "place",
        subjectId: id,
        payload: {},
      });
      await tx.query("INSERT INTO place (id, kind, name, entry_id) VALUES ($1, 'van', 'Van 4', $2)", [
        id,
        entry,
      ]);
    });
    outside = await sequenceAndSign();
    expect(await findings(true)).toEqual([]);
    await asOwner(
      "UPDATE place SET name = 'Van 5'",
      `UPDATE ledger_rows SET hashes = (SELECT sha256('\\x00'::bytea || convert_to(jsonb_strip_nulls(to_jsonb(p))::text, 'UTF8')) FROM place p)`,
    );
    await rebuildLog();
    expect(await findings(false)).toEqual([]);
    expect(await findings(true)).toEqual(["outside-head-differs"]);
  });

  it("two leaves change places", async () => {
    await asOwner(
      "UPDATE log_leaf SET leaf_index = 99 WHERE leaf_index = 6",
      "UPDATE log_leaf SET leaf_index = 6 WHERE leaf_index = 7",
      "UPDATE log_leaf SET leaf_index = 7 WHERE leaf_index = 99",
    );
    expect(await findings(true)).toEqual(expect.arrayContaining(["head-differs", "outside-head-differs"]));
    expect(await sentences()).toContain("among leaves 5 to 9");
  });

  it("an entry is taken away: the leaf is named", async () => {
    await asOwner(`DELETE FROM ledger_entry WHERE id = '${entries[8]}'`);
    expect(await findings(false)).toEqual(["leaf-without-entry"]);
    expect(await sentences()).toContain(`Leaf 8 is of entry ${entries[8]}`);
  });

  it("an entry and its leaf are taken away", async () => {
    await asOwner(
      "DELETE FROM log_leaf WHERE leaf_index = 8",
      `DELETE FROM ledger_entry WHERE id = '${entries[8]}'`,
    );
    expect(await findings(true)).toEqual(
      expect.arrayContaining(["leaf-missing", "head-differs", "outside-head-ahead"]),
    );
    expect(await sentences()).toContain("Leaf 8 is missing.");
  });

  it("an entry is taken away and the log made anew: by the head held outside alone", async () => {
    await asOwner("DELETE FROM log_leaf", `DELETE FROM ledger_entry WHERE id = '${entries[8]}'`);
    await rebuildLog();
    expect(await findings(false)).toEqual([]);
    expect(await findings(true)).toEqual(["outside-head-differs"]);
  });

  it("an entry is slipped in: it is named", async () => {
    const id = newId();
    await asOwner(
      `INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload)
       VALUES ('${id}', 'shop.change', 'shop', 'shop', '{}')`,
    );
    expect(await findings(false)).toEqual(["entry-without-leaf"]);
    expect(await sentences()).toContain(id);
  });

  it("an entry is slipped in among old ones and the log made anew: by the head held outside alone", async () => {
    // One before the first, by its id.
    await asOwner(
      `INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload)
       VALUES ('00000000-0000-7000-8000-000000000000', 'shop.change', 'shop', 'shop', '{}')`,
    );
    await rebuildLog();
    expect(await findings(false)).toEqual([]);
    expect(await findings(true)).toEqual(["outside-head-differs"]);
  });

  it("the head is another", async () => {
    await asOwner("UPDATE log_head SET root = sha256('other')");
    expect(await findings(false)).toEqual(["head-differs"]);
  });

  it("a signed head is another, without the key", async () => {
    await asOwner(`UPDATE log_checkpoint SET note = replace(note, E'\\n15\\n', E'\\n14\\n') WHERE size = 15`);
    expect(await findings(false)).toEqual(["signature-false"]);
  });

  it("an old signed head is another, without the key", async () => {
    await asOwner(
      `UPDATE log_checkpoint SET root = sha256('other'), note = replace(note, E'\\n5\\n', E'\\n6\\n') WHERE size = 5`,
    );
    expect(await findings(false)).toEqual(["signature-false"]);
    expect(await sentences()).toContain("The signed head of size 5");
  });

  it("the key is another: the log made anew and signed by a key of their own", async () => {
    const forged = await logSigner(
      admin,
      readConfig({ LOG_KEY_SEED: Buffer.alloc(32, 4).toString("base64") }),
    );
    await asOwner(`UPDATE ledger_entry SET payload = ${changedPayload} WHERE id = '${entries[3]}'`);
    await rebuildLog(forged);
    expect(await findings(true)).toEqual(["outside-head-differs"]);
    // A forged head that is given out as the one held outside is refused by whoever holds the true key.
    outside = writeCheckpoint({ size: 3, root: new Uint8Array(32) }, forged);
    expect(await findings(true)).toEqual(["outside-head-refused"]);
  });

  it("an older backup is put back: by the head held outside alone", async () => {
    // A database that is copied may have nobody connected to it.
    await admin.end();
    const backup = await freshDatabase(database.name);
    admin = openAdmin();
    await writeSome(5);
    outside = await sequenceAndSign();
    expect(await findings(true)).toEqual([]);
    await admin.end();
    await database.drop();
    database = backup;
    admin = openAdmin();
    expect(await findings(false)).toEqual([]);
    expect(await findings(true)).toEqual(["outside-head-ahead"]);
    expect(await sentences()).toContain("an older backup was put back");
  });

  it("an entry that waits is taken away", async () => {
    await writeSome(1);
    await asOwner("DELETE FROM ledger_entry WHERE id IN (SELECT entry_id FROM log_pending)");
    expect(await findings(false)).toEqual(["waiting-entry-removed"]);
  });
});

describe("a head held outside that is none", () => {
  it.each([
    ["changed", () => outside.replace("\n10\n", "\n11\n"), "signature-false"],
    ["cut short", () => outside.slice(0, 40), "not-a-note"],
    [
      "of another log",
      () => writeCheckpoint({ size: 1, root: new Uint8Array(32) }, { ...signer, name: "x/log" }),
      "no-known-signature",
    ],
  ])("%s is refused by name", async (_what, note, refusal) => {
    const { verified } = await verify(database.adminUrl, { note: note(), keys: [keyOfSigner(signer)] });
    expect(verified.outsideSize).toBeNull();
    expect(verified.findings.map(({ name }) => name)).toEqual(["outside-head-refused"]);
    expect(verified.findings[0]?.sentence).toContain(refusal);
  });
});

describe("the command", () => {
  const program = fileURLToPath(new URL("../../apps/api/src/verify.ts", import.meta.url));
  const run = (...commandArguments: string[]) =>
    spawnSync(process.execPath, ["--import", "tsx", program, ...commandArguments], {
      encoding: "utf8",
      env: { ...process.env, DATABASE_URL: database.adminUrl },
    });

  it("tells by its exit status whether everything agrees, something does not, or it could not look", async () => {
    const folder = await mkdtemp(join(tmpdir(), "sealbook-verify-test-"));
    const file = join(folder, "head.txt");
    await writeFile(file, outside);
    const key = writeNoteKey(keyOfSigner(signer));
    const agreed = run("--head", file, "--key", key);
    expect([agreed.status, agreed.stderr]).toEqual([0, ""]);
    expect(agreed.stdout).toContain("The head held outside, of 10 entries, agrees.\nEverything agrees.");

    await asOwner(`UPDATE ledger_entry SET payload = ${changedPayload} WHERE id = '${entries[3]}'`);
    const bent = run();
    expect(bent.status).toBe(1);
    expect(bent.stdout).toContain(`entry-changed: Entry ${entries[3]}`);

    for (const wrong of [
      ["--head", join(folder, "none")],
      ["--head", file, "--key", "x"],
      ["--key", key],
      ["--hed"],
    ]) {
      const refused = run(...wrong);
      expect([wrong, refused.status, refused.stdout]).toEqual([wrong, 2, ""]);
      expect(refused.stderr).toContain("Usage: verify");
    }
    await asOwner("DELETE FROM log_head");
    const headless = run();
    expect([headless.status, headless.stdout]).toEqual([2, ""]);
    expect(headless.stderr).toContain("its row was removed");
    await rm(folder, { recursive: true });
  });
});
