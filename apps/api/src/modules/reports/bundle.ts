import { Readable } from "node:stream";
import { createGzip } from "node:zlib";
import { may } from "@sealbook/contract/permissions";
import { toHex } from "@sealbook/evidence/bytes";
import { canonicalJson } from "@sealbook/evidence/canonical-json";
import { readCheckpointText } from "@sealbook/evidence/checkpoint";
import { ledgerEntryText } from "@sealbook/evidence/ledger-entry";
import { loggedRows } from "@sealbook/evidence/logged-rows";
import { rangesBeside } from "@sealbook/evidence/proof-of-many";
import { consistencyRanges } from "@sealbook/evidence/proof-ranges";
import type { NoteSigner } from "@sealbook/evidence/signed-note";
import type { Database } from "../../platform/database.ts";
import { findRangeHashes } from "../../platform/log/find-range-hashes.ts";
import { signHead } from "../../platform/log/sign-head.ts";
import {
  entryColumns,
  findLogKey,
  findNewestCheckpoint,
  findRowLines,
  type SignedHead,
  toEntry,
} from "../../platform/log/store.ts";
import { ProblemError } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import type { Actor, Source } from "../../platform/transaction.ts";
import { readBody } from "./build-body.ts";
import {
  findCalibrationLines,
  findEntriesBeside,
  findLotLines,
  findNames,
  findOtherEntries,
  findPlanLines,
  findProfileLines,
} from "./bundle-parts.ts";
import { testLines } from "./reported-tests.ts";
import { releasedReport } from "./reports.ts";
import { readText } from "./tests-file.ts";

/** An entry with its place in the log, as a bundle carries it. */
interface BundledEntry {
  /** Index of its leaf. */
  index: number;
  /** Text of the entry, as it is hashed. */
  text: string;
  /** What its leaf holds of the rows that it wrote; null for a leaf of format 1. */
  rows: { count: number; root: string } | null;
}

const entriesAtOnce = 500;

/**
 * The evidence bundle of a released report, as docs/bundle.md specifies it: one JSON object a line, compressed as gzip, made
 * as it is read, so that its size is no matter.
 *
 * @param names    whether the names of people are opened by their salts
 * @param heldSize entries under a head that the reader holds, to be proved the beginning of this log; null for none
 * @throws ProblemError unavailable while the release waits for its place under a signed head
 */
export async function reportBundle(
  database: Database,
  signer: NoteSigner | null,
  id: string,
  { names, heldSize }: { names: "left-out" | "opened"; heldSize: number | null },
  actor: Actor | null,
): Promise<{ fileName: string; bytes: Readable }> {
  const source = reading(database);
  if (names === "opened" && !may(actor?.role ?? null, "report.prepare")) {
    throw new ProblemError(
      "not-permitted",
      "Names are opened by whoever prepares reports; ask the shop for a bundle with names.",
    );
  }
  const report = await releasedReport(source, id, actor);
  const head = await headOverRelease(database, source, signer, report.release.entryId);
  const lines = linesOfBundle(database, source, report, head, names, heldSize);
  return {
    fileName: `evidence ${report.periodFrom} to ${report.periodTo} edition ${report.edition}.sealbook.gz`,
    bytes: Readable.from(buffered(lines)).pipe(createGzip({ level: 6 })),
  };
}

