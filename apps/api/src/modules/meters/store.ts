import type { Meter, MeterEvent, MeterRow, MeterState, NewMeter } from "@sealbook/contract/meters";
import type { Place } from "@sealbook/contract/service-points";
import type { Database } from "../../platform/database.ts";
import { localDate } from "../../platform/local-date.ts";
import { personRef } from "../../platform/person-ref.ts";
import { erasedText } from "../../platform/personal-values.ts";
import { placeWords } from "../../platform/place-words.ts";
import type { Prisma } from "../../platform/prisma/client.ts";
import type { Source, Tx } from "../../platform/transaction.ts";

/** Last test of a meter that has not been superseded, as found. */
const lastTest = `LEFT JOIN LATERAL (
    SELECT t.performed_at, t.verdict_as_found FROM meter_test t
    WHERE t.meter_id = m.id AND t.outcome <> 'withdrawn' AND NOT EXISTS (SELECT FROM meter_test s WHERE s.supersedes_id = t.id)
    ORDER BY t.performed_at DESC, t.id DESC LIMIT 1
  ) last ON true`;

const rowSelect = `SELECT m.id, m.utility_number, m.serial, m.maker, y.model, y.form, m.state, ${placeWords("p")} AS place,
    last.performed_at AS last_test_at, last.verdict_as_found AS last_verdict
  FROM meter m JOIN meter_type y ON y.id = m.type_id JOIN place p ON p.id = m.place_id ${lastTest}`;

interface ListRow {
  id: string;
  utility_number: string;
  serial: string;
  maker: string;
  model: string;
  form: string;
  state: MeterState;
  place: string;
  last_test_at: Date | null;
  last_verdict: MeterRow["lastVerdict"];
}

function toMeterRow(row: ListRow, timeZone: string): MeterRow {
  return {
    id: row.id,
    utilityNumber: row.utility_number,
    serial: row.serial,
    maker: row.maker,
    model: row.model,
    form: row.form,
    state: row.state,
    place: row.place,
    lastTestOn: row.last_test_at === null ? null : localDate(row.last_test_at, timeZone),
    lastVerdict: row.last_verdict,
  };
}

/** Meters by utility number. `part` is any part of a utility number or serial, found through the trigram indexes. */
export async function findMeters(
  source: Source,
  filter: {
    part: string | undefined;
    state: MeterState | undefined;
    typeId: string | undefined;
    after: [string, string] | null;
    limit: number;
  },
  timeZone: string,
): Promise<MeterRow[]> {
  const values: unknown[] = [];
  const bind = (value: unknown) => `$${values.push(value)}`;
  const conditions: string[] = [];
  if (filter.part !== undefined) {
    const pattern = bind(`%${filter.part.replace(/[\\%_]/g, "\\$&")}%`);
    conditions.push(`(m.utility_number ILIKE ${pattern} OR m.serial ILIKE ${pattern})`);
  }
  if (filter.state !== undefined) conditions.push(`m.state = ${bind(filter.state)}`);
  if (filter.typeId !== undefined) conditions.push(`m.type_id = ${bind(filter.typeId)}`);
  if (filter.after !== null)
    conditions.push(`(m.utility_number, m.id) > (${bind(filter.after[0])}, ${bind(filter.after[1])}::uuid)`);
  const where = conditions.length === 0 ? "" : `WHERE ${conditions.join(" AND ")}`;
  const rows = await source.query<ListRow>(
    `${rowSelect} ${where} ORDER BY m.utility_number, m.id LIMIT ${bind(filter.limit)}`,
    values,
  );
  return rows.map((row) => toMeterRow(row, timeZone));
}

/** Meters with exactly this utility number or serial, those in use before retired ones. */
export async function findMetersByNumber(
  source: Source,
  number: string,
  timeZone: string,
): Promise<MeterRow[]> {
  const rows = await source.query<ListRow>(
    `${rowSelect} WHERE m.utility_number = $1 OR m.serial = $1 ORDER BY m.state = 'retired', m.utility_number, m.id LIMIT 20`,
    [number],
  );
  return rows.map((row) => toMeterRow(row, timeZone));
}

