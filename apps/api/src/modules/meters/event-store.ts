import type { MeterMove } from "@sealbook/contract/meter-events";
import type { MeterEventKind, MeterState } from "@sealbook/contract/meters";
import { groupedBy } from "@sealbook/metrology/grouped-by";
import type { LifeEventKind } from "@sealbook/metrology/life-cycle/legal-moves";
import type { LifeEvent } from "@sealbook/metrology/life-cycle/life-of";
import type { ReadingNote } from "@sealbook/metrology/life-cycle/reading-question";
import { personRef } from "../../platform/person-ref.ts";
import { placeFullName } from "../../platform/place-words.ts";
import type { Source, Tx } from "../../platform/transaction.ts";

/** An event that stands, with what a further one is held against. */
export interface StandingEvent extends LifeEvent {
  readonly registerReading: string | null;
  readonly readingNote: ReadingNote | null;
}

/** A meter with what decides whether it may be touched. */
export interface MeterToMove {
  readonly id: string;
  readonly utilityNumber: string;
  readonly serial: string;
  readonly state: MeterState;
  readonly placeId: string;
  readonly registerDials: number;
  readonly events: readonly StandingEvent[];
  readonly holds: readonly { reason: string; placedBy: string | null; at: Date }[];
}

/** Locks meters, in the order of their ids so that two people never wait for each other. */
export async function lockMeters(tx: Tx, ids: readonly string[]): Promise<void> {
  await tx.query("SELECT FROM meter WHERE id = ANY ($1) ORDER BY id FOR UPDATE", [ids]);
}

/** Meters with their standing events and holds, in three statements however many they are. */
export async function findMetersToMove(
  source: Source,
  ids: readonly string[],
): Promise<Map<string, MeterToMove>> {
  const meters = await source.query<{
    id: string;
    utility_number: string;
    serial: string;
    state: MeterState;
    place_id: string;
    register_dials: number;
  }>(
    `SELECT m.id, m.utility_number, m.serial, m.state, m.place_id, y.register_dials
     FROM meter m JOIN meter_type y ON y.id = m.type_id WHERE m.id = ANY ($1)`,
    [ids],
  );
  const events = await source.query<{
    id: string;
    meter_id: string;
    kind: LifeEventKind;
    performed_at: Date;
    place_id: string | null;
    register_reading: string | null;
    reading_note: ReadingNote | null;
  }>(
    `SELECT id, meter_id, kind, performed_at, place_id, register_reading::text, reading_note
     FROM standing_meter_event WHERE meter_id = ANY ($1)`,
    [ids],
  );
  const holds = await source.query<{
    meter_id: string;
    reason: string;
    placed_by: string | null;
    recorded_at: Date;
  }>(
    `SELECT h.meter_id, h.reason, v.value AS placed_by, h.recorded_at
     FROM standing_meter_hold h LEFT JOIN account a ON a.id = h.actor_id LEFT JOIN personal_value v ON v.id = a.name_id
     WHERE h.meter_id = ANY ($1) ORDER BY h.recorded_at`,
    [ids],
  );
  const eventsOf = groupedBy(events, ({ meter_id }) => meter_id);
  const holdsOf = groupedBy(holds, ({ meter_id }) => meter_id);
  return new Map(
    meters.map((row) => [
      row.id,
      {
        id: row.id,
        utilityNumber: row.utility_number,
        serial: row.serial,
        state: row.state,
        placeId: row.place_id,
        registerDials: row.register_dials,
        events: (eventsOf.get(row.id) ?? []).map((event) => ({
          id: event.id,
          kind: event.kind,
          performedAt: event.performed_at.getTime(),
          placeId: event.place_id,
          registerReading: event.register_reading,
          readingNote: event.reading_note,
        })),
        holds: (holdsOf.get(row.id) ?? []).map((hold) => ({
          reason: hold.reason,
          placedBy: hold.placed_by,
          at: hold.recorded_at,
        })),
      },
    ]),
  );
}

/** Meters that a number may mean: as utility number or as serial, each found by its index. */
export async function findMetersByNumbers(
  source: Source,
  numbers: readonly string[],
): Promise<{ number: string; id: string; by: "number" | "serial"; state: MeterState }[]> {
  return await source.query(
    `SELECT n.number, m.id, 'number' AS by, m.state FROM unnest($1::text[]) AS n (number) JOIN meter m ON m.utility_number = n.number
     UNION ALL
     SELECT n.number, m.id, 'serial', m.state FROM unnest($1::text[]) AS n (number) JOIN meter m ON m.serial = n.number`,
    [numbers],
  );
}

