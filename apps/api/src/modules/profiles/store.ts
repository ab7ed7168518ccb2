import type { ProfileStanding, RuleProfileRow, RuleProfileView } from "@sealbook/contract/profiles";
import { type RuleProfile, ruleProfileSchema } from "@sealbook/metrology/profiles/profile-schema";
import { personRef } from "../../platform/person-ref.ts";
import type { Source, Tx } from "../../platform/transaction.ts";

interface ProfileRow {
  id: string;
  key: string;
  version: string;
  title: string;
  place: string;
  body: string;
  recorded_at: Date;
  author_id: string | null;
  author_name: string | null;
  standing: ProfileStanding;
  outcome: "approved" | "declined" | null;
  effective_from: string | null;
  reason: string | null;
  decided_at: Date | null;
  decider_id: string | null;
  decider_name: string | null;
}

/** A profile on record: its row's id and the document, parsed. */
export interface StoredProfile {
  id: string;
  document: RuleProfile;
}

/** An approved version and the first local date of the tests that it judges; null from the beginning. */
export interface ApprovedVersion {
  id: string;
  key: string;
  effectiveFrom: string | null;
}

/**
 * Every version with where it stands on the shop's date of today. Approved versions follow each other by the date from
 * which they hold, and of two with the same date the higher version holds.
 */
const versions = `
  SELECT p.*, p.actor_id AS author_id, an.value AS author_name, d.outcome, d.effective_from, d.reason,
    d.decided_at, d.actor_id AS decider_id, dn.value AS decider_name,
    CASE WHEN d.outcome IS NULL THEN 'proposed' WHEN d.outcome = 'declined' THEN 'declined'
      WHEN p.id = (
        SELECT q.id FROM rule_profile q JOIN rule_profile_decision e ON e.profile_id = q.id
        WHERE q.key = p.key AND e.outcome = 'approved' AND (e.effective_from IS NULL OR e.effective_from <= today.date)
        ORDER BY e.effective_from DESC NULLS LAST, q.version::int DESC LIMIT 1
      ) THEN 'in-force'
      WHEN d.effective_from > today.date THEN 'waiting' ELSE 'superseded' END AS standing
  FROM rule_profile p
  CROSS JOIN (
    SELECT (now_to_the_millisecond() AT TIME ZONE coalesce((SELECT time_zone FROM shop), 'UTC'))::date AS date
  ) today
  LEFT JOIN rule_profile_decision d ON d.profile_id = p.id
  LEFT JOIN account aa ON aa.id = p.actor_id LEFT JOIN personal_value an ON an.id = aa.name_id
  LEFT JOIN account da ON da.id = d.actor_id LEFT JOIN personal_value dn ON dn.id = da.name_id`;

function toRow(row: ProfileRow): RuleProfileRow {
  const document = ruleProfileSchema.parse(JSON.parse(row.body));
  return {
    id: row.id,
    key: row.key,
    version: row.version,
    title: row.title,
    place: row.place,
    citations: document.citations,
    caution: document.caution,
    standing: row.standing,
    decision:
      row.outcome === null || row.decided_at === null
        ? null
        : {
            outcome: row.outcome,
            effectiveFrom: row.effective_from,
            reason: row.reason ?? "",
            decidedBy: personRef(row.decider_id, row.decider_name),
            decidedAt: row.decided_at.toISOString(),
          },
    proposedBy: personRef(row.author_id, row.author_name),
    recordedAt: row.recorded_at.toISOString(),
  };
}

/** Of each place the version in force and those not decided yet, by key and version. */
export async function findCurrentProfiles(
  source: Source,
  filter: { after: { key: string; version: number } | null; limit: number },
): Promise<RuleProfileRow[]> {
  const rows = await source.query<ProfileRow>(
    `SELECT * FROM (${versions}) v WHERE standing IN ('in-force', 'proposed')
       AND ($1::text IS NULL OR (key, version::int) > ($1, $2::int))
     ORDER BY key, version::int LIMIT $3`,
    [filter.after?.key ?? null, filter.after?.version ?? null, filter.limit],
  );
  return rows.map(toRow);
}