async function* linesOfBundle(
  database: Database,
  source: Source,
  report: Awaited<ReturnType<typeof releasedReport>>,
  head: { note: string; key: string; size: number },
  names: "left-out" | "opened",
  heldSize: number | null,
): AsyncGenerator<object> {
  const body = readBody(report.figures.body);
  const people = new Set<string>();
  const indexes = new Map<string, number>();
  const take = (entryId: string, entry: BundledEntry) => {
    indexes.set(entryId, entry.index);
    return entry;
  };

  yield { kind: "bundle", format: 1, reportId: report.id, edition: report.edition, names };
  yield { kind: "head", note: head.note, key: head.key };
  yield* earlierHeads(source, head.size, heldSize);
  yield { kind: "report", text: report.figures.body };
  const profiles = await findProfileLines(source, body);
  yield* profiles;

  // The records behind the figures, each beside the entry that recorded it. An entry that recorded several stands once.
  const planIds = new Set<string>();
  const calibrationIds = new Set<string>();
  const amendedIds: string[] = [];
  const lotIds = body.lots.map(({ id }) => id);
  for await (const texts of inGroups(await testLines(database, report.figures), entriesAtOnce)) {
    const tests = texts.map((text) => ({ text, test: readText(text) }));
    const entries = await entriesOf(
      source,
      tests.map(({ test }) => test.entryId).filter((entryId) => !indexes.has(entryId)),
    );
    for (const { text, test } of tests) {
      const entry = indexes.has(test.entryId) ? null : entries.get(test.entryId);
      if (entry === undefined) throw new Error(`entry ${test.entryId} of a test is not in the log`);
      if (entry !== null) {
        take(test.entryId, entry);
        noteParts(entry.text, planIds, people);
      }
      if (test.calibrationId !== null) calibrationIds.add(test.calibrationId);
      if (test.state === "amended") amendedIds.push(test.id);
      yield { kind: "test", text, entry };
    }
  }
  const outside = await findEntriesBeside(source, { amendedIds, lotIds, cutoff: body.cutoff });
  const beside = outside.filter((entryId) => !indexes.has(entryId));
  for (let at = 0; at < beside.length; at += entriesAtOnce) {
    const entries = await entriesOf(source, beside.slice(at, at + entriesAtOnce));
    for (const { text } of entries.values()) noteParts(text, planIds, people);
  }
  yield* await findPlanLines(source, [...planIds]);
  yield* await findCalibrationLines(source, [...calibrationIds]);
  yield* await findLotLines(database, source, lotIds);

  const entriesOfParts = await findOtherEntries(source, {
    reportId: report.id,
    profileIds: profiles.map((profile) => profile.id),
    planIds: [...planIds],
    calibrationIds: [...calibrationIds],
    lotIds,
    headSize: head.size,
  });
  const others = [...entriesOfParts, ...beside];
  for (let at = 0; at < others.length; at += entriesAtOnce) {
    const wanted = others.slice(at, at + entriesAtOnce).filter((entryId) => !indexes.has(entryId));
    for (const [entryId, entry] of await entriesOf(source, wanted)) {
      noteParts(entry.text, planIds, people);
      yield { kind: "entry", ...take(entryId, entry) };
    }
  }
  if (names === "opened") {
    const opened = await findNames(source, [...people]);
    yield* opened.lines;
    const wanted = opened.entryIds.filter((entryId) => !indexes.has(entryId));
    for (const [entryId, entry] of await entriesOf(source, wanted)) {
      if (entry.index < head.size) yield { kind: "entry", ...take(entryId, entry) };
    }
  }

  const sorted = [...indexes.values()].sort((a, b) => a - b);
  const proof = await findRangeHashes({ query: source.query }, rangesBeside(sorted, head.size));
  yield { kind: "proof", size: head.size, hashes: proof.map(toHex) };
}

/** Test plans that an entry of a test names, and people that any entry names. */
function noteParts(text: string, planIds: Set<string>, people: Set<string>): void {
  const entry = JSON.parse(text) as { actorId: string | null; payload: string };
  const payload = JSON.parse(entry.payload) as { planId?: unknown; testerId?: unknown };
  if (typeof payload.planId === "string") planIds.add(payload.planId);
  if (entry.actorId !== null) people.add(entry.actorId);
  if (typeof payload.testerId === "string") people.add(payload.testerId);
}

