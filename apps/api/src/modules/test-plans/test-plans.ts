import type { TestPlan, TestPlanBody } from "@sealbook/contract/test-plans";
import { canonicalJson } from "@sealbook/evidence/canonical-json";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import type { Source, Tx } from "../../platform/transaction.ts";
import { findCurrentPlans, findNewestPlan, findPlan, insertPlan } from "./store.ts";

export async function listTestPlans(
  database: Database,
  query: { cursor?: string | undefined; limit: number },
): Promise<{ rows: TestPlan[]; next: string | null }> {
  const after = query.cursor === undefined ? null : String(fromCursor(query.cursor, 1)[0]);
  return toPage(await findCurrentPlans(database, { after, limit: query.limit + 1 }), query.limit, (row) => [
    row.code,
  ]);
}

export async function getTestPlan(database: Database, id: string): Promise<TestPlan> {
  const plan = await findPlan(reading(database), id);
  if (plan === null) throw notFound("test plan");
  return plan;
}

/** A revision of a plan by its id, or null. */
export async function planById(source: Source, id: string): Promise<TestPlan | null> {
  return await findPlan(source, id);
}

/** The newest revision of a plan, or null. */
export async function planByCode(source: Source, code: string): Promise<TestPlan | null> {
  return await findNewestPlan(source, code);
}

/** Adds a plan or the next revision of one. Revisions count up without gaps, so that two authors cannot pass each other. */
export async function addTestPlan(
  tx: Tx,
  plan: { id: string; code: string; revision: number; name: string; body: TestPlanBody; reason: string },
): Promise<TestPlan> {
  refuseInconsistentPoints(plan.body);
  const newest = await findNewestPlan(tx, plan.code);
  const expected = (newest?.revision ?? 0) + 1;
  if (plan.revision !== expected) {
    throw new ProblemError(
      "already-exists",
      `The next revision of ${plan.code} is ${expected}; someone may have added one since you opened it.`,
      {
        errors: [{ pointer: "/revision", detail: `Must be ${expected}.` }],
        ...(newest === null ? {} : { current: newest }),
      },
    );
  }
  const entryId = await writeEntry(tx, {
    action: "testPlan.add",
    subjectType: "testPlan",
    subjectId: plan.id,
    reason: plan.reason,
    payload: { code: plan.code, revision: plan.revision, name: plan.name, body: plan.body },
  });
  try {
    await insertPlan(tx, { ...plan, body: canonicalJson(plan.body) }, entryId);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError(
      "already-exists",
      `Revision ${plan.revision} of ${plan.code} was added by someone else at this moment.`,
      {
        errors: [{ pointer: "/revision", detail: "This revision was just taken." }],
      },
    );
  }
  const added = await findPlan(tx, plan.id);
  if (added === null) throw notFound("test plan");
  return added;
}

function refuseInconsistentPoints(body: TestPlanBody): void {
  const keys = body.points.map(({ key }) => key);
  const repeated = keys.findIndex((key, index) => keys.indexOf(key) !== index);
  if (repeated >= 0)
    throw refusedByRule(`/body/points/${repeated}/key`, `Point ${keys[repeated]} is in the plan twice.`);
  for (const role of ["full-load", "light-load", "power-factor"] as const) {
    const holders = body.points.flatMap((point, index) => (point.role === role ? [index] : []));
    const second = holders[1];
    if (second !== undefined) {
      throw refusedByRule(
        `/body/points/${second}/role`,
        `Only one point can be the ${role.replace("-", " ")} of the average.`,
      );
    }
  }
  body.points.forEach((point, index) => {
    const unity = Number(point.powerFactor) === 1;
    if (unity !== (point.powerFactorSense === "unity")) {
      throw refusedByRule(
        `/body/points/${index}/powerFactorSense`,
        "A power factor of 1 is unity; any other is lagging or leading.",
      );
    }
  });
}