const whole = {
  place: { include: { servicePoint: { include: { address: true } } } },
  events: {
    orderBy: [{ performedAt: "desc" }, { id: "desc" }],
    take: 500,
    include: {
      actor: { include: { name: true } },
      place: { include: { servicePoint: { include: { address: true } } } },
    },
  },
} satisfies Prisma.MeterInclude;

type WholeMeter = Prisma.MeterGetPayload<{ include: typeof whole }>;
type WholePlace = WholeMeter["place"];

/** A meter with its place and its history; its type is the area meter-types' to read. */
export async function findWholeMeter(
  database: Database,
  id: string,
): Promise<(Omit<Meter, "jurisdiction" | "type"> & { typeId: string }) | null> {
  const row = await database.prisma.meter.findUnique({ where: { id }, include: whole });
  if (row === null) return null;
  return {
    id: row.id,
    utilityNumber: row.utilityNumber,
    serial: row.serial,
    owner: row.owner as Meter["owner"],
    typeId: row.typeId,
    firmware: row.firmware,
    program: row.program,
    purchasedOn: row.purchasedOn === null ? null : row.purchasedOn.toISOString().slice(0, 10),
    state: row.state as MeterState,
    place: toPlace(row.place),
    servicePoint: toServicePoint(row.place),
    events: row.events.map((event) => ({
      id: event.id,
      kind: event.kind as MeterEvent["kind"],
      performedAt: event.performedAt.toISOString(),
      recordedAt: event.recordedAt.toISOString(),
      recordedBy: event.actor === null ? null : personRef(event.actor.id, event.actor.name.value),
      place: event.place === null ? null : toPlace(event.place),
      servicePoint: event.place === null ? null : toServicePoint(event.place),
      registerReading: event.registerReading?.toFixed() ?? null,
      reason: event.reason,
      entryId: event.entryId,
    })),
    version: row.version,
    entryId: row.entryId,
  };
}

function toPlace(row: WholePlace): Place {
  return { id: row.id, kind: row.kind as Place["kind"], name: row.name };
}

function toServicePoint(row: WholePlace): Meter["servicePoint"] {
  const point = row.servicePoint;
  return point === null
    ? null
    : {
        id: point.id,
        number: point.number,
        address: point.address.value ?? erasedText,
        area: point.area,
        jurisdiction: point.jurisdiction,
      };
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

export interface NewMeterEvent {
  id: string;
  meterId: string;
  kind: MeterEvent["kind"];
  performedAt: Date;
  placeId: string;
  registerReading: string | null;
  reason: string;
}

export async function insertMeterEvents(
  tx: Tx,
  events: readonly NewMeterEvent[],
  entryIds: readonly string[],
): Promise<void> {
  await tx.query(
    `INSERT INTO meter_event (id, meter_id, kind, performed_at, place_id, register_reading, reason, entry_id)
     SELECT * FROM unnest($1::uuid[], $2::uuid[], $3::text[], $4::timestamptz[], $5::uuid[], $6::numeric[], $7::text[], $8::uuid[])`,
    [
      events.map(({ id }) => id),
      events.map(({ meterId }) => meterId),
      events.map(({ kind }) => kind),
      events.map(({ performedAt }) => performedAt),
      events.map(({ placeId }) => placeId),
      events.map(({ registerReading }) => registerReading),
      events.map(({ reason }) => reason),
      entryIds,
    ],
  );
}

/** Sets where meters are now, after their events: state and place follow from the last event and are never typed over. */
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

export async function placeKind(tx: Tx, placeId: string): Promise<Place["kind"] | null> {
  const [row] = await tx.query<{ kind: Place["kind"] }>("SELECT kind FROM place WHERE id = $1", [placeId]);
  return row?.kind ?? null;
}
