import type { MeterState } from "@sealbook/contract/meters";
import type { FoundMeter, FoundServicePoint } from "@sealbook/contract/search";
import { begins, caseVariants, likePart } from "../../platform/like-pattern.ts";
import { erasedText } from "../../platform/personal-values.ts";
import { placeWords } from "../../platform/place-words.ts";
import type { Source } from "../../platform/transaction.ts";

interface MeterFoundRow {
  id: string;
  utility_number: string;
  serial: string;
  maker: string;
  model: string;
  form: string;
  state: MeterState;
  place: string;
}

function toFoundMeter(row: MeterFoundRow): FoundMeter {
  return {
    id: row.id,
    utilityNumber: row.utility_number,
    serial: row.serial,
    maker: row.maker,
    model: row.model,
    form: row.form,
    state: row.state,
    place: row.place,
  };
}

/** Puts nameplate and place beside the meters of `found (id, rank)`, in the order of their rank and number. */
const metersFound = `SELECT m.id, m.utility_number, m.serial, m.maker, y.model, y.form, m.state, ${placeWords("p")} AS place
  FROM found f JOIN meter m ON m.id = f.id JOIN meter_type y ON y.id = m.type_id JOIN place p ON p.id = m.place_id
  ORDER BY f.rank, m.utility_number, m.id`;

/** Meters whose utility number, then those whose serial begins with a text, in the case typed, upper or lower. */
export async function findMetersBeginning(
  source: Source,
  text: string,
  limit: number,
): Promise<FoundMeter[]> {
  const rows = await source.query<MeterFoundRow>(
    `WITH found AS (
       SELECT id, min(rank) AS rank FROM (
         (SELECT m.id, 1 AS rank FROM unnest($1::text[]) b CROSS JOIN LATERAL (
            SELECT id FROM meter WHERE ${begins("utility_number", "b")} ORDER BY utility_number, id LIMIT $2) m LIMIT $2)
         UNION ALL
         (SELECT m.id, 2 FROM unnest($1::text[]) b CROSS JOIN LATERAL (
            SELECT id FROM meter WHERE ${begins("serial", "b")} ORDER BY serial LIMIT $2) m LIMIT $2)
       ) each GROUP BY id ORDER BY min(rank) LIMIT $2)
     ${metersFound}`,
    [caseVariants(text), limit],
  );
  return rows.map(toFoundMeter);
}

/**
 * Meters whose utility number or serial holds a text of three characters or more anywhere. The search is walled off, so
 * that it is planned by what it would find in all and ends when enough is found.
 */
export async function findMetersHolding(source: Source, text: string, limit: number): Promise<FoundMeter[]> {
  const rows = await source.query<MeterFoundRow>(
    `WITH holding AS MATERIALIZED (SELECT id FROM meter WHERE utility_number ILIKE $1 OR serial ILIKE $1),
       found AS (SELECT id, 1 AS rank FROM holding LIMIT $2)
     ${metersFound}`,
    [likePart(text), limit],
  );
  return rows.map(toFoundMeter);
}

interface PointFoundRow {
  id: string;
  number: string;
  address: string | null;
  area: string;
  meters: { id: string; utilityNumber: string }[];
}

function toFoundPoint(row: PointFoundRow): FoundServicePoint {
  return {
    id: row.id,
    number: row.number,
    address: row.address ?? erasedText,
    area: row.area,
    meters: row.meters,
  };
}

/** Puts address and meters beside the service points of `found (id)`, by number. */
const pointsFound = `SELECT p.id, p.number, a.value AS address, p.area, coalesce(there.meters, '[]') AS meters
  FROM found f JOIN service_point p ON p.id = f.id JOIN personal_value a ON a.id = p.address_id
  LEFT JOIN LATERAL (
    SELECT json_agg(json_build_object('id', m.id, 'utilityNumber', m.utility_number)) AS meters
    FROM (SELECT id, utility_number FROM meter WHERE place_id = p.id ORDER BY utility_number, id LIMIT 3) m
  ) there ON true
  ORDER BY p.number`;

export async function findPointsBeginning(
  source: Source,
  text: string,
  limit: number,
): Promise<FoundServicePoint[]> {
  const rows = await source.query<PointFoundRow>(
    `WITH found AS (
       SELECT DISTINCT p.id FROM unnest($1::text[]) b CROSS JOIN LATERAL (
         SELECT id FROM service_point WHERE ${begins("number", "b")} ORDER BY number LIMIT $2) p LIMIT $2)
     ${pointsFound}`,
    [caseVariants(text), limit],
  );
  return rows.map(toFoundPoint);
}

export async function findPointsHolding(
  source: Source,
  text: string,
  limit: number,
): Promise<FoundServicePoint[]> {
  const rows = await source.query<PointFoundRow>(
    `WITH holding AS MATERIALIZED (SELECT id FROM service_point WHERE number ILIKE $1),
       found AS (SELECT id FROM holding LIMIT $2)
     ${pointsFound}`,
    [likePart(text), limit],
  );
  return rows.map(toFoundPoint);
}

/** Service points whose address holds every word of a text, in any order. One word has three characters or more. */
export async function findPointsAt(
  source: Source,
  text: string,
  limit: number,
): Promise<FoundServicePoint[]> {
  const words = text.split(/\s+/).slice(0, 8);
  if (!words.some((word) => [...word].length >= 3)) return [];
  const rows = await source.query<PointFoundRow>(
    `WITH holding AS MATERIALIZED (
         SELECT id FROM personal_value WHERE kind = 'address' AND ${words.map((_, index) => `value ILIKE $${index + 2}`).join(" AND ")}),
       found AS (SELECT p.id FROM holding h JOIN service_point p ON p.address_id = h.id LIMIT $1)
     ${pointsFound}`,
    [limit, ...words.map(likePart)],
  );
  return rows.map(toFoundPoint);
}
