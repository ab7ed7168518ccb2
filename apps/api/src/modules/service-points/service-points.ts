import type { ServicePoint } from "@sealbook/contract/service-points";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntries } from "../../platform/ledger.ts";
import { keepPersonalValues } from "../../platform/personal-values.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import type { Tx } from "../../platform/transaction.ts";
import { profileByKey } from "../profiles/profiles.ts";

export { judgeListedPoints, type ListedPoint, type PointFault } from "./listed-points.ts";

import { insertPlaces } from "../places/places.ts";
import { findServicePoint, findServicePoints, insertServicePoints } from "./store.ts";

export async function listServicePoints(
  database: Database,
  query: { cursor?: string | undefined; limit: number; q?: string | undefined },
): Promise<{ rows: ServicePoint[]; next: string | null }> {
  const after = query.cursor === undefined ? null : String(fromCursor(query.cursor, 1)[0]);
  const part = query.q?.trim() || undefined;
  return toPage(
    await findServicePoints(database, { part, after, limit: query.limit + 1 }),
    query.limit,
    (row) => [row.number],
  );
}

export async function getServicePoint(database: Database, id: string): Promise<ServicePoint> {
  const point = await findServicePoint(database, id);
  if (point === null) throw notFound("service point");
  return point;
}

export async function createServicePoint(tx: Tx, point: ServicePoint): Promise<ServicePoint> {
  if ((await profileByKey(tx, point.jurisdiction)) === null) {
    throw refusedByRule(
      "/jurisdiction",
      `There is no rule profile "${point.jurisdiction}"; choose one of those on record.`,
    );
  }
  try {
    await addServicePoints(tx, [point]);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", `Service point ${point.number} is on record already.`, {
      errors: [{ pointer: "/number", detail: "This number is on record already." }],
    });
  }
  return point;
}

/** Puts service points on record, each with its ledger entry; their jurisdictions must have a profile. */
export async function addServicePoints(tx: Tx, points: readonly ServicePoint[]): Promise<void> {
  const addresses = await keepPersonalValues(
    tx,
    "address",
    points.map(({ address }) => address),
  );
  const entryIds = await writeEntries(
    tx,
    points.map(({ id, number, area, jurisdiction }, index) => ({
      action: "servicePoint.create",
      subjectType: "servicePoint",
      subjectId: id,
      payload: { number, area, jurisdiction, addressCommitment: addresses[index]?.commitment },
    })),
  );
  await insertPlaces(
    tx,
    points.map(({ id, number }) => ({ id, kind: "service-point", name: number })),
    entryIds,
  );
  await insertServicePoints(
    tx,
    points.map((point, index) => ({ ...point, addressId: addresses[index]?.id ?? "" })),
    entryIds,
  );
}
