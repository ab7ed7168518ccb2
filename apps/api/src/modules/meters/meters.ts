import type { Meter, NewMeter } from "@sealbook/contract/meters";
import { changeLife } from "@sealbook/metrology/life-cycle/change-life";
import { type LifeEvent, lifeOf } from "@sealbook/metrology/life-cycle/life-of";
import { sealsOn } from "@sealbook/metrology/life-cycle/seals-on";
import type { Database } from "../../platform/database.ts";
import { writeEntries } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { refuseElsewhere } from "../../platform/refuse-elsewhere.ts";
import { shopCalendar } from "../../platform/shop-calendar.ts";
import { shopToday } from "../../platform/shop-today.ts";
import { newId, type Source, type Tx } from "../../platform/transaction.ts";
import { lookAgainAtMeters } from "../inventory-flags/inventory-flags.ts";
import { meterTypeById } from "../meter-types/meter-types.ts";
import { lockPlace } from "../places/places.ts";
import { nameplateTaken } from "./change-meter.ts";
import {
  findMetersToMove,
  findSealChanges,
  insertMeterEvents,
  lockMeters,
  type NewMeterEvent,
  updateWhereabouts,
} from "./event-store.ts";
import { standingHolds } from "./holds.ts";
import { heldSentence } from "./plan-rows.ts";
import { findSameNumber, findWholeMeter, insertMeters } from "./store.ts";

export type { NewMeterEvent } from "./event-store.ts";
export { placeMeterHold } from "./holds.ts";
export {
  type EventFault,
  judgeListedEvents,
  type ListedEvent,
  type ListedEventFault,
} from "./listed-events.ts";
export { judgeListedMeters, type ListedMeter, type MeterFault } from "./listed-meters.ts";

export async function getMeter(database: Database, id: string): Promise<Meter> {
  return await meterOnRecord(reading(database), id);
}

/** A meter whole, read through a transaction or outside one. */
export async function meterOnRecord(source: Source, id: string): Promise<Meter> {
  const found = await findWholeMeter(source, id);
  if (found === null) throw notFound("meter");
  const { typeId, ...meter } = found;
  const type = await meterTypeById(source, typeId);
  if (type === null) throw new Error("a meter has a type");
  return {
    ...meter,
    type,
    seals: sealsOn(await findSealChanges(source, id)),
    holds: await standingHolds(source, id),
    sameNumber: await findSameNumber(source, meter.utilityNumber, id),
  };
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
  const place = await lockPlace(tx, meter.placeId);
  if (place === null) throw refusedByRule("/placeId", "There is no such place; choose one from the list.");
  if (place.closed)
    throw refusedByRule("/placeId", `${place.name} is closed; choose another place, or open it.`);
  await refuseElsewhere(tx, { meterIds: [], placeIds: [meter.placeId] });
  if (meter.purchasedOn !== null && meter.purchasedOn > (await shopToday(tx)))
    throw refusedByRule("/purchasedOn", "This lies in the future; correct the date.");
  const { registerReading, placeId, ...nameplate } = meter;
  const event: NewMeterEvent = {
    id: newId(),
    meterId: meter.id,
    kind: place.kind === "service-point" ? "set" : "receive",
    performedAt: new Date(),
    placeId,
    registerReading,
    reason: "Added from its nameplate",
  };
  try {
    await addMeters(tx, [{ ...nameplate, maker: type.maker, events: [event] }]);
  } catch (error) {
    throw nameplateTaken(error, type.maker, meter) ?? error;
  }
  await lookAgainAtMeters(tx, [meter.id]);
  return { id: meter.id };
}

/** A meter to be put on record with what is known of its past: at least one event, each of them where it says. */
export interface MeterWithPast extends Omit<NewMeter, "registerReading" | "placeId"> {
  readonly maker: string;
  readonly events: readonly NewMeterEvent[];
}

/** Puts meters on record with what is known of their past, one ledger entry each. State and place follow from the events. */
export async function addMeters(tx: Tx, meters: readonly MeterWithPast[]): Promise<void> {
  const whole = meters.map(({ events, ...nameplate }) => {
    const { state, placeId } = lifeOf(events.map(asLifeEvent));
    if (state === "none" || placeId === null)
      throw new RangeError("a meter comes into the book by an event at a place");
    return { ...nameplate, state, placeId };
  });
  const entryIds = await writeEntries(
    tx,
    whole.map(({ id, ...nameplate }, index) => ({
      action: "meter.create",
      subjectType: "meter",
      subjectId: id,
      payload: { ...nameplate, events: (meters[index]?.events ?? []).map(eventPayload) },
    })),
  );
  await insertMeters(tx, whole, entryIds);
  await insertMeterEvents(
    tx,
    meters.flatMap(({ events }) => events),
    meters.flatMap(({ events }, index) => events.map(() => entryIds[index] ?? "")),
  );
}

/**
 * Moves meters, one ledger entry each; for what another area does to meters, such as releasing a shipment. Each event
 * must be legal and no hold may stand, and where a meter is now follows.
 *
 * @throws ProblemError meter-held or illegal-move, naming the meter
 */
export async function moveMeters(tx: Tx, events: readonly NewMeterEvent[]): Promise<void> {
  const ids = events.map(({ meterId }) => meterId);
  await lockMeters(tx, ids);
  const meters = await findMetersToMove(tx, ids);
  const { timeZone } = await shopCalendar(tx);
  const lives = new Map([...meters].map(([id, meter]) => [id, meter.events as readonly LifeEvent[]]));
  const states = events.map((event) => {
    const meter = meters.get(event.meterId);
    if (meter === undefined) throw notFound("meter");
    const before = lives.get(event.meterId) ?? [];
    const added = asLifeEvent(event);
    const change = changeLife(before, { add: added });
    const held = heldSentence(meter, timeZone);
    if (held !== null) throw new ProblemError("meter-held", held);
    if (change.kind === "illegal")
      throw new ProblemError("illegal-move", `${meter.utilityNumber} is ${change.step.reason}.`);
    if (change.kind !== "legal")
      throw new ProblemError(
        "illegal-move",
        `${meter.utilityNumber}: later events on record stand against this.`,
      );
    lives.set(event.meterId, [...before, added]);
    return change.state;
  });
  const entryIds = await writeEntries(
    tx,
    events.map((event, index) => ({
      action: "meter.move",
      subjectType: "meter",
      subjectId: event.meterId,
      payload: { ...eventPayload(event), state: states[index] },
    })),
  );
  await insertMeterEvents(tx, events, entryIds);
  const last = new Map(events.map((event, index) => [event.meterId, entryIds[index] ?? ""]));
  await updateWhereabouts(
    tx,
    [...last.keys()].map((meterId) => {
      const { state, placeId } = lifeOf(lives.get(meterId) ?? []);
      if (state === "none" || placeId === null)
        throw new Error("a meter with events has a state and a place");
      return { meterId, state, placeId };
    }),
    [...last.values()],
  );
}

function asLifeEvent({ id, kind, performedAt, placeId }: NewMeterEvent): LifeEvent {
  if (kind === "take-back") throw new RangeError("what takes back is no event of a life");
  return { id, kind, performedAt: performedAt.getTime(), placeId };
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
