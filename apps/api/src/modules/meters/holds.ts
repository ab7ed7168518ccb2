import type { MeterHold } from "@sealbook/contract/meters";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { personRef } from "../../platform/person-ref.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { refuseElsewhere } from "../../platform/refuse-elsewhere.ts";
import { actorOf, type Source, type Tx } from "../../platform/transaction.ts";
import {
  findHold,
  findMetersToMove,
  findStandingHolds,
  type HoldRow,
  insertHold,
  insertHoldLift,
  lockMeters,
} from "./event-store.ts";

/** Legal holds that stand on a meter, oldest first. */
export async function standingHolds(source: Source, meterId: string): Promise<MeterHold[]> {
  return (await findStandingHolds(source, meterId)).map(toHold);
}

function toHold(row: HoldRow): MeterHold {
  return {
    id: row.id,
    reason: row.reason,
    placedAt: row.recorded_at.toISOString(),
    placedBy: personRef(row.actor_id, row.actor_name),
    entryId: row.entry_id,
  };
}

/** Places a legal hold. The meter's lock puts it before or after a move under way, never into it. */
export async function placeMeterHold(
  tx: Tx,
  meterId: string,
  hold: { id: string; reason: string },
): Promise<MeterHold> {
  await lockMeters(tx, [meterId]);
  const meter = (await findMetersToMove(tx, [meterId])).get(meterId);
  if (meter === undefined) throw notFound("meter");
  await refuseElsewhere(tx, { meterIds: [meterId] });
  if (meter.state === "disposed")
    throw refusedByRule("/id", `${meter.utilityNumber} is disposed of; there is nothing left to hold.`);
  const entryId = await writeEntry(tx, {
    action: "meter.hold",
    subjectType: "meter",
    subjectId: meterId,
    reason: hold.reason,
    payload: { holdId: hold.id, state: meter.state, placeId: meter.placeId },
  });
  await insertHold(tx, { id: hold.id, meterId, reason: hold.reason }, entryId);
  const placed = await findHold(tx, hold.id);
  if (placed === null) throw new Error("a hold that was placed is there");
  return toHold(placed);
}

/** Lifts a legal hold: whoever placed it, or a supervisor once that account is closed. */
export async function liftMeterHold(tx: Tx, holdId: string, reason: string): Promise<void> {
  const actor = actorOf(tx);
  const seen = await findHold(tx, holdId);
  if (seen === null) throw notFound("legal hold");
  await lockMeters(tx, [seen.meter_id]);
  const hold = await findHold(tx, holdId);
  if (hold === null) throw new Error("a hold is never removed");
  if (hold.lifted) throw new ProblemError("already-exists", "This hold was lifted already.");
  const placerIsGone = hold.actor_active !== true && actor.role === "supervisor";
  if (hold.actor_id !== actor.id && !placerIsGone) {
    throw refusedByRule(
      "",
      `Only ${hold.actor_name ?? "the person"} who placed this hold lifts it; a supervisor may once that account is closed.`,
      "A legal hold is lifted by who placed it",
    );
  }
  const entryId = await writeEntry(tx, {
    action: "meter.liftHold",
    subjectType: "meter",
    subjectId: hold.meter_id,
    reason,
    payload: { holdId },
  });
  try {
    await insertHoldLift(tx, { holdId, reason }, entryId);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", "This hold was lifted already.");
  }
}
