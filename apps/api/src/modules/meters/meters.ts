import type { Meter, MeterRow, MeterState, NewMeter } from "@sealbook/contract/meters";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntries } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { shopToday } from "../../platform/shop-today.ts";
import { newId, type Tx } from "../../platform/transaction.ts";
import { getMeterType, meterTypeById } from "../meter-types/meter-types.ts";
import { getShop } from "../people/people.ts";
import {
  findMeters,
  findMetersByNumber,
  findWholeMeter,
  insertMeterEvents,
  insertMeters,
  type MeterToInsert,
  type NewMeterEvent,
  placeKind,
  updateWhereabouts,
} from "./store.ts";

export { placeKind } from "./store.ts";

export async function listMeters(
  database: Database,
  query: {
    cursor?: string | undefined;
    limit: number;
    q?: string | undefined;
    state?: MeterState | undefined;
    typeId?: string | undefined;
  },
): Promise<{ rows: MeterRow[]; next: string | null }> {
  const after =
    query.cursor === undefined ? null : (fromCursor(query.cursor, 2).map(String) as [string, string]);
  const { timeZone } = await getShop(database, new Date());
  const rows = await findMeters(
    reading(database),
    {
      part: query.q?.trim() || undefined,
      state: query.state,
      typeId: query.typeId,
      after,
      limit: query.limit + 1,
    },
    timeZone,
  );
  return toPage(rows, query.limit, (row) => [row.utilityNumber, row.id]);
}

export async function findMeter(database: Database, number: string): Promise<{ rows: MeterRow[] }> {
  const { timeZone } = await getShop(database, new Date());
  return { rows: await findMetersByNumber(reading(database), number.trim(), timeZone) };
}

export async function getMeter(database: Database, id: string): Promise<Meter> {
  const [found, shop] = await Promise.all([findWholeMeter(database, id), getShop(database, new Date())]);
  if (found === null) throw notFound("meter");
  const { typeId, ...meter } = found;
  const type = await getMeterType(database, typeId);
  return { ...meter, type, jurisdiction: meter.servicePoint?.jurisdiction ?? shop.homeJurisdiction };
}

/** Takes a meter into the book from its nameplate: at a service point it counts as in service, elsewhere as received. */
export async function createMeter(tx: Tx, meter: NewMeter): Promise<{ id: string }> {
  const type = await meterTypeById(tx, meter.typeId);
  if (type === null) throw refusedByRule("/typeId", "There is no such meter type; choose one from the list.");
  if (type.retired)
    throw refusedByRule(
      "/typeId",
      `${type.maker} ${type.model} is retired: no new meters of it are taken in.`,
    );
  const kind = await placeKind(tx, meter.placeId);
  if (kind === null) throw refusedByRule("/placeId", "There is no such place; choose one from the list.");
  if (meter.purchasedOn !== null && meter.purchasedOn > (await shopToday(tx)))
    throw refusedByRule("/purchasedOn", "This lies in the future; correct the date.");
  const state: MeterState = kind === "service-point" ? "in-service" : "received";
  const event: NewMeterEvent = {
    id: newId(),
    meterId: meter.id,
    kind: kind === "service-point" ? "set" : "receive",
    performedAt: new Date(),
    placeId: meter.placeId,
    registerReading: meter.registerReading,
    reason: "Added from its nameplate",
  };
  const { registerReading: _, ...nameplate } = meter;
  try {
    await addMeters(tx, [{ ...nameplate, maker: type.maker, state, events: [event] }]);
  } catch (error) {
    if (isUniqueViolation(error, "meter_serial")) {
      throw new ProblemError(
        "already-exists",
        `${type.maker} serial ${meter.serial} is on record already; open that meter.`,
        {
          errors: [{ pointer: "/serial", detail: "This serial is on record for this maker." }],
        },
      );
    }
    if (isUniqueViolation(error, "meter_utility_number")) {
      throw new ProblemError(
        "already-exists",
        `Utility number ${meter.utilityNumber} belongs to a meter in use; open that meter.`,
        {
          errors: [{ pointer: "/utilityNumber", detail: "This number belongs to a meter in use." }],
        },
      );
    }
    throw error;
  }
  return { id: meter.id };
}

/** Puts meters on record with what is known of their past, one ledger entry each. */
export async function addMeters(
  tx: Tx,
  meters: readonly (MeterToInsert & { events: readonly NewMeterEvent[] })[],
): Promise<void> {
  const entryIds = await writeEntries(
    tx,
    meters.map(({ id, events, ...nameplate }) => ({
      action: "meter.create",
      subjectType: "meter",
      subjectId: id,
      payload: { ...nameplate, events: events.map(eventPayload) },
    })),
  );
  await insertMeters(tx, meters, entryIds);
  await insertMeterEvents(
    tx,
    meters.flatMap(({ events }) => events),
    meters.flatMap(({ events }, index) => events.map(() => entryIds[index] ?? "")),
  );
}

/** Moves meters: each event is kept for ever, and where the meter is now follows from it. */
export async function moveMeters(
  tx: Tx,
  moves: readonly { event: NewMeterEvent; state: MeterState }[],
): Promise<void> {
  const entryIds = await writeEntries(
    tx,
    moves.map(({ event, state }) => ({
      action: "meter.move",
      subjectType: "meter",
      subjectId: event.meterId,
      payload: { ...eventPayload(event), state },
    })),
  );
  await insertMeterEvents(
    tx,
    moves.map(({ event }) => event),
    entryIds,
  );
  await updateWhereabouts(
    tx,
    moves.map(({ event, state }) => ({ meterId: event.meterId, state, placeId: event.placeId })),
    entryIds,
  );
}

function eventPayload(event: NewMeterEvent) {
  return {
    eventId: event.id,
    kind: event.kind,
    performedAt: event.performedAt.toISOString(),
    placeId: event.placeId,
    registerReading: event.registerReading,
    reason: event.reason,
  };
}
