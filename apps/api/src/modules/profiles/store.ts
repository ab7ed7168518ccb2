import type { RuleProfileView } from "@sealbook/contract/profiles";
import { type RuleProfile, ruleProfileSchema } from "@sealbook/metrology/profiles/profile-schema";
import type { Source, Tx } from "../../platform/transaction.ts";

interface ProfileRow {
  id: string;
  key: string;
  version: string;
  title: string;
  place: string;
  body: string;
  recorded_at: Date;
}

/** A profile on record: its row's id and the document, parsed. */
export interface StoredProfile {
  id: string;
  document: RuleProfile;
}

function toView(row: ProfileRow): RuleProfileView {
  const document = ruleProfileSchema.parse(JSON.parse(row.body));
  return {
    id: row.id,
    key: row.key,
    version: row.version,
    title: row.title,
    place: row.place,
    citations: document.citations,
    caution: document.caution,
    recordedAt: row.recorded_at.toISOString(),
    body: row.body,
  };
}

/** Newest version of each profile, by key; versions are whole numbers kept as text. */
export async function findNewestProfiles(
  source: Source,
  filter: { after: string | null; limit: number },
): Promise<RuleProfileView[]> {
  const rows = await source.query<ProfileRow>(
    `SELECT * FROM (SELECT DISTINCT ON (key) * FROM rule_profile WHERE $1::text IS NULL OR key > $1 ORDER BY key, version::int DESC) newest
     ORDER BY key LIMIT $2`,
    [filter.after, filter.limit],
  );
  return rows.map(toView);
}

export async function findProfile(source: Source, id: string): Promise<RuleProfileView | null> {
  const [row] = await source.query<ProfileRow>("SELECT * FROM rule_profile WHERE id = $1", [id]);
  return row === undefined ? null : toView(row);
}

export async function findNewestProfile(source: Source, key: string): Promise<StoredProfile | null> {
  const [row] = await source.query<ProfileRow>(
    "SELECT * FROM rule_profile WHERE key = $1 ORDER BY version::int DESC LIMIT 1",
    [key],
  );
  return row === undefined ? null : { id: row.id, document: ruleProfileSchema.parse(JSON.parse(row.body)) };
}

/** Newest version of every profile, parsed, by key; at most two hundred jurisdictions. */
export async function findNewestDocuments(source: Source): Promise<StoredProfile[]> {
  const rows = await source.query<ProfileRow>(
    "SELECT DISTINCT ON (key) * FROM rule_profile ORDER BY key, version::int DESC LIMIT 200",
  );
  return rows.map((row) => ({ id: row.id, document: ruleProfileSchema.parse(JSON.parse(row.body)) }));
}

export async function insertProfile(
  tx: Tx,
  id: string,
  profile: RuleProfile,
  body: string,
  entryId: string,
): Promise<void> {
  await tx.query(
    "INSERT INTO rule_profile (id, key, version, title, place, body, entry_id) VALUES ($1, $2, $3, $4, $5, $6, $7)",
    [id, profile.key, profile.version, profile.title, profile.place, body, entryId],
  );
}
