import type pg from "pg";

/** A node of a plan as PostgreSQL explains it. */
export interface PlanNode {
  "Node Type": string;
  "Relation Name"?: string;
  Plans?: PlanNode[];
}

/** How PostgreSQL would run a query with these values, every node of it. */
export async function planOf(
  client: Pick<pg.Pool, "query">,
  sql: string,
  values: unknown[],
): Promise<PlanNode[]> {
  const { rows } = await client.query<{ "QUERY PLAN": [{ Plan: PlanNode }] }>(
    `EXPLAIN (FORMAT JSON) ${sql}`,
    values,
  );
  const nodes: PlanNode[] = [];
  const walk = (node: PlanNode) => {
    nodes.push(node);
    for (const child of node.Plans ?? []) walk(child);
  };
  const root = rows[0]?.["QUERY PLAN"][0].Plan;
  if (root === undefined) throw new Error("every query has a plan");
  walk(root);
  return nodes;
}