/**
 * The meter that a service point had at a moment, other than the given one: the last to be set there by then, unless an
 * event took it away again by then.
 */
export async function findMeterAtPoint(
  source: Source,
  placeId: string,
  at: Date,
  exceptId: string,
): Promise<{ utilityNumber: string; since: Date } | null> {
  const [row] = await source.query<{ utility_number: string; since: Date }>(
    `SELECT m.utility_number, s.performed_at AS since
     FROM standing_meter_event s JOIN meter m ON m.id = s.meter_id
     WHERE s.place_id = $1 AND s.kind = 'set' AND s.performed_at <= $2 AND s.meter_id <> $3 AND NOT EXISTS (
       SELECT FROM standing_meter_event l WHERE l.meter_id = s.meter_id AND l.kind NOT IN ('seal', 'repair')
         AND (l.performed_at, l.id) > (s.performed_at, s.id) AND l.performed_at <= $2)
     ORDER BY s.performed_at DESC LIMIT 1`,
    [placeId, at, exceptId],
  );
  return row === undefined ? null : { utilityNumber: row.utility_number, since: row.since };
}

/** SQL for a list of texts in a column of JSON. */
export function textsIn(column: string, field: string): string {
  return `ARRAY(SELECT jsonb_array_elements_text(coalesce(${column}::jsonb -> '${field}', '[]')))`;
}

/** Seals put on and taken off by a meter's moves and tests, in order of time. */
export async function findSealChanges(
  source: Source,
  meterId: string,
): Promise<{ sealsOn: string[]; sealsOff: string[] }[]> {
  return await source.query(
    `SELECT "sealsOn", "sealsOff" FROM (
       SELECT v.performed_at AS at, v.id,
         array_agg(c.number) FILTER (WHERE c.change = 'on') AS on_, array_agg(c.number) FILTER (WHERE c.change = 'off') AS off_
       FROM standing_meter_event v JOIN seal_change c ON c.event_id = v.id WHERE v.meter_id = $1 GROUP BY v.performed_at, v.id
       UNION ALL
       SELECT t.performed_at, t.id, ${textsIn("t.entry_body", "sealsApplied")}, ${textsIn("t.entry_body", "sealsRemoved")} FROM meter_test t
       WHERE t.meter_id = $1 AND t.outcome <> 'withdrawn' AND NOT EXISTS (SELECT FROM meter_test s WHERE s.supersedes_id = t.id)
     ) changes CROSS JOIN LATERAL (SELECT coalesce(on_, '{}') AS "sealsOn", coalesce(off_, '{}') AS "sealsOff") lists
     ORDER BY at, id`,
    [meterId],
  );
}

/** An event to be put on record. */
export interface NewMeterEvent {
  id: string;
  meterId: string;
  kind: MeterEventKind;
  performedAt: Date;
  /** Null where the meter stays where it is. */
  placeId: string | null;
  registerReading: string | null;
  readingNote?: ReadingNote | null;
  reason: string;
  takesBackId?: string | null;
}

export async function insertMeterEvents(
  tx: Tx,
  events: readonly NewMeterEvent[],
  entryIds: readonly string[],
  moveId: string | null = null,
): Promise<void> {
  await tx.query(
    `INSERT INTO meter_event (id, meter_id, kind, performed_at, place_id, register_reading, reading_note, reason,
       takes_back_id, entry_id, move_id)
     SELECT t.*, $11::uuid FROM unnest($1::uuid[], $2::uuid[], $3::text[], $4::timestamptz[], $5::uuid[], $6::numeric[],
       $7::text[], $8::text[], $9::uuid[], $10::uuid[]) AS t`,
    [
      events.map(({ id }) => id),
      events.map(({ meterId }) => meterId),
      events.map(({ kind }) => kind),
      events.map(({ performedAt }) => performedAt),
      events.map(({ placeId }) => placeId),
      events.map(({ registerReading }) => registerReading),
      events.map(({ readingNote }) => readingNote ?? null),
      events.map(({ reason }) => reason),
      events.map(({ takesBackId }) => takesBackId ?? null),
      entryIds,
      moveId,
    ],
  );
}

export async function insertSealChanges(
  tx: Tx,
  changes: readonly { eventId: string; change: "on" | "off"; number: string }[],
  entryId: string,
): Promise<void> {
  if (changes.length === 0) return;
  await tx.query(
    `INSERT INTO seal_change (event_id, change, number, entry_id)
     SELECT t.*, $4::uuid FROM unnest($1::uuid[], $2::text[], $3::text[]) AS t`,
    [
      changes.map(({ eventId }) => eventId),
      changes.map(({ change }) => change),
      changes.map(({ number }) => number),
      entryId,
    ],
  );
}

