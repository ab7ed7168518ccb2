import { randomBytes } from "node:crypto";
import { commitment } from "@sealbook/evidence/commitment";
import { copyText } from "../../platform/copy-text.ts";
import { newId, type Tx } from "../../platform/transaction.ts";

/** A service point that a file lists, before the book was asked about it. */
export interface ListedPoint {
  /** Line of the file; names the point in what is said of it. */
  readonly rowNumber: number;
  readonly number: string;
  readonly address: string;
  readonly area: string;
  readonly jurisdiction: string;
}

export type PointFault = "unknown-jurisdiction" | "number-taken";

export interface JudgedPoints {
  readonly good: number;
  readonly already: number;
  readonly faults: readonly { readonly rowNumber: number; readonly fault: PointFault }[];
  /** Puts the good ones on record under this ledger entry. */
  readonly add: (entryId: string) => Promise<void>;
}

/**
 * Judges thousands of listed service points against the book in one go, and can put the good ones on record. A point is
 * on record already when one of its number, address, area and jurisdiction is.
 */
export async function judgeListedPoints(tx: Tx, points: readonly ListedPoint[]): Promise<JudgedPoints> {
  await tx.query(
    `CREATE TEMP TABLE listed_point (row_number integer, id uuid, address_id uuid, number text, address text, salt bytea,
       commitment text, area text, jurisdiction text) ON COMMIT DROP`,
  );
  await tx.copyIn("COPY listed_point FROM STDIN", copyText(cellsOf(points)));
  await tx.query("ANALYZE listed_point");
  await tx.query(
    `CREATE TEMP TABLE judged_point ON COMMIT DROP AS
     SELECT l.*, coalesce(o.is_same, false) AS already,
       array_remove(ARRAY[
         CASE WHEN NOT EXISTS (SELECT FROM rule_profile r WHERE r.key = l.jurisdiction) THEN 'unknown-jurisdiction' END,
         CASE WHEN NOT o.is_same THEN 'number-taken' END
       ], NULL) AS faults
     FROM listed_point l
     LEFT JOIN LATERAL (
       SELECT (s.area = l.area AND s.jurisdiction = l.jurisdiction AND a.value IS NOT DISTINCT FROM l.address) AS is_same
       FROM service_point s JOIN personal_value a ON a.id = s.address_id WHERE s.number = l.number LIMIT 1
     ) o ON true`,
  );
  const [counts] = await tx.query<{ good: number; already: number }>(
    `SELECT count(*) FILTER (WHERE faults = '{}' AND NOT already)::int AS good, count(*) FILTER (WHERE already)::int AS already
     FROM judged_point`,
  );
  const faults = await tx.query<{ row_number: number; fault: PointFault }>(
    "SELECT row_number, unnest(faults) AS fault FROM judged_point WHERE faults <> '{}' AND NOT already ORDER BY row_number",
  );
  return {
    good: counts?.good ?? 0,
    already: counts?.already ?? 0,
    faults: faults.map(({ row_number, fault }) => ({ rowNumber: row_number, fault })),
    add: (entryId) => addJudgedPoints(tx, entryId),
  };
}

const isGood = "faults = '{}' AND NOT already";

function* cellsOf(points: readonly ListedPoint[]): Generator<string[]> {
  for (const { rowNumber, number, address, area, jurisdiction } of points) {
    const salt = randomBytes(16);
    yield [
      String(rowNumber),
      newId(),
      newId(),
      number,
      address,
      `\\x${salt.toString("hex")}`,
      commitment(salt, address),
      area,
      jurisdiction,
    ];
  }
}

async function addJudgedPoints(tx: Tx, entryId: string): Promise<void> {
  await tx.query(
    `INSERT INTO personal_value (id, kind, salt, value, commitment)
     SELECT address_id, 'address', salt, address, commitment FROM judged_point WHERE ${isGood} ORDER BY row_number`,
  );
  await tx.query(
    `INSERT INTO place (id, kind, name, entry_id)
     SELECT id, 'service-point', number, $1 FROM judged_point WHERE ${isGood} ORDER BY row_number`,
    [entryId],
  );
  await tx.query(
    `INSERT INTO service_point (id, number, address_id, area, jurisdiction, entry_id)
     SELECT id, number, address_id, area, jurisdiction, $1 FROM judged_point WHERE ${isGood} ORDER BY row_number`,
    [entryId],
  );
}
