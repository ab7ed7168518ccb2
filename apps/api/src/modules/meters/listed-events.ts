import type { LifeEventKind, LifeState } from "@sealbook/metrology/life-cycle/legal-moves";
import type { ReadingNote } from "@sealbook/metrology/life-cycle/reading-question";
import { copyText } from "../../platform/copy-text.ts";
import type { Tx } from "../../platform/transaction.ts";
import { placesNamed } from "./places-named.ts";
import { isGood, life, moves, movesData, setImpossibleEventsAside } from "./set-impossible-events-aside.ts";

/** An event of a meter that a file lists, before the book was asked about it. */
export interface ListedEvent {
  /** Line of the file; names the event in what is said of it. */
  readonly rowNumber: number;
  readonly id: string;
  /** The meter by utility number or serial, and maker where that is needed to tell it from others. */
  readonly utilityNumber: string | null;
  readonly serial: string | null;
  readonly maker: string | null;
  readonly kind: LifeEventKind;
  readonly performedAt: Date;
  readonly place: string | null;
  readonly registerReading: string | null;
  readonly readingNote: ReadingNote | null;
  readonly sealsOn: readonly string[];
  readonly sealsOff: readonly string[];
  readonly reason: string;
}

export type EventFault =
  | "unknown-meter"
  | "ambiguous-meter"
  | "in-future"
  | "place-missing"
  | "unknown-place"
  | "ambiguous-place"
  | "wrong-place"
  | "held"
  | "illegal"
  | "breaks-later"
  | "reading-too-long"
  | "reading-lower"
  | "reading-higher";

export interface ListedEventFault {
  readonly rowNumber: number;
  readonly fault: EventFault;
  /** The state in which the event would meet its meter, where that is the fault. */
  readonly stateBefore: LifeState | "none";
}

export interface JudgedEvents {
  readonly good: number;
  readonly already: number;
  readonly faults: readonly ListedEventFault[];
  /** Puts the good ones on record under this ledger entry, and the meters where these lead them. */
  readonly add: (entryId: string) => Promise<void>;
}

/**
 * Judges thousands of listed events against the book in one go: each must be legal where it stands in its meter's life,
 * and make no later one illegal that was legal before. An event is on record already when its meter has one of its kind
 * at its instant.
 *
 * A dry run puts nothing on record, so it remembers in its connection what went before in the file.
 *
 * @source legalMoves, as a table that the database joins
 */
export async function judgeListedEvents(
  tx: Tx,
  events: readonly ListedEvent[],
  { isDryRun }: { isDryRun: boolean },
): Promise<JudgedEvents> {
  await tx.query(
    `CREATE TEMP TABLE listed_event (row_number integer, id uuid, utility_number text, serial text, maker text, kind text,
       performed_at timestamptz(3), place text, register_reading numeric, reading_note text, seals_on text[], seals_off text[],
       reason text) ON COMMIT DROP`,
  );
  await tx.query(
    `CREATE TEMP TABLE IF NOT EXISTS earlier_event (meter_id uuid, id uuid, kind text, performed_at timestamptz(3),
       register_reading numeric, reading_note text, PRIMARY KEY (meter_id, id))`,
  );
  await tx.copyIn("COPY listed_event FROM STDIN", copyText(cellsOf(events)));
  await tx.query("ANALYZE listed_event");
  await tx.query(
    `CREATE TEMP TABLE named_event ON COMMIT DROP AS
     WITH places AS MATERIALIZED (${placesNamed("listed_event")})
     SELECT l.*, m.id AS meter_id, m.found AS meters, p.id AS place_id, p.kind AS place_kind, p.found AS places, v.places AS places_allowed,
       (SELECT y.register_dials FROM meter o JOIN meter_type y ON y.id = o.type_id WHERE o.id = m.id) AS dials,
       m.id IS NOT NULL AND EXISTS (
         SELECT FROM standing_meter_event e WHERE e.meter_id = m.id AND e.kind = l.kind AND e.performed_at = l.performed_at) AS already
     FROM listed_event l
     JOIN ${moves("$1")} v ON v.kind = l.kind
     LEFT JOIN places p ON p.place = l.place
     CROSS JOIN LATERAL (
       SELECT count(*) AS found, CASE count(*) WHEN 1 THEN (array_agg(id))[1] END AS id FROM (
         (SELECT m.id FROM meter m WHERE m.utility_number = l.utility_number
            AND (l.serial IS NULL OR m.serial = l.serial) AND (l.maker IS NULL OR m.maker = l.maker) LIMIT 2)
         UNION ALL
         (SELECT m.id FROM meter m WHERE l.utility_number IS NULL AND m.serial = l.serial
            AND (l.maker IS NULL OR m.maker = l.maker) LIMIT 2)
       ) named
     ) m`,
    [movesData],
  );
  await tx.query("ANALYZE named_event");
  if (!isDryRun) {
    // Whoever moves one of these meters by hand waits, so that what is judged is what is there.
    await tx.query("SELECT FROM meter WHERE id IN (SELECT meter_id FROM named_event) ORDER BY id FOR UPDATE");
  }
  await tx.query(
    `CREATE TEMP TABLE judged_event ON COMMIT DROP AS
     SELECT *, 'none' AS state_before, CASE
       WHEN meters = 0 THEN 'unknown-meter' WHEN meters > 1 THEN 'ambiguous-meter'
       WHEN performed_at > now_to_the_millisecond() THEN 'in-future'
       WHEN place IS NULL AND places_allowed <> '{}' THEN 'place-missing'
       WHEN places = 0 THEN 'unknown-place' WHEN places > 1 THEN 'ambiguous-place'
       WHEN place IS NOT NULL AND NOT place_kind = ANY (places_allowed) THEN 'wrong-place'
       WHEN length(trunc(register_reading)::text) > dials THEN 'reading-too-long'
       WHEN EXISTS (SELECT FROM standing_meter_hold h WHERE h.meter_id = n.meter_id) THEN 'held'
     END AS fault FROM named_event n`,
  );
  await tx.query(
    `CREATE TEMP TABLE life_on_record ON COMMIT DROP AS
     WITH touched AS MATERIALIZED (SELECT DISTINCT meter_id FROM judged_event WHERE ${isGood})
     SELECT ${life("e")} FROM touched t JOIN standing_meter_event e ON e.meter_id = t.meter_id
     UNION ALL SELECT ${life("e")} FROM touched t JOIN earlier_event e ON e.meter_id = t.meter_id`,
  );
  await setImpossibleEventsAside(tx);
  if (isDryRun) {
    await tx.query(`INSERT INTO earlier_event SELECT ${life("e")} FROM judged_event e WHERE ${isGood}`);
  }
  const [counts] = await tx.query<{ good: number; already: number }>(
    `SELECT count(*) FILTER (WHERE ${isGood})::int AS good, count(*) FILTER (WHERE already)::int AS already FROM judged_event`,
  );
  const faults = await tx.query<{
    row_number: number;
    fault: EventFault;
    state_before: LifeState | "none";
  }>(
    `SELECT row_number, fault, state_before FROM judged_event
     WHERE fault IS NOT NULL AND NOT already ORDER BY row_number`,
  );
  return {
    good: counts?.good ?? 0,
    already: counts?.already ?? 0,
    faults: faults.map(({ row_number, fault, state_before }) => ({
      rowNumber: row_number,
      fault,
      stateBefore: state_before,
    })),
    add: (entryId) => addJudgedEvents(tx, entryId),
  };
}