/** All versions of one place, newest first. */
export async function findVersions(
  source: Source,
  key: string,
  filter: { before: number | null; limit: number },
): Promise<RuleProfileRow[]> {
  const rows = await source.query<ProfileRow>(
    `SELECT * FROM (${versions}) v WHERE key = $1 AND ($2::int IS NULL OR version::int < $2)
     ORDER BY version::int DESC LIMIT $3`,
    [key, filter.before, filter.limit],
  );
  return rows.map(toRow);
}

export async function findProfile(source: Source, id: string): Promise<RuleProfileView | null> {
  const [row] = await source.query<ProfileRow>(`SELECT * FROM (${versions}) v WHERE id = $1`, [id]);
  return row === undefined ? null : { ...toRow(row), body: row.body };
}

/** The version of a place's profile that judges tests of a local date, or null. */
export async function findProfileInForce(
  source: Source,
  key: string,
  on: string,
): Promise<StoredProfile | null> {
  const [row] = await source.query<{ id: string; body: string }>(
    `SELECT p.id, p.body FROM rule_profile p JOIN rule_profile_decision d ON d.profile_id = p.id
     WHERE p.key = $1 AND d.outcome = 'approved' AND (d.effective_from IS NULL OR d.effective_from <= $2)
     ORDER BY d.effective_from DESC NULLS LAST, p.version::int DESC LIMIT 1`,
    [key, on],
  );
  return row === undefined ? null : { id: row.id, document: ruleProfileSchema.parse(JSON.parse(row.body)) };
}

/** The version in force today of every place, parsed, by key; at most two hundred places. */
export async function findDocumentsInForce(source: Source, on: string): Promise<StoredProfile[]> {
  const rows = await source.query<{ id: string; body: string }>(
    `SELECT DISTINCT ON (p.key) p.id, p.body FROM rule_profile p JOIN rule_profile_decision d ON d.profile_id = p.id
     WHERE d.outcome = 'approved' AND (d.effective_from IS NULL OR d.effective_from <= $1)
     ORDER BY p.key, d.effective_from DESC NULLS LAST, p.version::int DESC LIMIT 200`,
    [on],
  );
  return rows.map((row) => ({ id: row.id, document: ruleProfileSchema.parse(JSON.parse(row.body)) }));
}

/** Approved versions of these places, in the order in which one takes over from another, the latest first. */
export async function findApprovedVersions(
  source: Source,
  keys: readonly string[],
): Promise<ApprovedVersion[]> {
  const rows = await source.query<{ id: string; key: string; effective_from: string | null }>(
    `SELECT p.id, p.key, d.effective_from FROM rule_profile p JOIN rule_profile_decision d ON d.profile_id = p.id
     WHERE p.key = ANY($1) AND d.outcome = 'approved'
     ORDER BY p.key, d.effective_from DESC NULLS LAST, p.version::int DESC`,
    [keys],
  );
  return rows.map((row) => ({ id: row.id, key: row.key, effectiveFrom: row.effective_from }));
}

/** The highest version of a place's profile on record, decided or not; 0 where there is none. */
export async function findHighestVersion(source: Source, key: string): Promise<number> {
  const [row] = await source.query<{ version: number | null }>(
    "SELECT max(version::int) AS version FROM rule_profile WHERE key = $1",
    [key],
  );
  return row?.version ?? 0;
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

export async function insertDecision(
  tx: Tx,
  decision: {
    profileId: string;
    outcome: "approved" | "declined";
    effectiveFrom: string | null;
    reason: string;
  },
  entryId: string,
): Promise<void> {
  await tx.query(
    "INSERT INTO rule_profile_decision (profile_id, outcome, effective_from, reason, entry_id) VALUES ($1, $2, $3, $4, $5)",
    [decision.profileId, decision.outcome, decision.effectiveFrom, decision.reason, entryId],
  );
}
