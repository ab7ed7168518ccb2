import { createReadStream } from "node:fs";
import { readFile } from "node:fs/promises";
import { createInterface } from "node:readline";
import { pathToFileURL } from "node:url";
import { parseArgs } from "node:util";
import { type CheckedExport, checkLogExport } from "@sealbook/evidence/log-export";
import { type NoteKey, readNoteKey } from "@sealbook/evidence/note-key";
import { readHeld } from "@sealbook/verification/read-held";
import pg from "pg";
import { databaseOf } from "./command-line.ts";
import { readConfig } from "./config.ts";
import type { Reader } from "./platform/log/store.ts";
import { type OutsideHead, type Verified, verifyLog } from "./platform/log/verify-log.ts";
import { verifyRows } from "./platform/log/verify-rows.ts";
import { verifyBundleFile } from "./verify-bundle-file.ts";

const usage = `Usage: verify [--head FILE] [--key KEY]...
       verify --export FILE [--head FILE] [--key KEY]...
       verify --bundle FILE [--head FILE] [--key KEY]...

Holds every row on record against the hash that was logged of it, every ledger entry against its leaf in the log, the
log against its heads, and the heads against their signatures. The database is the one that DATABASE_URL names, else the embedded one.

  --export FILE  checks an export of the log instead, without a database: the entries and the heads over them. The rows
               are not in it, so it cannot tell whether they still are what the entries wrote.
  --bundle FILE  checks the evidence bundle of a released report instead, without a database: the log, every record judged
               again, every figure counted again, every lot drawn and decided again.
  --head FILE  a signed head of this log that was kept elsewhere; with --bundle also the line from the foot of a paper
  --key KEY    public key of the log that was kept elsewhere, name+id+key; more than one where the key changed.
               Without it, the keys that the ledger itself names are believed.

Exit status: 0 when everything agrees, 1 when something does not, 2 when it could not be looked at.
`;

const mostFindingsShown = 200;

/** What was found about the log and about the rows that it vouches for. */
export interface VerifiedBook extends Verified {
  readonly rows: number;
}

/**
 * Verifies the rows and the log in a database and says in sentences what was found and what cannot be known.
 *
 * @param databaseUrl address of the database as a role that may read it
 * @returns lines for a person, and whether everything agrees
 */
export async function verify(
  databaseUrl: string,
  outside: OutsideHead | null = null,
): Promise<{ verified: VerifiedBook; lines: string[] }> {
  const client = new pg.Client({ connectionString: databaseUrl, application_name: "sealbook verify" });
  await client.connect();
  try {
    // One state of the database throughout, while others go on writing.
    await client.query("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY");
    const reader: Reader = { query: async (sql, values) => (await client.query(sql, values)).rows };
    const log = await verifyLog(reader, outside);
    const { rows, findings } = await verifyRows(reader);
    const verified = { ...log, rows, findings: [...log.findings, ...findings] };
    return { verified, lines: sentencesOf(verified, outside) };
  } finally {
    await client.end();
  }
}

function sentencesOf(verified: VerifiedBook, outside: OutsideHead | null): string[] {
  const { findings, leaves, rows, waiting, signedSize, outsideSize } = verified;
  const lines = [
    `${leaves} leaves were held against their entries; ${waiting} entries wait for their leaf.`,
    `${rows} rows on record were held against the hashes that were logged of them.`,
    signedSize === null
      ? "There is no signed head with a true signature."
      : `The newest signed head holds ${signedSize} entries.`,
    ...(outsideSize === null ? [] : [`The head held outside, of ${outsideSize} entries, agrees.`]),
    ...findings.slice(0, mostFindingsShown).map(({ name, sentence }) => `${name}: ${sentence}`),
  ];
  if (findings.length > mostFindingsShown) {
    lines.push(`and ${findings.length - mostFindingsShown} findings more.`);
  }
  lines.push(findings.length === 0 ? "Everything agrees." : `${findings.length} things do not agree.`);
  lines.push("", "What this cannot know:");
  if (outside === null) {
    lines.push(
      "- No head held outside was given. Whoever owns the database and the key can have rewritten all of it, and an",
      "  older backup can have been put back: give a head that was kept elsewhere with --head.",
    );
  } else {
    if (outside.keys.length === 0) {
      lines.push(
        "- The key of the head held outside was taken from this very database: give the one you hold with --key.",
      );
    }
    lines.push(
      "- A rewrite of what is newer than the head held outside, by somebody who has database and key.",
    );
  }
  lines.push("- Whether something that happened was never recorded.");
  return lines;
}

