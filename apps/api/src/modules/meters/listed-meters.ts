import { copyText } from "../../platform/copy-text.ts";
import { shopToday } from "../../platform/shop-today.ts";
import type { Tx } from "../../platform/transaction.ts";
import { placesNamed } from "./places-named.ts";

/** A meter that a file lists, before the book was asked about it. */
export interface ListedMeter {
  /** Line of the file; names the meter in what is said of it. */
  readonly rowNumber: number;
  readonly id: string;
  /** Id of the event that puts it at its place. */
  readonly eventId: string;
  readonly utilityNumber: string;
  readonly serial: string;
  readonly owner: "utility" | "customer";
  readonly maker: string;
  readonly model: string;
  /** Form and class are needed only where maker and model have several. */
  readonly form: string | null;
  readonly classAmperes: string | null;
  readonly firmware: string;
  readonly program: string;
  readonly purchasedOn: string | null;
  /** Number of a service point, or name of a place of the utility's own. */
  readonly place: string;
  /** Since when it is there; the day of purchase where nobody knows, else today. */
  readonly placedOn: string | null;
  readonly registerReading: string | null;
}

/** Why a listed meter cannot be put on record. */
export interface ListedMeterFault {
  readonly rowNumber: number;
  readonly fault: MeterFault;
  /** Number or serial of the meter that stands in the way, empty where none does. */
  readonly other: string;
}

export type MeterFault =
  | "unknown-type"
  | "ambiguous-type"
  | "retired-type"
  | "unknown-place"
  | "ambiguous-place"
  | "purchase-in-future"
  | "placing-in-future"
  | "placed-before-purchase"
  | "serial-taken"
  | "number-taken";

export interface JudgedMeters {
  readonly good: number;
  readonly already: number;
  readonly faults: readonly ListedMeterFault[];
  /** Puts the good ones on record under this ledger entry. */
  readonly add: (entryId: string) => Promise<void>;
}

/**
 * Judges thousands of listed meters against the book in one go, and can put the good ones on record: they are copied
 * into a table of this transaction, joined there with types, places and meters on record, and inserted by one statement
 * a table. A meter is on record already when its maker's serial and its number both are.
 */
