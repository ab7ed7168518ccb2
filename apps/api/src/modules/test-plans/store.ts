import { type TestPlan, testPlanBodySchema } from "@sealbook/contract/test-plans";
import type { Database } from "../../platform/database.ts";
import type { Source, Tx } from "../../platform/transaction.ts";

interface PlanRow {
  id: string;
  code: string;
  revision: number;
  name: string;
  body: string;
  recorded_at: Date;
  current: boolean;
}

const planColumns = `p.id, p.code, p.revision, p.name, p.body, p.recorded_at,
  NOT EXISTS (SELECT FROM test_plan n WHERE n.code = p.code AND n.revision > p.revision) AS current`;

function toTestPlan(row: PlanRow): TestPlan {
  return {
    id: row.id,
    code: row.code,
    revision: row.revision,
    name: row.name,
    body: testPlanBodySchema.parse(JSON.parse(row.body)),
    recordedAt: row.recorded_at.toISOString(),
    current: row.current,
  };
}

/** Newest revision of each plan, by code. */
export async function findCurrentPlans(
  database: Database,
  filter: { after: string | null; limit: number },
): Promise<TestPlan[]> {
  const { rows } = await database.pool.query<PlanRow>(
    `SELECT * FROM (SELECT DISTINCT ON (p.code) ${planColumns} FROM test_plan p
       WHERE $1::text IS NULL OR p.code > $1 ORDER BY p.code, p.revision DESC) newest
     ORDER BY code LIMIT $2`,
    [filter.after, filter.limit],
  );
  return rows.map(toTestPlan);
}

export async function findPlan(source: Source, id: string): Promise<TestPlan | null> {
  const [row] = await source.query<PlanRow>(`SELECT ${planColumns} FROM test_plan p WHERE p.id = $1`, [id]);
  return row === undefined ? null : toTestPlan(row);
}

export async function findNewestPlan(source: Source, code: string): Promise<TestPlan | null> {
  const [row] = await source.query<PlanRow>(
    `SELECT ${planColumns} FROM test_plan p WHERE p.code = $1 ORDER BY p.revision DESC LIMIT 1`,
    [code],
  );
  return row === undefined ? null : toTestPlan(row);
}

export async function insertPlan(
  tx: Tx,
  plan: { id: string; code: string; revision: number; name: string; body: string },
  entryId: string,
): Promise<void> {
  await tx.query(
    "INSERT INTO test_plan (id, code, revision, name, body, entry_id) VALUES ($1, $2, $3, $4, $5, $6)",
    [plan.id, plan.code, plan.revision, plan.name, plan.body, entryId],
  );
}
