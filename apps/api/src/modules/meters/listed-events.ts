import { type LifeEventKind, type LifeState, legalMoves } from "@sealbook/metrology/life-cycle/legal-moves";
import { copyText } from "../../platform/copy-text.ts";
import type { Tx } from "../../platform/transaction.ts";
import { placesNamed } from "./places-named.ts";

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
  | "breaks-later";

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
       performed_at timestamptz(3), place text, register_reading numeric, reason text) ON COMMIT DROP`,
  );
  await tx.query(
    `CREATE TEMP TABLE IF NOT EXISTS earlier_event (meter_id uuid, id uuid, kind text, performed_at timestamptz(3),
       PRIMARY KEY (meter_id, id))`,
  );
  await tx.copyIn("COPY listed_event FROM STDIN", copyText(cellsOf(events)));
  await tx.query("ANALYZE listed_event");
  await tx.query(
    `CREATE TEMP TABLE named_event ON COMMIT DROP AS
     WITH places AS MATERIALIZED (${placesNamed("listed_event")})
     SELECT l.*, m.id AS meter_id, m.found AS meters, p.id AS place_id, p.kind AS place_kind, p.found AS places, v.places AS places_allowed,
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
     WITH own AS (
       SELECT *, CASE
         WHEN meters = 0 THEN 'unknown-meter' WHEN meters > 1 THEN 'ambiguous-meter'
         WHEN performed_at > now_to_the_millisecond() THEN 'in-future'
         WHEN place IS NULL AND places_allowed <> '{}' THEN 'place-missing'
         WHEN places = 0 THEN 'unknown-place' WHEN places > 1 THEN 'ambiguous-place'
         WHEN place IS NOT NULL AND NOT place_kind = ANY (places_allowed) THEN 'wrong-place'
         WHEN EXISTS (SELECT FROM standing_meter_hold h WHERE h.meter_id = n.meter_id) THEN 'held'
       END AS fault FROM named_event n
     ), touched AS MATERIALIZED (SELECT DISTINCT meter_id FROM own WHERE fault IS NULL AND NOT already),
     on_record AS MATERIALIZED (
       SELECT e.meter_id, e.id, e.kind, e.performed_at FROM touched t JOIN standing_meter_event e ON e.meter_id = t.meter_id
       UNION ALL SELECT e.meter_id, e.id, e.kind, e.performed_at FROM touched t JOIN earlier_event e ON e.meter_id = t.meter_id
     ), lives AS (
       SELECT 'before' AS life, meter_id, id, kind, performed_at, NULL::integer AS row_number FROM on_record
       UNION ALL SELECT 'after', meter_id, id, kind, performed_at, NULL FROM on_record
       UNION ALL SELECT 'after', meter_id, id, kind, performed_at, row_number FROM own WHERE fault IS NULL AND NOT already
     ), numbered AS (
       SELECT l.*, v."from", v."to", row_number() OVER (PARTITION BY life, meter_id ORDER BY performed_at, id) AS n
       FROM lives l JOIN ${moves("$1")} v ON v.kind = l.kind
     ), led AS MATERIALIZED (
       SELECT *, max(CASE WHEN "to" <> 'same' THEN n END) OVER (PARTITION BY life, meter_id ORDER BY n
         ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS prior FROM numbered
     ), stepped AS MATERIALIZED (
       SELECT o.life, o.meter_id, o.id, o.row_number, coalesce(p."to", 'none') AS state_before,
         NOT coalesce(p."to", 'none') = ANY (o."from") AS illegal
       FROM led o LEFT JOIN led p ON p.life = o.life AND p.meter_id = o.meter_id AND p.n = o.prior
     ), broken AS (
       SELECT DISTINCT a.meter_id FROM stepped a JOIN stepped b ON b.id = a.id AND b.life = 'before'
       WHERE a.life = 'after' AND a.illegal AND NOT b.illegal
     )
     SELECT o.*, coalesce(s.state_before, 'none') AS state_before,
       coalesce(o.fault, CASE WHEN s.illegal THEN 'illegal' WHEN b.meter_id IS NOT NULL THEN 'breaks-later' END) AS found_fault
     FROM own o
     LEFT JOIN stepped s ON s.row_number = o.row_number
     LEFT JOIN broken b ON b.meter_id = o.meter_id AND NOT o.already`,
    [movesData],
  );
  if (isDryRun) {
    await tx.query(
      `INSERT INTO earlier_event SELECT meter_id, id, kind, performed_at FROM judged_event WHERE ${isGood}`,
    );
  }
  const [counts] = await tx.query<{ good: number; already: number }>(
    `SELECT count(*) FILTER (WHERE ${isGood})::int AS good, count(*) FILTER (WHERE already)::int AS already FROM judged_event`,
  );
  const faults = await tx.query<{
    row_number: number;
    fault: EventFault;
    state_before: LifeState | "none";
  }>(
    `SELECT row_number, found_fault AS fault, state_before FROM judged_event
     WHERE found_fault IS NOT NULL AND NOT already ORDER BY row_number`,
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

const isGood = "found_fault IS NULL AND NOT already";

const movesData = JSON.stringify(
  Object.entries(legalMoves).map(([kind, { from, to, places }]) => ({ kind, from, to, places })),
);

/** The table of legal moves as a table of the query. */
function moves(parameter: string): string {
  return `(SELECT * FROM jsonb_to_recordset(${parameter}::jsonb) AS r (kind text, "from" text[], "to" text, places text[]))`;
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
      event.reason,
    ];
  }
}

/** State and place of a meter follow from its events: the last that changes the one, the last that names the other. */
async function addJudgedEvents(tx: Tx, entryId: string): Promise<void> {
  await tx.query(
    `INSERT INTO meter_event (id, meter_id, kind, performed_at, place_id, register_reading, reason, entry_id)
     SELECT id, meter_id, kind, performed_at, place_id, register_reading, reason, $1 FROM judged_event WHERE ${isGood}
     ORDER BY row_number`,
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
