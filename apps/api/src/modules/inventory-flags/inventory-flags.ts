import type { FlagRule, InventoryFlag } from "@sealbook/contract/inventory-flags";
import { meterEventNames } from "@sealbook/contract/meters";
import { checkNameplate } from "@sealbook/metrology/accuracy/check-nameplate";
import { checkService } from "@sealbook/metrology/forms/check-service";
import { z } from "zod";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import { addJob } from "../../platform/jobs.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import type { Source, Tx } from "../../platform/transaction.ts";
import {
  type CheckRow,
  type FlagRow,
  findFlag,
  findFlags,
  findMetersConcerned,
  findNewestCheck,
  findTypeToCheck,
  insertCheck,
  insertSettlement,
  keepTypeFindings,
  lockFlag,
  lookAtMeters,
  settlementOf,
  type TypeToCheck,
} from "./store.ts";

export const checkTask = "inventory-check";

export async function listInventoryFlags(
  source: Source,
  query: {
    cursor?: string | undefined;
    limit: number;
    state: InventoryFlag["state"];
    rule?: FlagRule | undefined;
    meterId?: string | undefined;
  },
): Promise<{ rows: InventoryFlag[]; next: string | null }> {
  const after = query.cursor === undefined ? 0 : Number(fromCursor(query.cursor, 1)[0]);
  const rows = await findFlags(source, {
    state: query.state,
    rule: query.rule,
    meterId: query.meterId,
    after: Number.isSafeInteger(after) ? after : 0,
    limit: query.limit + 1,
  });
  return toPage(rows.map(toFlag), query.limit, (row) => [row.number]);
}

/** Settles a finding: what looks wrong is right, for the reason given. The same figures are never raised again. */
export async function settleInventoryFlag(
  tx: Tx,
  number: number,
  { id, reason }: { id: string; reason: string },
): Promise<InventoryFlag> {
  await lockFlag(tx, number);
  const row = await findFlag(tx, number);
  if (row === null) throw notFound("finding");
  if (row.state === "settled") throw new ProblemError("already-exists", "Somebody settled this already.");
  if (row.state === "gone")
    throw refusedByRule("/id", "This is no longer so; there is nothing left to settle.");
  const entryId = await writeEntry(tx, {
    action: "inventoryFlag.settle",
    ...(row.meter_id === null
      ? { subjectType: "meterType", subjectId: row.type_id ?? "" }
      : { subjectType: "meter", subjectId: row.meter_id }),
    reason,
    payload: { settlementId: id, rule: row.rule, finding: sentenceOf(row) },
  });
  await insertSettlement(tx, { id, number, reason }, entryId);
  const settled = await findFlag(tx, number);
  if (settled === null) throw new Error("a finding that was settled is there");
  return toFlag(settled);
}

/** Looks at meters that were just put on record or corrected, and at those that share a serial with them. */
export async function lookAgainAtMeters(tx: Tx, meterIds: readonly string[]): Promise<void> {
  if (meterIds.length === 0) return;
  await lookAtMeters(tx, { ids: await findMetersConcerned(tx, meterIds) });
}

/** Looks at a type that was just added or changed. */
export async function lookAgainAtType(tx: Tx, typeId: string): Promise<void> {
  await lookAtTypes(tx, await findTypeToCheck(tx, typeId));
}

/** Looks at types: their constants, elements, wires and phases beside their form. */
export async function lookAtTypes(tx: Tx, types: readonly TypeToCheck[]): Promise<number> {
  const found = types.flatMap((type) =>
    [...checkNameplate(type).map(({ reason }) => reason), ...checkService(type)].map((sentence) => ({
      key: `type-disagrees:${type.id}:${sentence}`,
      typeId: type.id,
      facts: JSON.stringify({ sentence }),
    })),
  );
  return await keepTypeFindings(
    tx,
    types.map(({ id }) => id),
    found,
  );
}

const factsSchemas = {
  "same-serial": z.object({ serial: z.string() }),
  "event-before-purchase": z.object({ purchasedOn: z.string(), on: z.string(), kind: z.string() }),
  "test-before-receipt": z.object({ testId: z.string(), testedOn: z.string(), on: z.string() }),
  "type-disagrees": z.object({ sentence: z.string() }),
};

function sentenceOf(row: Pick<FlagRow, "rule" | "facts">): string {
  const facts: unknown = JSON.parse(row.facts);
  switch (row.rule) {
    case "same-serial":
      return `Serial ${factsSchemas[row.rule].parse(facts).serial} is on record from several makers. Two makers may use one number; or one of the meters was added under the wrong type.`;
    case "event-before-purchase": {
      const { purchasedOn, on, kind } = factsSchemas[row.rule].parse(facts);
      const name = Object.entries(meterEventNames).find(([one]) => one === kind)?.[1] ?? kind;
      return `"${name}" stands on ${on}, and the meter was purchased on ${purchasedOn}.`;
    }
    case "test-before-receipt": {
      const { testedOn, on } = factsSchemas[row.rule].parse(facts);
      return `A test stands on ${testedOn}, and the meter came into the book on ${on}.`;
    }
    case "type-disagrees":
      return factsSchemas[row.rule].parse(facts).sentence;
  }
}

function toFlag(row: FlagRow): InventoryFlag {
  return {
    number: row.number,
    rule: row.rule,
    meter:
      row.meter_id === null
        ? null
        : { id: row.meter_id, utilityNumber: row.utility_number, serial: row.serial },
    type: row.type_id === null ? null : { id: row.type_id, name: row.type_name },
    sentence: sentenceOf(row),
    others: row.others,
    foundAt: row.found_at.toISOString(),
    state: row.state,
    settlement: settlementOf(row),
  };
}

// ---------------------------------------------------------------------------------------------------------------
// Looking through the whole inventory

/** Asks for a look through the whole inventory; one that waits already is the same. */
export async function startInventoryCheck(tx: Tx) {
  const number = await insertCheck(tx);
  await addJob(tx, { task: checkTask, payload: { number: String(number) }, key: checkTask });
  return await newestCheck(tx);
}

export async function getInventoryCheck(source: Source) {
  const row = await findNewestCheck(source);
  return { check: row === null ? null : toCheck(row) };
}

async function newestCheck(source: Source) {
  const row = await findNewestCheck(source);
  if (row === null) throw new Error("a check that was asked for is there");
  return toCheck(row);
}

function toCheck(row: CheckRow) {
  return {
    number: row.number,
    askedAt: row.asked_at.toISOString(),
    finishedAt: row.finished_at?.toISOString() ?? null,
    found: row.found,
    failure: row.failure,
  };
}
