import { spawnSync } from "node:child_process";
import { mkdtemp, readFile, rm, stat, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { readConfig } from "@sealbook/api/config";
import { writeEntry } from "@sealbook/api/platform/ledger";
import { logSigner } from "@sealbook/api/platform/log/log-signer";
import { sequenceEntries } from "@sealbook/api/platform/log/sequence-entries";
import { signHead } from "@sealbook/api/platform/log/sign-head";
import { inTransaction } from "@sealbook/api/platform/transaction";
import { verify } from "@sealbook/api/verify";
import { openCheckpoint } from "@sealbook/evidence/checkpoint";
import { writeNoteKey } from "@sealbook/evidence/note-key";
import { keyOfSigner } from "@sealbook/evidence/signed-note";
import pg from "pg";
import { afterAll, beforeAll, expect, it } from "vitest";
import { type FreshDatabase, freshDatabase } from "../support/fresh-database.ts";

let database: FreshDatabase;
let folder: string;
let admin: pg.Pool;

beforeAll(async () => {
  database = await freshDatabase();
  folder = await mkdtemp(join(tmpdir(), "sealbook-key-test-"));
  admin = new pg.Pool({ connectionString: database.adminUrl, max: 2 });
});
afterAll(async () => {
  await admin.end();
  await database.drop();
  await rm(folder, { recursive: true });
});

const config = () => readConfig({ SEALBOOK_DATA_FOLDER: folder });

async function grow(): Promise<string> {
  await inTransaction(admin, null, (tx) =>
    writeEntry(tx, { action: "shop.change", subjectType: "shop", subjectId: "shop", payload: {} }),
  );
  await inTransaction(admin, null, (tx) => sequenceEntries(tx));
  const signed = await signHead(admin, await logSigner(admin, config()), { isAskedFor: true });
  if (signed === null) throw new Error("a log with entries has a head to sign");
  return signed.note;
}

const rotate = (...commandArguments: string[]) =>
  spawnSync(
    process.execPath,
    [
      "--import",
      "tsx",
      fileURLToPath(new URL("../../apps/api/src/rotate-log-key.ts", import.meta.url)),
      ...commandArguments,
    ],
    {
      encoding: "utf8",
      env: { ...process.env, DATABASE_URL: database.adminUrl, SEALBOOK_DATA_FOLDER: folder },
    },
  );

it("is replaced on record, and the old one signs beside the new one for a while", async () => {
  const old = keyOfSigner(await logSigner(admin, config()));
  const before = await grow();
  const done = rotate("--overlap-days", "7");
  expect([done.status, done.stderr]).toEqual([0, ""]);
  const young = keyOfSigner(await logSigner(admin, config()));
  expect(writeNoteKey(young)).not.toBe(writeNoteKey(old));
  expect(done.stdout).toContain(writeNoteKey(young));
  expect(done.stdout).toContain(writeNoteKey(old));
  expect((await stat(join(folder, "log-key-seed"))).mode & 0o777).toBe(0o600);
  expect((await stat(join(folder, "log-key-seed-retiring"))).mode & 0o777).toBe(0o600);

  // Whoever holds either key alone can check a head of the overlap.
  const during = await grow();
  expect(openCheckpoint(during, [old]).kind).toBe("accepted");
  expect(openCheckpoint(during, [young]).kind).toBe("accepted");
  expect(openCheckpoint(before, [young]).kind).toBe("refused");

  const { rows } = await admin.query(
    "SELECT payload FROM ledger_entry WHERE action = 'logKey.use' ORDER BY id",
  );
  expect(rows.map(({ payload }) => JSON.parse(payload))).toEqual([
    { before: null, key: writeNoteKey(old) },
    { before: writeNoteKey(old), key: writeNoteKey(young) },
  ]);
  for (const key of [old, young]) {
    const { verified } = await verify(database.adminUrl, { note: during, keys: [key] });
    expect(verified.findings).toEqual([]);
    expect(verified.outsideSize).toBeGreaterThan(0);
  }

  // Once its time is over, the new one signs alone.
  const path = join(folder, "log-key-seed-retiring");
  const [seed] = (await readFile(path, "utf8")).split(" ");
  await writeFile(path, `${seed} 2020-01-01T00:00:00.000Z\n`);
  const after = await grow();
  expect(openCheckpoint(after, [young]).kind).toBe("accepted");
  expect(openCheckpoint(after, [old]).kind).toBe("refused");
  expect((await verify(database.adminUrl, { note: before, keys: [] })).verified.findings).toEqual([]);
});

it("is not replaced where a setting holds it, or the command is wrong", async () => {
  const seed = Buffer.alloc(32, 5).toString("base64");
  const refused = spawnSync(
    process.execPath,
    ["--import", "tsx", fileURLToPath(new URL("../../apps/api/src/rotate-log-key.ts", import.meta.url))],
    {
      encoding: "utf8",
      env: {
        ...process.env,
        DATABASE_URL: database.adminUrl,
        SEALBOOK_DATA_FOLDER: folder,
        LOG_KEY_SEED: seed,
      },
    },
  );
  expect(refused.status).toBe(1);
  expect(refused.stderr).toContain("LOG_KEY_SEED_RETIRING");
  expect(rotate("--overlap-days", "soon").status).toBe(2);
});