/** Entries with their leaves, by id; those that wait for a leaf are not among them. */
async function entriesOf(source: Source, ids: readonly string[]): Promise<Map<string, BundledEntry>> {
  if (ids.length === 0) return new Map();
  const reader = { query: source.query };
  const rows = await source.query<Parameters<typeof toEntry>[0] & { index: string; format: number }>(
    `SELECT l.leaf_index AS index, l.format, ${entryColumns}
     FROM log_leaf l JOIN ledger_entry e ON e.id = l.entry_id WHERE l.entry_id = ANY($1::uuid[]) ORDER BY l.leaf_index`,
    [ids],
  );
  const lines = await findRowLines(reader, ids);
  return new Map(
    rows.map((row) => [
      row.id,
      {
        index: Number(row.index),
        text: ledgerEntryText(toEntry(row)),
        rows: row.format === 1 ? null : loggedRows(lines.get(row.id) ?? []),
      },
    ]),
  );
}

const mostEarlierHeads = 400;

/**
 * Earlier heads with the proof that the log under each is the beginning of the log under the bundle's head: the last one of
 * each day, so that most readers find theirs, and the one that was asked for.
 */
async function* earlierHeads(source: Source, size: number, heldSize: number | null): AsyncGenerator<object> {
  const reader = { query: source.query };
  const rows = await source.query<{ size: string }>(
    `SELECT max(size) AS size FROM log_checkpoint WHERE size BETWEEN 1 AND $1 GROUP BY (at AT TIME ZONE 'UTC')::date
     ORDER BY 1 DESC LIMIT ${mostEarlierHeads}`,
    [size - 1],
  );
  const asked = heldSize !== null && heldSize >= 1 && heldSize < size ? [heldSize] : [];
  const sizes = new Set([...rows.map((row) => Number(row.size)), ...asked]);
  for (const older of [...sizes].sort((a, b) => a - b)) {
    const ranges = [{ from: 0, to: older }, ...consistencyRanges(older, size)];
    const [root, ...proof] = (await findRangeHashes(reader, ranges)).map(toHex);
    yield { kind: "earlier", size: older, root, hashes: proof };
  }
}

/** A signed head that holds the release. */
async function headOverRelease(
  database: Database,
  source: Source,
  signer: NoteSigner | null,
  entryId: string,
): Promise<{ note: string; key: string; size: number }> {
  const [leaf] = await source.query<{ index: string }>(
    "SELECT leaf_index AS index FROM log_leaf WHERE entry_id = $1",
    [entryId],
  );
  const reader = { query: source.query };
  const holds = (head: SignedHead | null) =>
    head !== null && leaf !== undefined && head.size > Number(leaf.index) ? head : null;
  const head =
    holds(await findNewestCheckpoint(reader)) ??
    (signer === null ? null : holds(await signHead(database.pool, signer, { isAskedFor: true })));
  const key = await findLogKey(reader);
  if (head === null || key === null) {
    throw new ProblemError(
      "unavailable",
      "The release waits for its place under a signed head of the log: that takes some seconds. Try again then.",
    );
  }
  const read = readCheckpointText(head.note.slice(0, head.note.lastIndexOf("\n\n") + 1));
  if (read.kind === "refused") throw new Error(`a signed head on record is none: ${read.got}`);
  return { note: head.note, key, size: read.checkpoint.size };
}

async function* inGroups<Item>(items: AsyncIterable<Item>, size: number): AsyncGenerator<Item[]> {
  let group: Item[] = [];
  for await (const item of items) {
    group.push(item);
    if (group.length === size) {
      yield group;
      group = [];
    }
  }
  if (group.length > 0) yield group;
}

/** Lines as bytes, some thousand characters at a time, with the line that ends the bundle and counts the others. */
async function* buffered(lines: AsyncIterable<object>): AsyncGenerator<Buffer> {
  let text = "";
  let count = 0;
  for await (const line of lines) {
    text += `${canonicalJson(line as Parameters<typeof canonicalJson>[0])}\n`;
    count += 1;
    if (text.length > 262_144) {
      yield Buffer.from(text, "utf8");
      text = "";
    }
  }
  yield Buffer.from(`${text}${canonicalJson({ kind: "end", lines: count })}\n`, "utf8");
}