/** Sets where meters are now: state and place follow from the events and are never typed over. */
export async function updateWhereabouts(
  tx: Tx,
  moves: readonly { meterId: string; state: MeterState; placeId: string }[],
  entryIds: readonly string[],
): Promise<void> {
  await tx.query(
    `UPDATE meter SET state = t.state, place_id = t.place_id, entry_id = t.entry_id, version = version + 1
     FROM unnest($1::uuid[], $2::text[], $3::uuid[], $4::uuid[]) AS t (id, state, place_id, entry_id) WHERE meter.id = t.id`,
    [
      moves.map(({ meterId }) => meterId),
      moves.map(({ state }) => state),
      moves.map(({ placeId }) => placeId),
      entryIds,
    ],
  );
}

// ---------------------------------------------------------------------------------------------------------------
// Moves

export async function insertMove(
  tx: Tx,
  move: {
    id: string;
    kind: MeterEventKind;
    performedAt: Date;
    placeId: string | null;
    reason: string;
    meters: number;
    takesBackId: string | null;
  },
  entryId: string,
): Promise<void> {
  await tx.query(
    `INSERT INTO meter_move (id, kind, performed_at, place_id, reason, meters, takes_back_id, entry_id)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
    [move.id, move.kind, move.performedAt, move.placeId, move.reason, move.meters, move.takesBackId, entryId],
  );
}

interface MoveRow {
  id: string;
  kind: MeterEventKind;
  performed_at: Date;
  recorded_at: Date;
  actor_id: string | null;
  actor_name: string | null;
  place_id: string | null;
  place_kind: NonNullable<MeterMove["place"]>["kind"] | null;
  place_name: string | null;
  reason: string;
  meters: number;
  takes_back_id: string | null;
  taken_back_by_id: string | null;
  entry_id: string;
}

const moveSelect = `SELECT v.id, v.kind, v.performed_at, v.recorded_at, v.actor_id, n.value AS actor_name, v.place_id,
    p.kind AS place_kind, ${placeFullName("p")} AS place_name, v.reason, v.meters, v.takes_back_id,
    (SELECT b.id FROM meter_move b WHERE b.takes_back_id = v.id) AS taken_back_by_id, v.entry_id
  FROM meter_move v LEFT JOIN place p ON p.id = v.place_id LEFT JOIN account a ON a.id = v.actor_id
  LEFT JOIN personal_value n ON n.id = a.name_id`;

function toMove(row: MoveRow): MeterMove {
  return {
    id: row.id,
    kind: row.kind,
    performedAt: row.performed_at.toISOString(),
    recordedAt: row.recorded_at.toISOString(),
    recordedBy: row.actor_id === null ? null : personRef(row.actor_id, row.actor_name),
    place:
      row.place_id === null || row.place_kind === null
        ? null
        : { id: row.place_id, kind: row.place_kind, name: row.place_name ?? "" },
    reason: row.reason,
    meters: row.meters,
    takesBackId: row.takes_back_id,
    takenBackById: row.taken_back_by_id,
    entryId: row.entry_id,
  };
}

/** Moves by when they were recorded, newest first, then by id. */
export async function findMoves(
  source: Source,
  page: { after: [string, string] | null; limit: number },
): Promise<MeterMove[]> {
  const rows = await source.query<MoveRow>(
    `${moveSelect} WHERE $1::timestamptz IS NULL OR (v.recorded_at, v.id) < ($1, $2::uuid)
     ORDER BY v.recorded_at DESC, v.id DESC LIMIT $3`,
    [page.after?.[0] ?? null, page.after?.[1] ?? null, page.limit],
  );
  return rows.map(toMove);
}

export async function findMove(source: Source, id: string): Promise<MeterMove | null> {
  const [row] = await source.query<MoveRow>(`${moveSelect} WHERE v.id = $1`, [id]);
  return row === undefined ? null : toMove(row);
}

export interface MovedMeter {
  eventId: string;
  meterId: string;
  utilityNumber: string;
  serial: string;
  registerReading: string | null;
  takenBack: boolean;
}

/** Events of a move in the order of their ids, which is that of the list. */
export async function findMovedMeters(
  source: Source,
  moveId: string,
  page: { after: string | null; limit: number },
): Promise<MovedMeter[]> {
  return await source.query(
    `SELECT v.id AS "eventId", m.id AS "meterId", m.utility_number AS "utilityNumber", m.serial,
       v.register_reading::text AS "registerReading",
       EXISTS (SELECT FROM meter_event b WHERE b.takes_back_id = v.id) AS "takenBack"
     FROM meter_event v JOIN meter m ON m.id = v.meter_id
     WHERE v.move_id = $1 AND ($2::uuid IS NULL OR v.id > $2) ORDER BY v.id LIMIT $3`,
    [moveId, page.after, page.limit],
  );
}

/** What of a move still stands. */
export async function findStandingOfMove(
  source: Source,
  moveId: string,
): Promise<{ id: string; meterId: string }[]> {
  return await source.query(
    `SELECT id, meter_id AS "meterId" FROM standing_meter_event WHERE move_id = $1 ORDER BY id`,
    [moveId],
  );
}

export async function findEvent(
  source: Source,
  id: string,
): Promise<{ id: string; meterId: string; kind: MeterEventKind; takenBack: boolean } | null> {
  const [row] = await source.query<{ id: string; meterId: string; kind: MeterEventKind; takenBack: boolean }>(
    `SELECT v.id, v.meter_id AS "meterId", v.kind, EXISTS (SELECT FROM meter_event b WHERE b.takes_back_id = v.id) AS "takenBack"
     FROM meter_event v WHERE v.id = $1`,
    [id],
  );
  return row ?? null;
}

// ---------------------------------------------------------------------------------------------------------------
// Receiving

/** Serials of a maker, and utility numbers in use, that are on record. */
export async function findTakenNumbers(
  source: Source,
  maker: string,
  serials: readonly string[],
  numbers: readonly string[],
): Promise<
  { kind: "serial" | "other-maker" | "number"; value: string; utilityNumber: string; maker: string }[]
> {
  return await source.query(
    `SELECT CASE WHEN m.maker = $1 THEN 'serial' ELSE 'other-maker' END AS kind, m.serial AS value,
       m.utility_number AS "utilityNumber", m.maker
     FROM meter m WHERE m.serial = ANY ($2)
     UNION ALL
     SELECT 'number', m.utility_number, m.utility_number, m.maker FROM meter m
     WHERE m.utility_number = ANY ($3) AND m.state NOT IN ('retired', 'disposed')`,
    [maker, serials, numbers],
  );
}

// ---------------------------------------------------------------------------------------------------------------
// Legal holds

export async function insertHold(
  tx: Tx,
  hold: { id: string; meterId: string; reason: string },
  entryId: string,
): Promise<void> {
  await tx.query("INSERT INTO meter_hold (id, meter_id, reason, entry_id) VALUES ($1, $2, $3, $4)", [
    hold.id,
    hold.meterId,
    hold.reason,
    entryId,
  ]);
}

export interface HoldRow {
  id: string;
  meter_id: string;
  utility_number: string;
  reason: string;
  recorded_at: Date;
  actor_id: string | null;
  actor_name: string | null;
  actor_active: boolean | null;
  lifted: boolean;
  entry_id: string;
}

const holdSelect = `SELECT h.id, h.meter_id, m.utility_number, h.reason, h.recorded_at, h.actor_id, n.value AS actor_name,
    a.active AS actor_active, EXISTS (SELECT FROM meter_hold_lift l WHERE l.hold_id = h.id) AS lifted, h.entry_id
  FROM meter_hold h JOIN meter m ON m.id = h.meter_id LEFT JOIN account a ON a.id = h.actor_id
  LEFT JOIN personal_value n ON n.id = a.name_id`;

export async function findHold(source: Source, id: string): Promise<HoldRow | null> {
  const [row] = await source.query<HoldRow>(`${holdSelect} WHERE h.id = $1`, [id]);
  return row ?? null;
}

export async function findStandingHolds(source: Source, meterId: string): Promise<HoldRow[]> {
  return await source.query<HoldRow>(
    `${holdSelect} WHERE h.meter_id = $1 AND NOT EXISTS (SELECT FROM meter_hold_lift l WHERE l.hold_id = h.id)
     ORDER BY h.recorded_at, h.id`,
    [meterId],
  );
}

export async function insertHoldLift(
  tx: Tx,
  lift: { holdId: string; reason: string },
  entryId: string,
): Promise<void> {
  await tx.query("INSERT INTO meter_hold_lift (hold_id, reason, entry_id) VALUES ($1, $2, $3)", [
    lift.holdId,
    lift.reason,
    entryId,
  ]);
}
