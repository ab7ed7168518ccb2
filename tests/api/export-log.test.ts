import { spawnSync } from "node:child_process";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { readConfig } from "@sealbook/api/config";
import { writeEntry } from "@sealbook/api/platform/ledger";
import { exportLog } from "@sealbook/api/platform/log/export-log";
import { logSigner } from "@sealbook/api/platform/log/log-signer";
import { sequenceEntries } from "@sealbook/api/platform/log/sequence-entries";
import { signHead } from "@sealbook/api/platform/log/sign-head";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import { checkLogExport } from "@sealbook/evidence/log-export";
import { writeNoteKey } from "@sealbook/evidence/note-key";
import { keyOfSigner, type NoteSigner } from "@sealbook/evidence/signed-note";
import pg from "pg";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type FreshDatabase, freshDatabase } from "../support/fresh-database.ts";

let database: FreshDatabase;
let folder: string;
let admin: pg.Pool;
let signer: NoteSigner;
/** Lines of the export: a heading, leaves 0 to 4, a head, leaves 5 to 9, a head. */
let lines: string[];
/** The head of five entries, kept elsewhere. */
let outside: string;

beforeAll(async () => {
  database = await freshDatabase();
  folder = await mkdtemp(join(tmpdir(), "sealbook-export-test-"));
  admin = new pg.Pool({ connectionString: database.adminUrl, max: 2 });
  signer = await logSigner(admin, readConfig({ SEALBOOK_DATA_FOLDER: folder }));
  await addPlaces(4);
  outside = await grow();
  await addPlaces(5);
  await grow();
  lines = await exported();
});
afterAll(async () => {
  await admin.end();
  await database.drop();
  await rm(folder, { recursive: true });
});

async function addPlaces(count: number): Promise<void> {
  for (let at = 0; at < count; at++) {
    await inTransaction(admin, null, async (tx) => {
      const id = newId();
      const entry = await writeEntry(tx, {
        action: "place.create",
        subjectType: "place",
        subjectId: id,
        payload: { name: `Van ${id}` },
      });
      await tx.query("INSERT INTO place (id, kind, name, entry_id) VALUES ($1, 'van', $2, $3)", [
        id,
        `Van ${id}`,
        entry,
      ]);
    });
  }
}

async function grow(): Promise<string> {
  await inTransaction(admin, null, (tx) => sequenceEntries(tx));
  const signed = await signHead(admin, signer, { isAskedFor: true });
  if (signed === null) throw new Error("a log with entries has a head to sign");
  return signed.note;
}

async function exported(): Promise<string[]> {
  const text: string[] = [];
  const reader = { query: async (sql: string, values?: unknown[]) => (await admin.query(sql, values)).rows };
  for await (const line of exportLog(reader as Parameters<typeof exportLog>[0])) text.push(line);
  return text.join("").split("\n").slice(0, -1);
}

/** Names of what is found when the lines were bent, with key and head from elsewhere. */
async function found(bent: readonly string[], withHead = true): Promise<string[]> {
  const { findings } = await checkLogExport(bent, {
    trusted: [keyOfSigner(signer)],
    outside: withHead ? outside : null,
  });
  return findings.map(({ name }) => name);
}

/** The lines with one of them changed. */
function bend(at: number, change: (line: string) => string): string[] {
  return lines.map((line, index) => (index === at ? change(line) : line));
}

