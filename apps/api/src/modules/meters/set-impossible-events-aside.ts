import { type LifeEventKind, type LifeState, legalMoves } from "@sealbook/metrology/life-cycle/legal-moves";
import { type ReadingNote, readingQuestion } from "@sealbook/metrology/life-cycle/reading-question";
import type { Tx } from "../../platform/transaction.ts";

/** Of judged_event: rows that can be put on record, as far as is known. */
export const isGood = "fault IS NULL AND NOT already";

/** What is looked at in a meter's life. */
export function life(of: string): string {
  return `${of}.meter_id, ${of}.id, ${of}.kind, ${of}.performed_at, ${of}.register_reading, ${of}.reading_note`;
}

export const movesData = JSON.stringify(
  Object.entries(legalMoves).map(([kind, { from, to, places }]) => ({ kind, from, to, places })),
);

/** The table of legal moves as a table of the query. */
export function moves(parameter: string): string {
  return `(SELECT * FROM jsonb_to_recordset(${parameter}::jsonb) AS r (kind text, "from" text[], "to" text, places text[]))`;
}

/**
 * Says of the rows of a file that cannot be, why not: the temporary table judged_event holds the rows, life_on_record what
 * their meters have on record. The database finds the meters that have such a row at all; their lives are then gone
 * through event by event, so that what follows a row that is set aside is judged without it.
 */
export async function setImpossibleEventsAside(tx: Tx): Promise<void> {
  const meterIds = await findImpossibleLives(tx);
  if (meterIds.length > 0) await setFaultsAside(tx, meterIds);
  await setAsideWhatBreaks(tx);
}

const onRecord = "SELECT o.*, NULL::integer AS row_number FROM life_on_record o";
const withTheFile = `${onRecord} UNION ALL SELECT ${life("j")}, j.row_number FROM judged_event j WHERE ${isGood}`;

/** Lives of meters as a table of the query: event by event in order, with the state that each meets. */
function stepped(lives: string): string {
  return `(
    WITH numbered AS (
      SELECT l.*, v."from", v."to", row_number() OVER (PARTITION BY meter_id ORDER BY performed_at, id) AS n
      FROM (${lives}) l JOIN ${moves("$1")} v ON v.kind = l.kind
    ), led AS MATERIALIZED (
      SELECT *, max(CASE WHEN "to" <> 'same' THEN n END) OVER (PARTITION BY meter_id ORDER BY n
        ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS prior FROM numbered
    )
    SELECT o.meter_id, o.id, o.n, o.row_number, coalesce(p."to", 'none') AS state_before,
      NOT coalesce(p."to", 'none') = ANY (o."from") AS illegal
    FROM led o LEFT JOIN led p ON p.meter_id = o.meter_id AND p.n = o.prior
  )`;
}

/**
 * Meters with a row that is not legal where it stands, or whose reading is lower than the one before it, or higher than a
 * later one on record, and nobody has said why.
 */
async function findImpossibleLives(tx: Tx): Promise<string[]> {
  const rows = await tx.query<{ id: string }>(
    `SELECT meter_id AS id FROM ${stepped(withTheFile)} s WHERE row_number IS NOT NULL AND illegal
     UNION
     SELECT meter_id FROM (
       SELECT meter_id, row_number, register_reading < lag(register_reading) OVER w AND ${isUnanswered("reading_note")} AS lower,
         register_reading > lead(register_reading) OVER w AND lead(row_number) OVER w IS NULL
           AND ${isUnanswered("lead(reading_note) OVER w")} AS higher
       FROM (${withTheFile}) l WHERE register_reading IS NOT NULL
       WINDOW w AS (PARTITION BY meter_id ORDER BY performed_at, id)
     ) r WHERE row_number IS NOT NULL AND (lower OR higher)`,
    [movesData],
  );
  return rows.map(({ id }) => id);
}

interface LifeEvent {
  meter_id: string;
  kind: LifeEventKind;
  register_reading: string | null;
  reading_note: ReadingNote | null;
  /** Null for what is on record. */
  row_number: number | null;
  reading_after: string | null;
  note_after: ReadingNote | null;
}

/**
 * Goes through the lives of some meters, and says of each row that cannot be, why not.
 *
 * @source legalMoves and readingQuestion, as by hand; that a reading is missing is not asked of a file: old books seldom
 *   have them all
 */
async function setFaultsAside(tx: Tx, meterIds: readonly string[]): Promise<void> {
  const events = await tx.query<LifeEvent>(
    `SELECT l.meter_id, l.kind, l.register_reading::text, l.reading_note, l.row_number,
       later.register_reading::text AS reading_after, later.reading_note AS note_after
     FROM (
       SELECT l.*, count(*) FILTER (WHERE row_number IS NULL AND register_reading IS NOT NULL)
         OVER (PARTITION BY meter_id ORDER BY performed_at, id) AS read_so_far
       FROM (${withTheFile}) l WHERE meter_id = ANY ($1)
     ) l
     LEFT JOIN (
       SELECT o.*, row_number() OVER (PARTITION BY meter_id ORDER BY performed_at, id) AS at
       FROM life_on_record o WHERE register_reading IS NOT NULL
     ) later ON later.meter_id = l.meter_id AND later.at = l.read_so_far + 1
     ORDER BY l.meter_id, l.performed_at, l.id`,
    [meterIds],
  );
  const faults: { row: number; fault: string; stateBefore: string }[] = [];
  let meterId = "";
  let state: LifeState | "none" = "none";
  let before: string | null = null;
  for (const event of events) {
    if (event.meter_id !== meterId) {
      meterId = event.meter_id;
      state = "none";
      before = null;
    }
    const { from, to } = legalMoves[event.kind];
    if (event.row_number !== null) {
      const question = readingQuestion({
        reading: event.register_reading,
        note: event.reading_note,
        before,
        after: event.reading_after === null ? null : { reading: event.reading_after, note: event.note_after },
        dials: Number.POSITIVE_INFINITY,
        isNeeded: false,
      });
      const isLegal = (from as readonly string[]).includes(state);
      if (!isLegal || question.kind !== "none") {
        faults.push({
          row: event.row_number,
          fault: isLegal ? `reading-${question.kind}` : "illegal",
          stateBefore: state,
        });
        continue;
      }
    }
    if (to !== "same") state = to;
    before = event.register_reading ?? before;
  }
  await tx.query(
    `UPDATE judged_event j SET fault = f.fault, state_before = f.state_before
     FROM unnest($1::integer[], $2::text[], $3::text[]) AS f (row_number, fault, state_before)
     WHERE j.row_number = f.row_number`,
    [
      faults.map(({ row }) => row),
      faults.map(({ fault }) => fault),
      faults.map(({ stateBefore }) => stateBefore),
    ],
  );
}

/** Whether nobody has said yet why a register shows less than before. */
function isUnanswered(note: string): string {
  return `coalesce(${note}, 'not-readable') = 'not-readable'`;
}

/** Sets the rows of a meter aside that would make an event on record illegal that is legal without them. */
async function setAsideWhatBreaks(tx: Tx): Promise<void> {
  await tx.query(
    `UPDATE judged_event j SET fault = 'breaks-later'
     FROM (
       SELECT DISTINCT a.meter_id FROM ${stepped(withTheFile)} a JOIN ${stepped(onRecord)} b ON b.id = a.id
       WHERE a.illegal AND NOT b.illegal
     ) broken
     WHERE broken.meter_id = j.meter_id AND ${isGood}`,
    [movesData],
  );
}
