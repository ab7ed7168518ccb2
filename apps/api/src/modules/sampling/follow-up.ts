import type { DrawUnit } from "@sealbook/contract/follow-up";
import type { Scheme } from "@sealbook/contract/sampling-schemes";
import type { AbsenceReason } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { newId, type Tx } from "../../platform/transaction.ts";
import { closeWorkOfDraws, openWorkItems } from "../work-items/work-items.ts";
import { insertDrawEvents, type NewDrawEvent } from "./draw-store.ts";
import { lockLotIn } from "./lots.ts";
import type { Sample } from "./sample-of.ts";
import { sampleOfLot } from "./sample-of-lot.ts";
import { findDrawEvents } from "./unit-store.ts";
import { workFor } from "./work-for.ts";

interface FollowUp {
  id: string;
  position: number;
  kind: "asked" | "pulled" | "received" | "not-reached" | "moved" | "retired" | "left-out";
  reason: AbsenceReason | null;
  note: string;
}

/**
 * Follows sampled meters up. One that cannot be had leaves its place to the next spare where the scheme allows it for that
 * reason; otherwise the place stays empty and counts as left out.
 */
export async function recordEvents(
  tx: Tx,
  lotId: string,
  events: readonly FollowUp[],
): Promise<{
  units: DrawUnit[];
  calledUp: { position: number; place: number; utilityNumber: string }[];
  withoutSpare: number[];
}> {
  const lot = await lockLotIn(
    tx,
    lotId,
    ["drawn"],
    "Only a lot that is drawn and not yet decided is followed up.",
  );
  const found = await sampleOfLot(tx, lotId);
  if (found === null) throw new Error("a drawn lot has a sample");
  const { sample, scheme, drawId } = found;
  const units = new Map(sample.units.map((unit) => [unit.position, unit]));
  const spares = sample.units.filter(({ state }) => state === "spare");
  const rows: NewDrawEvent[] = [];
  const calledUp: { position: number; place: number; utilityNumber: string }[] = [];
  const withoutSpare: number[] = [];
  const gone = new Set<number>();
  for (const [index, event] of events.entries()) {
    const unit = units.get(event.position);
    const reason = reasonOf(event, index);
    refuseEvent(unit, event, reason, gone, scheme, index);
    rows.push({ ...event, reason, place: null, takesBackId: null });
    if (reason === null) continue;
    gone.add(event.position);
    const place = unit?.place ?? calledUp.find(({ position }) => position === event.position)?.place;
    if (place === undefined || place === null) throw new Error("a unit in the sample has a place");
    const { allowed, reasons } = scheme.body.replacement;
    const spare = allowed && reasons.includes(reason) ? spares.shift() : undefined;
    if (spare === undefined) {
      withoutSpare.push(place);
      continue;
    }
    calledUp.push({ position: spare.position, place, utilityNumber: spare.utilityNumber });
    units.set(spare.position, { ...spare, place, state: "waiting" });
    rows.push({
      id: newId(),
      position: spare.position,
      kind: "called-up",
      reason: null,
      note: `For place ${place}`,
      place,
      takesBackId: null,
    });
  }
  const entryId = await writeEntry(tx, {
    action: "lot.follow",
    subjectType: "lot",
    subjectId: lotId,
    payload: { number: lot.number, drawId, events: rows.map((row) => ({ ...row })) },
  });
  try {
    await insertDrawEvents(tx, drawId, rows, entryId);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", "One of these is on record already; reload the sample.");
  }
  await openWorkItems(
    tx,
    calledUp.map(({ position, place }) => workFor(lot, drawId, units.get(position)?.meterId ?? "", place)),
  );
  const after = await sampleOfLot(tx, lotId);
  const touched = new Set(rows.map(({ position }) => position));
  return {
    units: after?.sample.units.filter(({ position }) => touched.has(position)) ?? [],
    calledUp,
    withoutSpare,
  };
}
/**
 * Takes a follow-up back that was recorded in error. A meter that had left the sample has its place again, and the spare
 * that was called up for it goes back among the spares if nothing rests on it yet.
 */
