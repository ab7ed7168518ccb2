import type { NewMeter } from "@sealbook/contract/meters";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { refuseElsewhere } from "../../platform/refuse-elsewhere.ts";
import { shopToday } from "../../platform/shop-today.ts";
import type { Tx } from "../../platform/transaction.ts";
import { lookAgainAtMeters } from "../inventory-flags/inventory-flags.ts";
import { meterTypeById } from "../meter-types/meter-types.ts";
import { findStandingHolds, lockMeters } from "./event-store.ts";
import { findNameplate, updateNameplate } from "./store.ts";

type Nameplate = Omit<NewMeter, "id" | "placeId" | "registerReading">;

/** Corrects a meter's nameplate, with a reason. Where it is follows from its events and is not corrected here. */
export async function changeMeter(
  tx: Tx,
  id: string,
  version: number,
  { reason, ...nameplate }: Nameplate & { reason: string },
): Promise<void> {
  await lockMeters(tx, [id]);
  const before = await findNameplate(tx, id);
  if (before === null) throw notFound("meter");
  await refuseElsewhere(tx, { meterIds: [id] });
  const { version: current, ...was } = before;
  if (current !== version)
    throw new ProblemError("stale", "Someone changed this meter since you opened it.", { current: before });
  const [hold] = await findStandingHolds(tx, id);
  if (hold !== undefined)
    throw new ProblemError("meter-held", `A legal hold stands on this meter: ${hold.reason}. Lift it first.`);
  const type = await meterTypeById(tx, nameplate.typeId);
  if (type === null) throw refusedByRule("/typeId", "There is no such meter type; choose one from the list.");
  if (nameplate.purchasedOn !== null && nameplate.purchasedOn > (await shopToday(tx)))
    throw refusedByRule("/purchasedOn", "This lies in the future; correct the date.");
  const entryId = await writeEntry(tx, {
    action: "meter.change",
    subjectType: "meter",
    subjectId: id,
    reason,
    payload: { before: was, after: nameplate },
  });
  try {
    await updateNameplate(tx, id, { ...nameplate, maker: type.maker }, entryId);
  } catch (error) {
    throw nameplateTaken(error, type.maker, nameplate) ?? error;
  }
  await lookAgainAtMeters(tx, [id]);
}

/** The refusal of a number that another meter has; null for any other error. */
export function nameplateTaken(
  error: unknown,
  maker: string,
  { serial, utilityNumber }: { serial: string; utilityNumber: string },
): ProblemError | null {
  if (isUniqueViolation(error, "meter_serial")) {
    return new ProblemError(
      "already-exists",
      `${maker} serial ${serial} is on record already; open that meter.`,
      {
        errors: [{ pointer: "/serial", detail: "This serial is on record for this maker." }],
      },
    );
  }
  if (isUniqueViolation(error, "meter_utility_number")) {
    return new ProblemError(
      "already-exists",
      `Utility number ${utilityNumber} belongs to a meter in use; open that meter.`,
      { errors: [{ pointer: "/utilityNumber", detail: "This number belongs to a meter in use." }] },
    );
  }
  return null;
}
