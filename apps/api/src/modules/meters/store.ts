import type { Meter, MeterState, NewMeter } from "@sealbook/contract/meters";
import type { Place } from "@sealbook/contract/places";
import { erasedText } from "../../platform/personal-values.ts";
import { placeFullName } from "../../platform/place-words.ts";
import type { Source, Tx } from "../../platform/transaction.ts";

interface WholeRow {
  id: string;
  utility_number: string;
  serial: string;
  owner: Meter["owner"];
  type_id: string;
  firmware: string;
  program: string;
  purchased_on: string | null;
  state: MeterState;
  place_id: string;
  place_kind: Place["kind"];
  place_name: string;
  point_number: string | null;
  point_address: string | null;
  point_area: string;
  point_jurisdiction: string;
  home_jurisdiction: string;
  version: number;
  entry_id: string;
}

/** A meter with where it is; type, seals, holds and story are asked for by themselves. */
export async function findWholeMeter(
  source: Source,
  id: string,
): Promise<(Omit<Meter, "type" | "seals" | "holds" | "sameNumber"> & { typeId: string }) | null> {
  const [row] = await source.query<WholeRow>(
    `SELECT m.id, m.utility_number, m.serial, m.owner, m.type_id, m.firmware, m.program, m.purchased_on, m.state, m.place_id,
       p.kind AS place_kind, ${placeFullName("p")} AS place_name, s.number AS point_number, a.value AS point_address,
       s.area AS point_area, s.jurisdiction AS point_jurisdiction, shop.home_jurisdiction, m.version, m.entry_id
     FROM meter m JOIN place p ON p.id = m.place_id CROSS JOIN shop
     LEFT JOIN service_point s ON s.id = m.place_id LEFT JOIN personal_value a ON a.id = s.address_id
     WHERE m.id = $1`,
    [id],
  );
  if (row === undefined) return null;
  return {
    id: row.id,
    utilityNumber: row.utility_number,
    serial: row.serial,
    owner: row.owner,
    typeId: row.type_id,
    firmware: row.firmware,
    program: row.program,
    purchasedOn: row.purchased_on,
    state: row.state,
    place: { id: row.place_id, kind: row.place_kind, name: row.place_name },
    servicePoint:
      row.point_number === null
        ? null
        : {
            id: row.place_id,
            number: row.point_number,
            address: row.point_address ?? erasedText,
            area: row.point_area,
            jurisdiction: row.point_jurisdiction,
          },
    jurisdiction: row.point_number === null ? row.home_jurisdiction : row.point_jurisdiction,
    version: row.version,
    entryId: row.entry_id,
  };
}

/** Other meters that carry or carried a utility number, newest on record first. */
export async function findSameNumber(
  source: Source,
  utilityNumber: string,
  exceptId: string,
): Promise<Meter["sameNumber"]> {
  return await source.query(
    "SELECT id, serial, maker, state FROM meter WHERE utility_number = $1 AND id <> $2 ORDER BY id DESC LIMIT 20",
    [utilityNumber, exceptId],
  );
}

/** What a correction of the nameplate is held against. */
export async function findNameplate(
  source: Source,
  id: string,
): Promise<(Omit<NewMeter, "id" | "placeId" | "registerReading"> & { version: number }) | null> {
  const [row] = await source.query<
    Omit<NewMeter, "id" | "placeId" | "registerReading"> & { version: number }
  >(
    `SELECT utility_number AS "utilityNumber", serial, owner, type_id AS "typeId", firmware, program,
       purchased_on AS "purchasedOn", version FROM meter WHERE id = $1`,
    [id],
  );
  return row ?? null;
}

export async function updateNameplate(
  tx: Tx,
  id: string,
  meter: Omit<NewMeter, "id" | "placeId" | "registerReading"> & { maker: string },
  entryId: string,
): Promise<void> {
  await tx.query(
    `UPDATE meter SET utility_number = $2, serial = $3, owner = $4, type_id = $5, maker = $6, firmware = $7, program = $8,
       purchased_on = $9, version = version + 1, entry_id = $10 WHERE id = $1`,
    [
      id,
      meter.utilityNumber,
      meter.serial,
      meter.owner,
      meter.typeId,
      meter.maker,
      meter.firmware,
      meter.program,
      meter.purchasedOn,
      entryId,
    ],
  );
}

/** A meter to be put on record, with its maker taken from its type. */
export type MeterToInsert = Omit<NewMeter, "registerReading"> & { maker: string; state: MeterState };

export async function insertMeters(
  tx: Tx,
  meters: readonly MeterToInsert[],
  entryIds: readonly string[],
): Promise<void> {
  await tx.query(
    `INSERT INTO meter (id, utility_number, serial, owner, type_id, maker, firmware, program, purchased_on, state, place_id, entry_id)
     SELECT * FROM unnest($1::uuid[], $2::text[], $3::text[], $4::text[], $5::uuid[], $6::text[], $7::text[], $8::text[],
       $9::date[], $10::text[], $11::uuid[], $12::uuid[])`,
    [
      meters.map(({ id }) => id),
      meters.map(({ utilityNumber }) => utilityNumber),
      meters.map(({ serial }) => serial),
      meters.map(({ owner }) => owner),
      meters.map(({ typeId }) => typeId),
      meters.map(({ maker }) => maker),
      meters.map(({ firmware }) => firmware),
      meters.map(({ program }) => program),
      meters.map(({ purchasedOn }) => purchasedOn),
      meters.map(({ state }) => state),
      meters.map(({ placeId }) => placeId),
      entryIds,
    ],
  );
}