export async function judgeListedMeters(tx: Tx, meters: readonly ListedMeter[]): Promise<JudgedMeters> {
  await tx.query(
    `CREATE TEMP TABLE listed_meter (row_number integer, id uuid, event_id uuid, utility_number text, serial text, owner text,
       maker text, model text, form text, class_amperes numeric, firmware text, program text, purchased_on date, place text,
       placed_on date, register_reading numeric) ON COMMIT DROP`,
  );
  await tx.copyIn("COPY listed_meter FROM STDIN", copyText(cellsOf(meters)));
  await tx.query("ANALYZE listed_meter");
  await tx.query(
    `CREATE TEMP TABLE judged_meter ON COMMIT DROP AS
     WITH types AS (
       SELECT d.maker, d.model, d.form, d.class_amperes, count(*) AS found, (array_agg(t.id))[1] AS id, bool_and(t.retired) AS retired
       FROM (SELECT DISTINCT maker, model, coalesce(form, '') AS form, coalesce(class_amperes, 0) AS class_amperes FROM listed_meter) d
       JOIN meter_type t ON t.maker = d.maker AND t.model = d.model AND d.form IN ('', t.form) AND d.class_amperes IN (0, t.class_amperes)
       GROUP BY 1, 2, 3, 4
     ), places AS MATERIALIZED (${placesNamed("listed_meter")})
     SELECT l.*, t.id AS type_id, p.id AS place_id, p.kind AS place_kind,
       same.utility_number IS NOT DISTINCT FROM l.utility_number AS already,
       coalesce(CASE WHEN same.utility_number <> l.utility_number THEN same.utility_number END, holder.serial, '') AS other,
       array_remove(ARRAY[
         CASE WHEN t.found IS NULL THEN 'unknown-type' WHEN t.found > 1 THEN 'ambiguous-type' WHEN t.retired THEN 'retired-type' END,
         CASE WHEN p.found = 0 THEN 'unknown-place' WHEN p.found > 1 THEN 'ambiguous-place' END,
         CASE WHEN l.purchased_on > $1::date THEN 'purchase-in-future' END,
         CASE WHEN l.placed_on > $1::date THEN 'placing-in-future' WHEN l.placed_on < l.purchased_on THEN 'placed-before-purchase' END,
         CASE WHEN same.utility_number <> l.utility_number THEN 'serial-taken'
           WHEN same.utility_number IS NULL AND holder.serial IS NOT NULL THEN 'number-taken' END
       ], NULL) AS faults
     FROM listed_meter l
     JOIN places p ON p.place = l.place
     LEFT JOIN types t ON t.maker = l.maker AND t.model = l.model AND t.form = coalesce(l.form, '')
       AND t.class_amperes = coalesce(l.class_amperes, 0)
     LEFT JOIN LATERAL (SELECT m.utility_number FROM meter m WHERE m.maker = l.maker AND m.serial = l.serial LIMIT 1) same ON true
     LEFT JOIN LATERAL (SELECT m.serial FROM meter m WHERE m.utility_number = l.utility_number AND m.state NOT IN ('retired', 'disposed') LIMIT 1) holder ON true`,
    [await shopToday(tx)],
  );
  const [counts] = await tx.query<{ good: number; already: number }>(
    `SELECT count(*) FILTER (WHERE faults = '{}' AND NOT already)::int AS good, count(*) FILTER (WHERE already)::int AS already
     FROM judged_meter`,
  );
  const faults = await tx.query<{ row_number: number; fault: MeterFault; other: string }>(
    "SELECT row_number, unnest(faults) AS fault, other FROM judged_meter WHERE faults <> '{}' AND NOT already ORDER BY row_number",
  );
  return {
    good: counts?.good ?? 0,
    already: counts?.already ?? 0,
    faults: faults.map(({ row_number, fault, other }) => ({ rowNumber: row_number, fault, other })),
    add: (entryId) => addJudgedMeters(tx, entryId),
  };
}

function* cellsOf(meters: readonly ListedMeter[]): Generator<(string | null)[]> {
  for (const meter of meters) {
    yield [
      String(meter.rowNumber),
      meter.id,
      meter.eventId,
      meter.utilityNumber,
      meter.serial,
      meter.owner,
      meter.maker,
      meter.model,
      meter.form,
      meter.classAmperes,
      meter.firmware,
      meter.program,
      meter.purchasedOn,
      meter.place,
      meter.placedOn,
      meter.registerReading,
    ];
  }
}

/** At a service point a meter counts as in service, elsewhere as received, as when it is added from its nameplate. */
async function addJudgedMeters(tx: Tx, entryId: string): Promise<void> {
  await tx.query(
    `INSERT INTO meter (id, utility_number, serial, owner, type_id, maker, firmware, program, purchased_on, state, place_id, entry_id)
     SELECT id, utility_number, serial, owner, type_id, maker, firmware, program, purchased_on,
       CASE place_kind WHEN 'service-point' THEN 'in-service' ELSE 'received' END, place_id, $1
     FROM judged_meter WHERE faults = '{}' AND NOT already ORDER BY row_number`,
    [entryId],
  );
  await tx.query(
    `INSERT INTO meter_event (id, meter_id, kind, performed_at, place_id, register_reading, reason, entry_id)
     SELECT j.event_id, j.id, CASE j.place_kind WHEN 'service-point' THEN 'set' ELSE 'receive' END,
       coalesce(coalesce(j.placed_on, j.purchased_on)::timestamp AT TIME ZONE s.time_zone, now_to_the_millisecond()),
       j.place_id, j.register_reading, 'Taken in from a file', $1
     FROM judged_meter j, shop s WHERE j.faults = '{}' AND NOT j.already ORDER BY j.row_number`,
    [entryId],
  );
}