describe("an export of the log", () => {
  it("is checked by itself and agrees with a head held outside", async () => {
    expect(lines).toHaveLength(13);
    const checked = await checkLogExport(lines, { trusted: [keyOfSigner(signer)], outside });
    expect(checked).toMatchObject({ findings: [], leaves: 10, outsideSize: 5, origin: signer.name });
    expect(checked.head?.size).toBe(10);
    expect((await checkLogExport(lines)).findings).toEqual([]);
  });

  it("names an entry that was changed, and rows that were", async () => {
    expect(await found(bend(3, (line) => line.replace("Van ", "Car ")))).toEqual(["entry-changed"]);
    expect(await found(bend(3, (line) => line.replace('"count":1', '"count":2')))).toEqual(["entry-changed"]);
  });

  it("finds a changed leaf, a removed, an added and a moved one, by the signed heads alone", async () => {
    const swapped = [...lines];
    [swapped[2], swapped[3]] = [lines[3] ?? "", lines[2] ?? ""];
    const cases: [string[], string][] = [
      [bend(4, (line) => line.replace(/"leaf":"[0-9a-f]{8}/, '"leaf":"00000000')), "signed-head-differs"],
      [lines.filter((_, at) => at !== 3), "signed-head-differs"],
      [[...lines.slice(0, 4), lines[3] ?? "", ...lines.slice(4)], "signed-head-differs"],
      [swapped, "signed-head-differs"],
      [lines.slice(0, -1), "no-head-at-end"],
      [bend(1, () => "{}"), "unreadable-line"],
      [bend(6, (line) => line.replace("\\n5\\n", "\\n4\\n")), "head-refused"],
      [bend(10, (line) => line.replace(/"rows":\{[^}]*\}/, '"rows":null')), "older-format"],
    ];
    for (const [bent, name] of cases) expect(await found(bent)).toContain(name);
    expect(await found([])).toEqual([]);
    expect(await found(lines.slice(1))).toContain("unreadable-line");
  });

  it("needs the head held outside to find what was made anew with the true key, or cut off", async () => {
    // Somebody who has the key signs a shorter log and gives out its export.
    const cut = lines.slice(0, 5);
    const { joinSubtrees, appendLeaf } = await import("@sealbook/evidence/frontier");
    const { exportHeadLine } = await import("@sealbook/evidence/log-export");
    const { writeCheckpoint } = await import("@sealbook/evidence/checkpoint");
    const { fromHex } = await import("@sealbook/evidence/bytes");
    const frontier: { size: number; hash: Uint8Array }[] = [];
    for (const line of cut.slice(1)) appendLeaf(frontier, fromHex(JSON.parse(line).leaf));
    const head = { size: 4, root: joinSubtrees(frontier.map(({ hash }) => hash)) };
    const forged = [...cut, exportHeadLine(writeCheckpoint(head, signer)).trimEnd()];
    expect(await found(forged, false)).toEqual([]);
    expect(await found(forged)).toEqual(["outside-head-ahead"]);
  });
});

describe("the commands", () => {
  const run = (program: string, ...commandArguments: string[]) =>
    spawnSync(
      process.execPath,
      [
        "--import",
        "tsx",
        fileURLToPath(new URL(`../../apps/api/src/${program}.ts`, import.meta.url)),
        ...commandArguments,
      ],
      {
        encoding: "utf8",
        env: { ...process.env, DATABASE_URL: database.adminUrl, SEALBOOK_DATA_FOLDER: folder },
      },
    );

  it("write an export and check it without a database", async () => {
    const file = join(folder, "log.ndjson");
    const written = run("export-log", "--out", file);
    expect([written.status, written.stderr]).toEqual([0, ""]);
    expect((await readFile(file, "utf8")).split("\n")).toEqual([...lines, ""]);
    const head = join(folder, "head.txt");
    await writeFile(head, outside);
    const key = writeNoteKey(keyOfSigner(signer));
    const agreed = run("verify", "--export", file, "--head", head, "--key", key);
    expect([agreed.status, agreed.stderr]).toEqual([0, ""]);
    expect(agreed.stdout).toContain("The head held outside, of 5 entries, agrees.\nEverything agrees.");

    await writeFile(file, bend(3, (line) => line.replace("Van ", "Car ")).join("\n"));
    const bent = run("verify", "--export", file, "--key", key);
    expect(bent.status).toBe(1);
    expect(bent.stdout).toContain("entry-changed: Entry ");
    expect(run("export-log", "--out", file).status).toBe(1);
    expect(run("verify", "--export", join(folder, "none")).status).toBe(2);
  });
});
