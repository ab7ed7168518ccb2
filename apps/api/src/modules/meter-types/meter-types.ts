import type { MeterType } from "@sealbook/contract/meter-types";
import { Fraction } from "@sealbook/metrology/fraction";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import type { Source, Tx } from "../../platform/transaction.ts";
import { lookAgainAtType } from "../inventory-flags/inventory-flags.ts";
import { planByCode } from "../test-plans/test-plans.ts";
import {
  findMeterType,
  findMeterTypeByNameplate,
  findMeterTypes,
  findMeterTypesById,
  insertMeterType,
  lockMeterType,
  updateMeterType,
} from "./store.ts";

export async function listMeterTypes(
  database: Database,
  query: { cursor?: string | undefined; limit: number },
): Promise<{ rows: (MeterType & { meters: number })[]; next: string | null }> {
  const after =
    query.cursor === undefined ? null : (fromCursor(query.cursor, 3).map(String) as [string, string, string]);
  return toPage(await findMeterTypes(database, { after, limit: query.limit + 1 }), query.limit, (row) => [
    row.maker,
    row.model,
    row.id,
  ]);
}

export async function getMeterType(database: Database, id: string): Promise<MeterType> {
  const type = await findMeterType(reading(database), id);
  if (type === null) throw notFound("meter type");
  return type;
}

/** A type by its id, or null. */
export async function meterTypeById(source: Source, id: string): Promise<MeterType | null> {
  return await findMeterType(source, id);
}

/** The types of these ids that are on record, by id. */
export async function meterTypesById(
  source: Source,
  ids: readonly string[],
): Promise<Map<string, MeterType>> {
  return new Map((await findMeterTypesById(source, ids)).map((type) => [type.id, type]));
}

export async function createMeterType(
  tx: Tx,
  type: Omit<MeterType, "version" | "retired">,
): Promise<MeterType> {
  await refuseBadType(tx, type);
  const { id, ...fields } = type;
  const entryId = await writeEntry(tx, {
    action: "meterType.create",
    subjectType: "meterType",
    subjectId: id,
    payload: fields,
  });
  await insertOrRefuse(() => insertMeterType(tx, type, entryId));
  await lookAgainAtType(tx, id);
  return { ...type, retired: false, version: 1 };
}

export async function changeMeterType(
  tx: Tx,
  id: string,
  version: number,
  change: Omit<MeterType, "id" | "version"> & { reason: string },
): Promise<MeterType> {
  const before = await lockMeterType(tx, id);
  if (before === null) throw notFound("meter type");
  if (before.version !== version) {
    throw new ProblemError("stale", "Someone changed this type since you opened it.", { current: before });
  }
  const { reason, ...fields } = change;
  await refuseBadType(tx, fields);
  const { id: _id, version: _version, ...beforeFields } = before;
  const entryId = await writeEntry(tx, {
    action: "meterType.change",
    subjectType: "meterType",
    subjectId: id,
    reason,
    payload: { before: beforeFields, after: fields },
  });
  await insertOrRefuse(() => updateMeterType(tx, { id, ...fields }, entryId));
  await lookAgainAtType(tx, id);
  return { id, ...fields, version: version + 1 };
}

/**
 * What a type listed in a file is to the book: new, on record already with every value the same, or refused with the
 * field that stands in the way.
 */
export async function judgeListedType(
  tx: Tx,
  type: Omit<MeterType, "id" | "version" | "retired">,
): Promise<{ kind: "new" } | { kind: "already" } | { kind: "refused"; field: string; detail: string }> {
  try {
    await refuseBadType(tx, type);
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    return { kind: "refused", field: error.errors[0]?.pointer.slice(1) ?? "", detail: error.detail };
  }
  const onRecord = await findMeterTypeByNameplate(tx, type);
  if (onRecord === null) return { kind: "new" };
  const { id: _, version: _version, retired: _retired, ...fields } = onRecord;
  const differing = Object.entries(fields).find(
    ([field, value]) => !isSame(value, type[field as keyof typeof type]),
  );
  if (differing === undefined) return { kind: "already" };
  return {
    kind: "refused",
    field: differing[0],
    detail: `A type of this maker, model, form and class is on record with ${String(differing[1])} here. Correct the file, or change the type on its page with a reason.`,
  };
}

/** Whether two values of a nameplate are the same, however many zeros a decimal ends in. */
function isSame(one: unknown, other: unknown): boolean {
  if (typeof one === "string" && typeof other === "string" && /^[\d.]+$/.test(one + other)) {
    return Fraction.of(one).equals(Fraction.of(other));
  }
  return JSON.stringify(one) === JSON.stringify(other);
}

async function refuseBadType(tx: Tx, type: Omit<MeterType, "id" | "version" | "retired">): Promise<void> {
  if (Number(type.voltsMax) < Number(type.voltsMin)) {
    throw refusedByRule("/voltsMax", "The highest rated voltage is below the lowest.");
  }
  if (Number(type.testAmperes) > Number(type.classAmperes)) {
    throw refusedByRule("/testAmperes", "Test amperes are above the class; check the nameplate.");
  }
  const plan = await planByCode(tx, type.testPlanCode);
  if (plan === null)
    throw refusedByRule("/testPlanCode", `There is no test plan ${type.testPlanCode}; add it first.`);
  if (type.kt === null && plan.body.points.some((point) => point.countConstant === "Kt")) {
    throw refusedByRule("/kt", `Plan ${plan.code} counts pulses of the test output, so Kt must be given.`);
  }
}

async function insertOrRefuse(work: () => Promise<void>): Promise<void> {
  try {
    await work();
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", "A type of this maker, model, form and class is on record.", {
      errors: [{ pointer: "/model", detail: "This model is on record with this form and class." }],
    });
  }
}
