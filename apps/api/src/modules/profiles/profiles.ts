import type { RuleProfileRow, RuleProfileView } from "@sealbook/contract/profiles";
import { type CanonicalValue, canonicalJson } from "@sealbook/evidence/canonical-json";
import type { RuleProfile } from "@sealbook/metrology/profiles/profile-schema";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { shopToday } from "../../platform/shop-today.ts";
import { newId, type Source, type Tx } from "../../platform/transaction.ts";
import { readDocument } from "./read-document.ts";
import {
  type ApprovedVersion,
  findApprovedVersions,
  findCurrentProfiles,
  findDocumentsInForce,
  findHighestVersion,
  findProfile,
  findProfileInForce,
  findVersions,
  insertDecision,
  insertProfile,
  type StoredProfile,
} from "./store.ts";

export type { ApprovedVersion } from "./store.ts";

export async function listProfiles(
  database: Database,
  query: { cursor?: string | undefined; limit: number; key?: string | undefined },
): Promise<{ rows: RuleProfileRow[]; next: string | null }> {
  const source = reading(database);
  const after = query.cursor === undefined ? null : fromCursor(query.cursor, 2);
  const version = after === null ? null : Number(after[1]);
  const limit = query.limit + 1;
  const rows =
    query.key === undefined
      ? await findCurrentProfiles(source, {
          after: after === null || version === null ? null : { key: String(after[0]), version },
          limit,
        })
      : await findVersions(source, query.key, { before: version, limit });
  return toPage(rows, query.limit, (row) => [row.key, Number(row.version)]);
}

export async function getProfile(database: Database, id: string): Promise<RuleProfileView> {
  const profile = await profileById(reading(database), id);
  if (profile === null) throw notFound("rule profile");
  return profile;
}

/** A version of a profile by its id, or null. */
export async function profileById(source: Source, id: string): Promise<RuleProfileView | null> {
  return await findProfile(source, id);
}

/** The version of a jurisdiction's profile that is in force today, or null. */
export async function profileByKey(source: Source, key: string): Promise<StoredProfile | null> {
  return await findProfileInForce(source, key, await shopToday(source));
}

/** The version in force today of every profile, by key. There are a handful: one a jurisdiction. */
export async function profilesInForce(source: Source): Promise<StoredProfile[]> {
  return await findDocumentsInForce(source, await shopToday(source));
}

/** Approved versions of these jurisdictions, the one that takes over last first; see versionOn. */
export async function approvedVersions(source: Source, keys: readonly string[]): Promise<ApprovedVersion[]> {
  return await findApprovedVersions(source, keys);
}

/** Of a jurisdiction's approved versions, latest first, the one that judges tests of a local date. */
export function versionOn<Version extends { effectiveFrom: string | null }>(
  versions: readonly Version[],
  on: string,
): Version | undefined {
  return versions.find(({ effectiveFrom }) => effectiveFrom === null || effectiveFrom <= on);
}

/**
 * Puts a version on record that came with the service, and adopts it at once: an empty shop must have rules to begin
 * with. What comes later is proposed and approved by people.
 */
export async function adoptProfile(tx: Tx, document: RuleProfile): Promise<string> {
  const id = newId();
  await addProfile(tx, id, document, null);
  await writeDecision(
    tx,
    { id, key: document.key, version: document.version },
    { outcome: "approved", effectiveFrom: null, reason: "Came with the service" },
  );
  return id;
}

/**
 * Proposes versions that came with a newer service, where each is the next of its place. People decide on them; a shop
 * whose own proposals took the number keeps its own.
 *
 * @returns what was proposed
 */
export async function proposeShipped(tx: Tx, documents: readonly RuleProfile[]): Promise<RuleProfile[]> {
  const proposed: RuleProfile[] = [];
  for (const document of documents) {
    if (Number(document.version) !== (await findHighestVersion(tx, document.key)) + 1) continue;
    await addProfile(tx, newId(), document, "Came with a newer version of the service");
    proposed.push(document);
  }
  return proposed;
}

/** Puts a version of a rule profile on record as a proposal. It never changes afterwards, and judges nothing yet. */
export async function proposeProfile(
  tx: Tx,
  proposal: { id: string; document: string; reason: string },
): Promise<RuleProfileView> {
  const document = readDocument(proposal.document);
  const expected = (await findHighestVersion(tx, document.key)) + 1;
  if (Number(document.version) !== expected) {
    throw refusedByRule(
      "/document/version",
      expected === 1
        ? `${document.key} has no profile yet: its first version is 1.`
        : `The next version of ${document.key} is ${expected}.`,
    );
  }
  try {
    await addProfile(tx, proposal.id, document, proposal.reason);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError(
      "already-exists",
      `Version ${document.version} of ${document.key} was put on record by someone else at this moment.`,
      { errors: [{ pointer: "/document/version", detail: "This version was just taken." }] },
    );
  }
  return await onRecord(tx, proposal.id);
}

/** Approves or declines a proposed version; the database refuses its author as well. */
export async function decideProfile(
  tx: Tx,
  id: string,
  decision: { outcome: "approved" | "declined"; effectiveFrom: string | null; reason: string },
): Promise<RuleProfileView> {
  const profile = await findProfile(tx, id);
  if (profile === null) throw notFound("rule profile");
  if (profile.decision !== null) throw decidedAlready(profile);
  if (profile.proposedBy !== null && profile.proposedBy.id === tx.actor?.id) {
    throw new ProblemError(
      "not-permitted",
      "You proposed this version yourself; another person decides whether it comes into force.",
    );
  }
  if (decision.outcome === "declined" && decision.effectiveFrom !== null) {
    throw refusedByRule("/effectiveFrom", "A version that is declined comes into force on no date.");
  }
  try {
    await writeDecision(tx, profile, decision);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw decidedAlready(profile);
  }
  return await onRecord(tx, id);
}

function decidedAlready(profile: { key: string; version: string }): ProblemError {
  return new ProblemError(
    "wrong-state",
    `Version ${profile.version} of ${profile.key} has been decided on already.`,
  );
}

async function onRecord(tx: Tx, id: string): Promise<RuleProfileView> {
  const profile = await findProfile(tx, id);
  if (profile === null) throw notFound("rule profile");
  return profile;
}

async function addProfile(tx: Tx, id: string, document: RuleProfile, reason: string | null): Promise<void> {
  // Counts and months in a profile are whole numbers; every measured figure is a decimal string.
  const value = document as unknown as CanonicalValue;
  const entryId = await writeEntry(tx, {
    action: "profile.add",
    subjectType: "profile",
    subjectId: id,
    reason,
    payload: { key: document.key, version: document.version, document: value },
  });
  await insertProfile(tx, id, document, canonicalJson(value), entryId);
}

async function writeDecision(
  tx: Tx,
  profile: { id: string; key: string; version: string },
  decision: { outcome: "approved" | "declined"; effectiveFrom: string | null; reason: string },
): Promise<void> {
  const entryId = await writeEntry(tx, {
    action: "profile.decide",
    subjectType: "profile",
    subjectId: profile.id,
    reason: decision.reason,
    payload: {
      key: profile.key,
      version: profile.version,
      outcome: decision.outcome,
      effectiveFrom: decision.effectiveFrom,
    },
  });
  await insertDecision(tx, { profileId: profile.id, ...decision }, entryId);
}