export async function takeBackEvent(
  tx: Tx,
  lotId: string,
  request: { id: string; eventId: string; reason: string },
): Promise<{ units: DrawUnit[] }> {
  const lot = await lockLotIn(
    tx,
    lotId,
    ["drawn"],
    "A follow-up is taken back only while its lot is drawn and not yet decided.",
  );
  const found = await sampleOfLot(tx, lotId);
  if (found === null) throw new Error("a drawn lot has a sample");
  const { sample, drawId } = found;
  const unit = sample.units.find(({ events }) => events.some(({ id }) => id === request.eventId));
  const event = unit?.events.find(({ id }) => id === request.eventId);
  if (unit === undefined || event === undefined) throw notFound("follow-up in the newest draw of this lot");
  if (event.takenBack !== null) {
    throw new ProblemError("already-exists", "This follow-up was taken back already; reload the sample.");
  }
  if (event.kind === "called-up") {
    throw refusedByRule(
      "/eventId",
      "A spare goes back with the follow-up that called it up: take that back.",
    );
  }
  const calledUp = event.reason === null ? null : await spareCalledUpBy(tx, drawId, event.id, unit, sample);
  const rows: NewDrawEvent[] = [takingBack(request.id, unit.position, request.eventId, request.reason)];
  if (calledUp !== null) {
    rows.push(takingBack(newId(), calledUp.spare.position, calledUp.eventId, request.reason));
  }
  const entryId = await writeEntry(tx, {
    action: "lot.takeBack",
    subjectType: "lot",
    subjectId: lotId,
    reason: request.reason,
    payload: { number: lot.number, drawId, events: rows.map((row) => ({ ...row })) },
  });
  try {
    await insertDrawEvents(tx, drawId, rows, entryId);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", "This follow-up was taken back already; reload the sample.");
  }
  if (calledUp !== null) {
    const { meterId } = calledUp.spare;
    await closeWorkOfDraws(tx, [drawId], (asked) =>
      asked === meterId
        ? `The spare went back: meter ${unit.utilityNumber} of lot ${lot.number} has its place again (${request.reason}).`
        : null,
    );
  }
  const after = await sampleOfLot(tx, lotId);
  const touched = new Set(rows.map(({ position }) => position));
  return { units: after?.sample.units.filter(({ position }) => touched.has(position)) ?? [] };
}

function takingBack(id: string, position: number, takesBackId: string, reason: string): NewDrawEvent {
  return { id, position, kind: "taken-back", reason: null, note: reason, place: null, takesBackId };
}

/** The spare that a follow-up called up, with the event that did; null without one. Refused once anything rests on it. */
async function spareCalledUpBy(
  tx: Tx,
  drawId: string,
  eventId: string,
  unit: DrawUnit,
  sample: Sample,
): Promise<{ spare: DrawUnit; eventId: string } | null> {
  const rows = await findDrawEvents(tx, drawId);
  const called = rows
    .slice(rows.findIndex(({ id }) => id === eventId))
    .find(
      ({ kind, place, taken_back_at }) =>
        kind === "called-up" && place === unit.place && taken_back_at === null,
    );
  const spare = sample.units.find(({ position }) => position === called?.position);
  if (called === undefined || spare === undefined) return null;
  if (spare.state === "replaced" || spare.state === "left-out") {
    throw refusedByRule(
      "/eventId",
      `Spare ${spare.utilityNumber}, called up for meter ${unit.utilityNumber}, has left the sample too: take that back first.`,
    );
  }
  if (spare.test !== null) {
    throw refusedByRule(
      "/eventId",
      `Spare ${spare.utilityNumber} is tested in place of meter ${unit.utilityNumber}: its result counts, and this stands.`,
    );
  }
  return { spare, eventId: called.id };
}

/** Why the meter leaves the sample; null where it stays. */
function reasonOf(event: FollowUp, index: number): AbsenceReason | null {
  const pointer = `/events/${index}/reason`;
  switch (event.kind) {
    case "asked":
    case "pulled":
    case "received":
      if (event.reason !== null)
        throw refusedByRule(pointer, "A reason belongs to a meter that cannot be had.");
      return null;
    case "moved":
    case "retired":
      if (event.reason !== null && event.reason !== event.kind)
        throw refusedByRule(
          pointer,
          "Having moved or been retired is the reason by itself: leave the reason out.",
        );
      return event.kind;
    case "not-reached":
    case "left-out":
      if (event.reason === null) throw refusedByRule(pointer, "Say why the meter cannot be had.");
      if (event.reason === "other" && event.note.trim().length < 5)
        throw refusedByRule(`/events/${index}/note`, "Say in a few words what the other reason is.");
      return event.reason;
  }
}

function refuseEvent(
  unit: DrawUnit | undefined,
  event: FollowUp,
  reason: AbsenceReason | null,
  gone: ReadonlySet<number>,
  scheme: Scheme,
  index: number,
): void {
  const pointer = `/events/${index}/position`;
  if (unit === undefined) throw refusedByRule(pointer, `The draw has no position ${event.position}.`);
  const number = unit.utilityNumber;
  if (unit.state === "spare")
    throw refusedByRule(pointer, `Meter ${number} is a spare and was not called up.`);
  if (unit.state === "replaced" || unit.state === "left-out" || gone.has(event.position)) {
    throw refusedByRule(pointer, `Meter ${number} has left the sample already.`);
  }
  if (unit.state === "tested") throw refusedByRule(pointer, `Meter ${number} is tested; its result counts.`);
  if (unit.state === "no-test-possible") {
    const leavesByScheme = scheme.body.untestable.counts === "left-out" && reason === "no-test-possible";
    if (!leavesByScheme) {
      throw refusedByRule(
        pointer,
        `No test was possible on meter ${number}, and the scheme ${scheme.body.untestable.counts === "left-out" ? "leaves it out" : "counts it as nonconforming"}.`,
        scheme.body.untestable.reason,
      );
    }
  } else if (reason === "no-test-possible") {
    throw refusedByRule(
      `/events/${index}/reason`,
      `Record first that no test was possible on meter ${number}, as its test.`,
    );
  }
}