function* cellsOf(events: readonly ListedEvent[]): Generator<(string | null)[]> {
  for (const event of events) {
    yield [
      String(event.rowNumber),
      event.id,
      event.utilityNumber,
      event.serial,
      event.maker,
      event.kind,
      event.performedAt.toISOString(),
      event.place,
      event.registerReading,
      event.readingNote,
      textArray(event.sealsOn),
      textArray(event.sealsOff),
      event.reason,
    ];
  }
}

/** A list of texts as PostgreSQL reads an array. */
function textArray(texts: readonly string[]): string {
  return `{${texts.map((text) => `"${text.replace(/["\\]/g, "\\$&")}"`).join(",")}}`;
}

/** State and place of a meter follow from its events: the last that changes the one, the last that names the other. */
async function addJudgedEvents(tx: Tx, entryId: string): Promise<void> {
  await tx.query(
    `INSERT INTO meter_event (id, meter_id, kind, performed_at, place_id, register_reading, reading_note, reason, entry_id)
     SELECT id, meter_id, kind, performed_at, place_id, register_reading, reading_note, reason, $1 FROM judged_event WHERE ${isGood}
     ORDER BY row_number`,
    [entryId],
  );
  await tx.query(
    `INSERT INTO seal_change (event_id, change, number, entry_id)
     SELECT id, 'on', unnest(seals_on), $1::uuid FROM judged_event WHERE ${isGood} AND seals_on <> '{}'
     UNION SELECT id, 'off', unnest(seals_off), $1::uuid FROM judged_event WHERE ${isGood} AND seals_off <> '{}'`,
    [entryId],
  );
  await tx.query(
    `UPDATE meter m SET state = s."to", place_id = p.place_id, entry_id = $1, version = version + 1
     FROM (SELECT DISTINCT meter_id FROM judged_event WHERE ${isGood}) t,
       LATERAL (SELECT v."to" FROM standing_meter_event e JOIN ${moves("$2")} v ON v.kind = e.kind
         WHERE e.meter_id = t.meter_id AND v."to" <> 'same' ORDER BY e.performed_at DESC, e.id DESC LIMIT 1) s,
       LATERAL (SELECT e.place_id FROM standing_meter_event e WHERE e.meter_id = t.meter_id AND e.place_id IS NOT NULL
         ORDER BY e.performed_at DESC, e.id DESC LIMIT 1) p
     WHERE m.id = t.meter_id AND (m.state, m.place_id) IS DISTINCT FROM (s."to", p.place_id)`,
    [entryId, movesData],
  );
}
