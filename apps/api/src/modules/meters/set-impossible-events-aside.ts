import { legalMoves } from "@sealbook/metrology/life-cycle/legal-moves";
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
 * their meters have on record.
 *
 * What follows a row in its meter's life is judged as if that row were in. So the first fault of each meter is found and
 * set aside, and the rest is judged again without it, until there is none.
 */
export async function setImpossibleEventsAside(tx: Tx): Promise<void> {
  while ((await setFirstFaultsAside(tx)) > 0);
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
 * Of each meter, the first row that is not legal where it stands, or whose reading is lower than the one before it, or
 * higher than a later one on record, and nobody has said why. The number of meters.
 *
 * @source legalMoves and readingQuestion, as the database joins them
 */
async function setFirstFaultsAside(tx: Tx): Promise<number> {
  const rows = await tx.query(
    `WITH read AS (
       SELECT row_number, register_reading < lag(register_reading) OVER w AND ${isUnanswered("reading_note")} AS lower,
         register_reading > lead(register_reading) OVER w AND lead(row_number) OVER w IS NULL
           AND ${isUnanswered("lead(reading_note) OVER w")} AS higher
       FROM (${withTheFile}) l WHERE register_reading IS NOT NULL
       WINDOW w AS (PARTITION BY meter_id ORDER BY performed_at, id)
     ), found AS (
       SELECT DISTINCT ON (s.meter_id) s.row_number, s.state_before,
         CASE WHEN s.illegal THEN 'illegal' WHEN r.lower THEN 'reading-lower' ELSE 'reading-higher' END AS fault
       FROM ${stepped(withTheFile)} s LEFT JOIN read r ON r.row_number = s.row_number
       WHERE s.row_number IS NOT NULL AND (s.illegal OR r.lower OR r.higher)
       ORDER BY s.meter_id, s.n
     )
     UPDATE judged_event j SET fault = f.fault, state_before = f.state_before FROM found f
     WHERE j.row_number = f.row_number RETURNING 1`,
    [movesData],
  );
  return rows.length;
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
