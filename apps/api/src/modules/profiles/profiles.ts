import type { RuleProfileView } from "@sealbook/contract/profiles";
import { type CanonicalValue, canonicalJson } from "@sealbook/evidence/canonical-json";
import { type RuleProfile, ruleProfileSchema } from "@sealbook/metrology/profiles/profile-schema";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { newId, type Source, type Tx } from "../../platform/transaction.ts";
import {
  findNewestDocuments,
  findNewestProfile,
  findNewestProfiles,
  findProfile,
  insertProfile,
  type StoredProfile,
} from "./store.ts";

export async function listProfiles(
  database: Database,
  query: { cursor?: string | undefined; limit: number },
): Promise<{ rows: RuleProfileView[]; next: string | null }> {
  const after = query.cursor === undefined ? null : String(fromCursor(query.cursor, 1)[0]);
  const rows = await findNewestProfiles(reading(database), { after, limit: query.limit + 1 });
  return toPage(rows, query.limit, (row) => [row.key]);
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

/** The newest version of a jurisdiction's profile, or null. */
export async function profileByKey(source: Source, key: string): Promise<StoredProfile | null> {
  return await findNewestProfile(source, key);
}

/** The newest version of every profile, by key. There are a handful: one a jurisdiction. */
export async function newestProfiles(source: Source): Promise<StoredProfile[]> {
  return await findNewestDocuments(source);
}

export async function findProfileIdByKey(source: Source, key: string): Promise<string | null> {
  return (await findNewestProfile(source, key))?.id ?? null;
}

/** Puts a version of a rule profile on record; it never changes afterwards. */
export async function addProfile(tx: Tx, profile: RuleProfile): Promise<string> {
  const document = ruleProfileSchema.parse(profile);
  const id = newId();
  // Counts and months in a profile are whole numbers; every measured figure is a decimal string.
  const body = canonicalJson(document as unknown as CanonicalValue);
  const entryId = await writeEntry(tx, {
    action: "profile.add",
    subjectType: "profile",
    subjectId: id,
    payload: {
      key: document.key,
      version: document.version,
      document: document as unknown as CanonicalValue,
    },
  });
  await insertProfile(tx, id, document, body, entryId);
  return id;
}
