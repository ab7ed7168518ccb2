import type { DrawList, SeedSource, SeedTerms } from "@sealbook/contract/sampling";
import { personRef } from "../../platform/person-ref.ts";
import type { Source, Tx } from "../../platform/transaction.ts";
import type { LockedLot } from "./lot-store.ts";
import { nameOf } from "./name-of.ts";

interface DrawListRow {
  id: string;
  lot_id: string;
  ordinal: number;
  list_hash: string;
  candidates: number;
  file_id: string;
  n: number;
  spares: number;
  seed_source: SeedSource;
  announcement: string | null;
  not_before: Date | null;
  repeats_id: string | null;
  repeat_reason: string | null;
  listed_at: Date;
  actor_id: string | null;
  actor_name: string | null;
  entry_id: string;
  draw_id: string | null;
  seed: string;
  algorithm: string;
  key: string;
  drawn_at: Date;
  drawer_id: string | null;
  drawer_name: string | null;
  draw_entry_id: string;
}

const drawListSelect = `SELECT l.id, l.lot_id, l.ordinal, l.list_hash, l.candidates, l.file_id, l.n, l.spares, l.seed_source,
    l.announcement, l.not_before, l.repeats_id, l.repeat_reason, l.listed_at, l.actor_id, p.value AS actor_name, l.entry_id,
    d.id AS draw_id, d.seed, d.algorithm, d.key, d.drawn_at, d.actor_id AS drawer_id, q.value AS drawer_name,
    d.entry_id AS draw_entry_id
  FROM draw_list l LEFT JOIN draw d ON d.list_id = l.id ${nameOf("l.actor_id", "p")} ${nameOf("d.actor_id", "q")}`;

export type StoredDrawList = DrawList & { lotId: string };

function toDrawList(row: DrawListRow): StoredDrawList {
  return {
    id: row.id,
    lotId: row.lot_id,
    ordinal: row.ordinal,
    listHash: row.list_hash,
    candidates: row.candidates,
    fileId: row.file_id,
    n: row.n,
    spares: row.spares,
    seed: {
      source: row.seed_source,
      announcement: row.announcement,
      notBefore: row.not_before?.toISOString() ?? null,
    },
    repeatsId: row.repeats_id,
    repeatReason: row.repeat_reason,
    listedAt: row.listed_at.toISOString(),
    listedBy: personRef(row.actor_id, row.actor_name),
    entryId: row.entry_id,
    draw:
      row.draw_id === null
        ? null
        : {
            id: row.draw_id,
            seed: row.seed,
            algorithm: row.algorithm,
            key: row.key,
            drawnAt: row.drawn_at.toISOString(),
            drawnBy: personRef(row.drawer_id, row.drawer_name),
            entryId: row.draw_entry_id,
          },
  };
}

/** Lists of a lot, oldest first. */
export async function findDrawLists(source: Source, lotId: string): Promise<StoredDrawList[]> {
  const rows = await source.query<DrawListRow>(`${drawListSelect} WHERE l.lot_id = $1 ORDER BY l.ordinal`, [
    lotId,
  ]);
  return rows.map(toDrawList);
}

export async function findDrawList(source: Source, id: string): Promise<StoredDrawList | null> {
  const [row] = await source.query<DrawListRow>(`${drawListSelect} WHERE l.id = $1`, [id]);
  return row === undefined ? null : toDrawList(row);
}

export async function insertDrawList(
  tx: Tx,
  list: {
    id: string;
    lotId: string;
    ordinal: number;
    listHash: string;
    candidates: number;
    fileId: string;
    n: number;
    spares: number;
    seed: SeedTerms;
    repeats: { id: string; reason: string } | null;
  },
  entryId: string,
): Promise<void> {
  await tx.query(
    `INSERT INTO draw_list (id, lot_id, ordinal, list_hash, candidates, file_id, n, spares, seed_source, announcement, not_before,
       repeats_id, repeat_reason, entry_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14)`,
    [
      list.id,
      list.lotId,
      list.ordinal,
      list.listHash,
      list.candidates,
      list.fileId,
      list.n,
      list.spares,
      list.seed.source,
      list.seed.announcement,
      list.seed.notBefore,
      list.repeats?.id ?? null,
      list.repeats?.reason ?? null,
      entryId,
    ],
  );
}

/**
 * Whether a seed was on record before an instant: typed for the lot's programme, or drawn with for a lot of the programme,
 * for the lot itself or for one that it tries again or resubmits.
 */
export async function wasSeedKnown(
  source: Source,
  lot: Pick<LockedLot, "id" | "programmeId" | "resubmitsId">,
  before: string,
  seed: string,
): Promise<boolean> {
  const [row] = await source.query<{ known: boolean }>(
    `SELECT EXISTS (SELECT FROM programme p JOIN ledger_entry e ON e.subject_id = p.id::text AND e.action = 'programme.draw'
         WHERE p.id = $2 AND p.seed = $4 AND e.at < $3)
       OR EXISTS (SELECT FROM draw d JOIN draw_list dl ON dl.id = d.list_id JOIN lot l ON l.id = dl.lot_id
         WHERE (l.id IN ($1, $5) OR l.programme_id = $2) AND d.seed = $4 AND d.drawn_at < $3) AS known`,
    [lot.id, lot.programmeId, before, seed, lot.resubmitsId],
  );
  return row?.known ?? false;
}

export async function insertDraw(
  tx: Tx,
  draw: { id: string; listId: string; seed: string; algorithm: string; key: string },
  units: readonly { meterId: string; spare: boolean }[],
  entryId: string,
): Promise<void> {
  await tx.query(
    "INSERT INTO draw (id, list_id, seed, algorithm, key, entry_id) VALUES ($1, $2, $3, $4, $5, $6)",
    [draw.id, draw.listId, draw.seed, draw.algorithm, draw.key, entryId],
  );
  await tx.query(
    `INSERT INTO draw_unit (draw_id, position, meter_id, spare, entry_id)
     SELECT $1, t.position, t.meter_id, t.spare, $2
     FROM unnest($3::int[], $4::uuid[], $5::boolean[]) AS t (position, meter_id, spare)`,
    [
      draw.id,
      entryId,
      units.map((_, index) => index + 1),
      units.map(({ meterId }) => meterId),
      units.map(({ spare }) => spare),
    ],
  );
}

export interface NewDrawEvent {
  id: string;
  position: number;
  kind: string;
  reason: string | null;
  note: string;
  place: number | null;
  takesBackId: string | null;
}

export async function insertDrawEvents(
  tx: Tx,
  drawId: string,
  events: readonly NewDrawEvent[],
  entryId: string,
): Promise<void> {
  await tx.query(
    `INSERT INTO draw_event (id, draw_id, position, kind, reason, note, place, takes_back_id, ordinal, entry_id)
     SELECT t.id, $1, t.position, t.kind, t.reason, t.note, t.place, t.takes_back_id,
       (SELECT coalesce(max(ordinal), 0) FROM draw_event WHERE draw_id = $1) + t.ordinal, $2
     FROM unnest($3::uuid[], $4::int[], $5::text[], $6::text[], $7::text[], $8::int[], $9::uuid[]) WITH ORDINALITY
       AS t (id, position, kind, reason, note, place, takes_back_id, ordinal)`,
    [
      drawId,
      entryId,
      events.map(({ id }) => id),
      events.map(({ position }) => position),
      events.map(({ kind }) => kind),
      events.map(({ reason }) => reason),
      events.map(({ note }) => note),
      events.map(({ place }) => place),
      events.map(({ takesBackId }) => takesBackId),
    ],
  );
}