/**
 * Checks an export of the log and says in sentences what was found and what cannot be known.
 *
 * @param path of the export
 */
export async function verifyExport(
  path: string,
  outside: OutsideHead | null,
  keys: readonly NoteKey[],
): Promise<{ checked: CheckedExport; lines: string[] }> {
  const text = createInterface({
    input: createReadStream(path, "utf8"),
    crlfDelay: Number.POSITIVE_INFINITY,
  });
  const checked = await checkLogExport(text, { trusted: keys, outside: outside?.note ?? null });
  const { findings, origin, leaves, head, outsideSize } = checked;
  const lines = [
    `${leaves} leaves of the log ${origin ?? "without a name"} were held against their entries.`,
    head === null
      ? "No signed head leads to them."
      : `The newest signed head that they lead to holds ${head.size} entries.`,
    ...(outsideSize === null ? [] : [`The head held outside, of ${outsideSize} entries, agrees.`]),
    ...findings.map(({ name, sentence }) => `${name}: ${sentence}`),
    findings.length === 0 ? "Everything agrees." : `${findings.length} things do not agree.`,
    "",
    "What this cannot know:",
    "- Whether the rows in the database are still what these entries wrote: verify looks there with the database alone.",
  ];
  if (outside === null) {
    lines.push(
      "- No head held outside was given. Whoever has the key can have made all of it anew: give a head that was kept",
      "  elsewhere with --head.",
    );
  }
  if (keys.length === 0) {
    lines.push("- The key was taken from the export itself: give the one you hold with --key.");
  }
  lines.push("- Whether something that happened was never recorded.");
  return { checked, lines };
}

async function main(commandArguments: readonly string[]): Promise<number> {
  let outside: OutsideHead | null = null;
  let exported: string | undefined;
  let bundle: string | undefined;
  let keys: NoteKey[] = [];
  try {
    const { values } = parseArgs({
      args: [...commandArguments],
      options: {
        export: { type: "string" },
        bundle: { type: "string" },
        head: { type: "string" },
        key: { type: "string", multiple: true },
        help: { type: "boolean" },
      },
    });
    if (values.help) {
      process.stdout.write(usage);
      return 0;
    }
    keys = (values.key ?? []).map(keyIn);
    exported = values.export;
    bundle = values.bundle;
    if (exported !== undefined && bundle !== undefined)
      throw new Error("--export and --bundle are two things to look at: name one of them.");
    if (values.head !== undefined) outside = { note: await readFile(values.head, "utf8"), keys };
    else if (keys.length > 0 && exported === undefined && bundle === undefined)
      throw new Error("--key belongs to a head held outside: give one with --head.");
  } catch (error) {
    process.stderr.write(`${(error as Error).message}\n\n${usage}`);
    return 2;
  }
  if (bundle !== undefined) {
    try {
      const held = readHeld(outside?.note ?? "");
      const { verification, lines } = await verifyBundleFile(bundle, {
        ...held,
        keys: [...keys, ...held.keys],
      });
      process.stdout.write(`${lines.join("\n")}\n`);
      return verification.holds ? 0 : 1;
    } catch (error) {
      process.stderr.write(`The bundle could not be looked at: ${(error as Error).message}\n`);
      return 2;
    }
  }
  if (exported !== undefined) {
    try {
      const { checked, lines } = await verifyExport(exported, outside, keys);
      process.stdout.write(`${lines.join("\n")}\n`);
      return checked.findings.length === 0 ? 0 : 1;
    } catch (error) {
      process.stderr.write(`The export could not be looked at: ${(error as Error).message}\n`);
      return 2;
    }
  }
  const config = readConfig();
  const database = await databaseOf(config);
  try {
    const { verified, lines } = await verify(database.url, outside);
    process.stdout.write(`${lines.join("\n")}\n`);
    return verified.findings.length === 0 ? 0 : 1;
  } catch (error) {
    process.stderr.write(`The log could not be looked at: ${(error as Error).message}\n`);
    return 2;
  } finally {
    await database.stop();
  }
}

function keyIn(line: string): NoteKey {
  const read = readNoteKey(line);
  if (read.kind === "refused") {
    throw new Error(`--key ${line} is no key (${read.refusal}): got ${read.got}, want ${read.want}.`);
  }
  return read.key;
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  process.exitCode = await main(process.argv.slice(2));
}
