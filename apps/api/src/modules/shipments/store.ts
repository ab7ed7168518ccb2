import type { MeterState } from "@sealbook/contract/meters";
import type { Source, Tx } from "../../platform/transaction.ts";

/** A meter on record as a shipment looks at it. */
export interface CandidateMeter {
  id: string;
  utility_number: string;
  serial: string;
  type_id: string;
  maker: string;
  state: MeterState;
  place_id: string;
  /** Number of another lot that holds it and does not let it go; null where there is none. */
  other_lot: string | null;
  in_lot: boolean;
}

/** A meter in a shipment lot belongs to it, unless that lot was withdrawn or is the one that this lot resubmits. */
const otherLot = `(SELECT l.number FROM lot_member b JOIN lot l ON l.id = b.lot_id
  WHERE b.meter_id = m.id AND l.kind = 'shipment' AND l.id <> $1 AND l.state <> 'withdrawn' LIMIT 1)`;

/** Meters with one of these utility numbers or serials, those in use first, locked so that no other lot takes them. */
export async function lockMetersByNumbers(
  tx: Tx,
  lotId: string,
  numbers: readonly string[],
): Promise<CandidateMeter[]> {
  return await lockCandidates(tx, lotId, "m.utility_number = ANY ($1) OR m.serial = ANY ($1)", [numbers]);
}

/** Meters of one maker with one of these serials, and meters in use with one of these utility numbers, locked. */
export async function lockMetersOfMaker(
  tx: Tx,
  lotId: string,
  maker: string,
  serials: readonly string[],
  utilityNumbers: readonly string[],
): Promise<CandidateMeter[]> {
  return await lockCandidates(
    tx,
    lotId,
    "(m.maker = $1 AND m.serial = ANY ($2)) OR (m.utility_number = ANY ($3) AND m.state NOT IN ('retired', 'disposed'))",
    [maker, serials, utilityNumbers],
  );
}

/**
 * Invariant: a meter is in one shipment lot. Locking and looking are two statements: one that waited for the lock would
 * still see the lots as they were before it waited, and take a meter that another person had just put into a lot.
 */
async function lockCandidates(
  tx: Tx,
  lotId: string,
  wanted: string,
  values: readonly unknown[],
): Promise<CandidateMeter[]> {
  const locked = await tx.query<{ id: string }>(
    `SELECT m.id FROM meter m WHERE ${wanted} ORDER BY m.id FOR UPDATE OF m`,
    [...values],
  );
  return await tx.query<CandidateMeter>(
    `SELECT m.id, m.utility_number, m.serial, m.type_id, m.maker, m.state, m.place_id, ${otherLot} AS other_lot,
       EXISTS (SELECT FROM lot_member b WHERE b.lot_id = $1 AND b.meter_id = m.id) AS in_lot
     FROM meter m WHERE m.id = ANY ($2) ORDER BY m.state IN ('retired', 'disposed'), m.id`,
    [lotId, locked.map(({ id }) => id)],
  );
}

export async function insertMakerResults(
  tx: Tx,
  lotId: string,
  results: readonly { meterId: string; results: string }[],
  entryId: string,
): Promise<void> {
  await tx.query(
    `INSERT INTO maker_result (lot_id, meter_id, results, entry_id)
     SELECT $1, t.meter_id, t.results, $2 FROM unnest($3::uuid[], $4::text[]) AS t (meter_id, results)`,
    [lotId, entryId, results.map(({ meterId }) => meterId), results.map((row) => row.results)],
  );
}

/** When a shipment was received, ISO 8601; null for a lot that is none. */
export async function findReceivedOn(source: Source, lotId: string): Promise<string | null> {
  const [lot] = await source.query<{ received_on: string | null }>(
    "SELECT received_on FROM lot WHERE id = $1 AND kind = 'shipment'",
    [lotId],
  );
  return lot?.received_on ?? null;
}

/**
 * Which of these meters were mended after the test that found them nonconforming: their newest test passes as left, and is
 * either a later one or one whose meter was not left as it was found.
 */
export async function findMended(
  source: Source,
  suspects: readonly { meterId: string; testId: string | null }[],
): Promise<Set<string>> {
  const rows = await source.query<{ meter_id: string }>(
    `SELECT s.meter_id FROM unnest($1::uuid[], $2::uuid[]) AS s (meter_id, test_id)
     JOIN LATERAL (
       SELECT t.id, t.verdict_as_left, t.entry_body::jsonb #>> '{outcome,asLeft,kind}' AS left_as FROM meter_test t
       WHERE t.meter_id = s.meter_id AND t.outcome <> 'withdrawn'
         AND NOT EXISTS (SELECT FROM meter_test n WHERE n.supersedes_id = t.id)
       ORDER BY t.performed_at DESC, t.id DESC LIMIT 1
     ) t ON true
     WHERE t.verdict_as_left = 'pass' AND (t.id <> s.test_id OR t.left_as <> 'same')`,
    [suspects.map(({ meterId }) => meterId), suspects.map(({ testId }) => testId)],
  );
  return new Set(rows.map(({ meter_id }) => meter_id));
}

/** Where a shipment is taken in: the shop's first place of kind shop. */
export async function findReceivingPlace(source: Source): Promise<string | null> {
  const [place] = await source.query<{ id: string }>(
    "SELECT id FROM place WHERE kind = 'shop' ORDER BY id LIMIT 1",
  );
  return place?.id ?? null;
}

/** Members of a lot with what a move needs, locked. */
export async function lockMembers(
  tx: Tx,
  lotId: string,
): Promise<{ id: string; utility_number: string; state: MeterState; place_id: string }[]> {
  return await tx.query(
    `SELECT m.id, m.utility_number, m.state, m.place_id FROM lot_member b JOIN meter m ON m.id = b.meter_id
     WHERE b.lot_id = $1 ORDER BY m.utility_number, m.id FOR UPDATE OF m`,
    [lotId],
  );
}
