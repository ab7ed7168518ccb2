import type { MeterMove } from "@sealbook/contract/meter-events";
import { changeLife } from "@sealbook/metrology/life-cycle/change-life";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { databaseTime } from "../../platform/database-time.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { refuseElsewhere } from "../../platform/refuse-elsewhere.ts";
import { shopCalendar } from "../../platform/shop-calendar.ts";
import { newId, type Tx } from "../../platform/transaction.ts";
import {
  findEvent,
  findMetersToMove,
  findMove,
  findStandingOfMove,
  insertMeterEvents,
  insertMove,
  lockMeters,
  updateWhereabouts,
} from "./event-store.ts";
import { moveOnRecord } from "./move-meters.ts";
import { breaksSentence, heldSentence } from "./plan-rows.ts";

/** Takes a whole move back by a counter-move that names it: what of it still stands, all or nothing. */
export async function takeBackMeterMove(
  tx: Tx,
  moveId: string,
  request: { id: string; reason: string },
): Promise<MeterMove> {
  const move = await findMove(tx, moveId);
  if (move === null) throw notFound("move");
  if (move.kind === "take-back")
    throw refusedByRule("/id", "A counter-move is not taken back: record what happened anew.");
  const standing = await findStandingOfMove(tx, moveId);
  if (move.takenBackById !== null || standing.length === 0)
    throw new ProblemError("already-exists", "This move was taken back already.");
  await takeBack(tx, standing, { ...request, takesBackMoveId: moveId });
  return await moveOnRecord(tx, request.id);
}

/** Takes one event back; returns the meter it happened to. */
export async function takeBackMeterEvent(
  tx: Tx,
  eventId: string,
  request: { id: string; reason: string },
): Promise<{ meterId: string }> {
  const event = await findEvent(tx, eventId);
  if (event === null) throw notFound("event");
  if (event.kind === "take-back")
    throw refusedByRule("/id", "A counter-event is not taken back: record what happened anew.");
  if (event.takenBack) throw new ProblemError("already-exists", "This event was taken back already.");
  await takeBack(tx, [event], { ...request, takesBackMoveId: null });
  return { meterId: event.meterId };
}

async function takeBack(
  tx: Tx,
  standing: readonly { id: string; meterId: string }[],
  request: { id: string; reason: string; takesBackMoveId: string | null },
): Promise<void> {
  const ids = standing.map(({ meterId }) => meterId);
  await lockMeters(tx, ids);
  await refuseElsewhere(tx, { meterIds: ids });
  const meters = await findMetersToMove(tx, ids);
  const { timeZone } = await shopCalendar(tx);
  const problems: { slug: "meter-held" | "illegal-move" | "refused-by-rule"; detail: string }[] = [];
  const rows = standing.flatMap(({ id, meterId }) => {
    const meter = meters.get(meterId);
    if (meter === undefined) throw new Error("a meter with an event is on record");
    const held = heldSentence(meter, timeZone);
    if (held !== null) {
      problems.push({ slug: "meter-held", detail: held });
      return [];
    }
    const change = changeLife(meter.events, { takeBack: new Set([id]) });
    if (change.kind === "begins") {
      problems.push({
        slug: "refused-by-rule",
        detail: `${meter.utilityNumber} came into the book by this event; correct its nameplate, or retire it with the reason.`,
      });
      return [];
    }
    if (change.kind === "breaks") {
      problems.push({ slug: "illegal-move", detail: breaksSentence(meter, change, timeZone) });
      return [];
    }
    if (change.kind === "illegal") throw new Error("what is taken back adds no event");
    return [
      {
        eventId: newId(),
        takesBackId: id,
        meter,
        state: change.state,
        placeId: change.placeId ?? meter.placeId,
      },
    ];
  });
  const [problem] = problems;
  if (problem !== undefined)
    throw new ProblemError(problem.slug, problem.detail, {
      errors: problems.slice(0, 100).map(({ detail }) => ({ pointer: "", detail })),
    });
  const [only] = rows;
  const entryId = await writeEntry(tx, {
    action: "meter.takeBack",
    ...(rows.length === 1 && only !== undefined
      ? { subjectType: "meter", subjectId: only.meter.id }
      : { subjectType: "meterMove", subjectId: request.id }),
    reason: request.reason,
    payload: {
      moveId: request.id,
      takesBackMoveId: request.takesBackMoveId,
      rows: rows.map(({ eventId, takesBackId, meter, state, placeId }) => ({
        eventId,
        takesBackId,
        meterId: meter.id,
        state,
        placeId,
      })),
    },
  });
  const performedAt = await databaseTime(tx);
  try {
    await insertMove(
      tx,
      {
        id: request.id,
        kind: "take-back",
        performedAt,
        placeId: null,
        reason: request.reason,
        meters: rows.length,
        takesBackId: request.takesBackMoveId,
      },
      entryId,
    );
    await insertMeterEvents(
      tx,
      rows.map(({ eventId, takesBackId, meter }) => ({
        id: eventId,
        meterId: meter.id,
        kind: "take-back",
        performedAt,
        placeId: null,
        registerReading: null,
        reason: request.reason,
        takesBackId,
      })),
      rows.map(() => entryId),
      request.id,
    );
    await updateWhereabouts(
      tx,
      rows.map(({ meter, state, placeId }) => ({ meterId: meter.id, state, placeId })),
      rows.map(() => entryId),
    );
  } catch (error) {
    if (isUniqueViolation(error, "meter_utility_number"))
      throw refusedByRule(
        "",
        "A utility number has been given to another meter since; the retirement cannot be taken back while that one is in use.",
      );
    if (isUniqueViolation(error)) throw new ProblemError("already-exists", "This was taken back already.");
    throw error;
  }
}
