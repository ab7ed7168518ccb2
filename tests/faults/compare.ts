import { execFile } from "node:child_process";
import { setTimeout as sleep } from "node:timers/promises";
import { fileURLToPath } from "node:url";
import type { FaultyService } from "./faulty-service.ts";
import type { Intent } from "./workload.ts";

/** What the book says of what people were told. Each finding is a sentence. */
export interface Findings {
  /** Changes meant, and those that the service confirmed. */
  readonly meant: number;
  readonly confirmed: number;
  readonly confirmedByKind: Readonly<Record<Intent["kind"], number>>;
  /** Rows that imports put in. */
  readonly rowsImported: number;
  /** Ledger entries in all. */
  readonly entries: number;
  /** Confirmed, and not in the book as confirmed. */
  readonly lost: readonly string[];
  /** Done more than once. */
  readonly doubled: readonly string[];
  /** Records and ledger that do not agree. */
  readonly unledgered: readonly string[];
}

/**
 * Holds what clients were told against the database and the ledger: by plain SQL of its own, so that nothing of the
 * service vouches for itself.
 */
export async function compare({ admin }: FaultyService, meantByPeople: readonly Intent[]): Promise<Findings> {
  // What is confirmed while the book is read is none of this reading's: people go on working.
  const intents = meantByPeople.map((intent) => ({ ...intent }));
  const lost: string[] = [];
  const doubled: string[] = [];
  const unledgered: string[] = [];
  const confirmed = intents.filter(({ acknowledged }) => acknowledged !== null);
  const acknowledgedIds = (kind: Intent["kind"]) =>
    confirmed.filter((intent) => intent.kind === kind).map(({ acknowledged }) => String(acknowledged));

  // Tests and amendments: found by the remark that says who meant them.
  const marked = await admin.query<{ remarks: string; ids: string[] }>(
    `SELECT entry_body::json ->> 'remarks' AS remarks, array_agg(id::text ORDER BY id) AS ids FROM meter_test
     WHERE import_id IS NULL GROUP BY 1`,
  );
  const found = new Map(marked.rows.map(({ remarks, ids }) => [remarks, ids]));
  for (const { kind, mark, acknowledged } of intents) {
    if (kind !== "test" && kind !== "amendment") continue;
    const ids = found.get(mark) ?? [];
    if (acknowledged !== null && !ids.includes(acknowledged))
      lost.push(`${kind} "${mark}" (${acknowledged})`);
    if (ids.length > 1) doubled.push(`${kind} "${mark}": ${ids.length} records`);
  }

  for (const [kind, table] of [
    ["decision", "decision"],
    ["approval", "approval"],
  ] as const) {
    const wanted = acknowledgedIds(kind);
    const { rows } = await admin.query<{ id: string }>(`SELECT id::text FROM ${table} WHERE id = ANY ($1)`, [
      wanted,
    ]);
    const there = new Set(rows.map(({ id }) => id));
    lost.push(...wanted.filter((id) => !there.has(id)).map((id) => `${kind} ${id}`));
  }
  for (const sql of [
    "SELECT 'decisions of lot ' || lot_id AS what, count(*)::int AS n FROM decision GROUP BY lot_id HAVING count(*) > 1",
    "SELECT 'approvals of decision ' || decision_id AS what, count(*)::int AS n FROM approval GROUP BY decision_id HAVING count(*) > 1",
    `SELECT 'row ' || import_row || ' of import ' || import_id AS what, count(*)::int AS n
     FROM meter_test WHERE import_id IS NOT NULL GROUP BY import_id, import_row HAVING count(*) > 1`,
    `SELECT 'test of meter ' || meter_id || ' at ' || performed_at AS what, count(*)::int AS n
     FROM meter_test WHERE import_id IS NOT NULL GROUP BY meter_id, performed_at HAVING count(*) > 1`,
  ]) {
    const { rows } = await admin.query<{ what: string; n: number }>(sql);
    doubled.push(...rows.map(({ what, n }) => `${what}: ${n}`));
  }

  // Imports: what each says that it put in is in.
  const imports = await admin.query<{ id: string; said: number; there: number }>(
    `SELECT i.id::text, i.rows_good::int AS said, (SELECT count(*)::int FROM meter_test t WHERE t.import_id = i.id) AS there
     FROM import i WHERE i.id = ANY ($1)`,
    [acknowledgedIds("import")],
  );
  const reported = new Set(imports.rows.map(({ id }) => id));
  lost.push(
    ...acknowledgedIds("import")
      .filter((id) => !reported.has(id))
      .map((id) => `import ${id}`),
  );
  for (const { id, said, there } of imports.rows) {
    if (there < said) lost.push(`import ${id} said ${said} rows, ${there} are in`);
    if (there > said) doubled.push(`import ${id} said ${said} rows, ${there} are in`);
  }

  for (const sql of [
    `SELECT 'test ' || t.id || ' without its entry' AS what FROM meter_test t
     LEFT JOIN ledger_entry e ON e.id = t.entry_id WHERE e.id IS NULL`,
    `SELECT 'entry ' || e.id || ' without its test' AS what FROM ledger_entry e
     WHERE e.action IN ('meterTest.record', 'meterTest.amend') AND NOT EXISTS (SELECT FROM meter_test t WHERE t.entry_id = e.id)`,
    `SELECT 'test ' || t.id || ' without its points' AS what FROM meter_test t
     WHERE (SELECT count(*) FROM meter_test_point p WHERE p.test_id = t.id AND p.pass = 'as-found') <> 3`,
    `SELECT 'lot ' || l.id || ' is ' || l.state || ' without a decision' AS what FROM lot l
     WHERE l.state IN ('decided', 'approved') AND NOT EXISTS (SELECT FROM decision d WHERE d.lot_id = l.id)`,
  ]) {
    const { rows } = await admin.query<{ what: string }>(`${sql} LIMIT 20`);
    unledgered.push(...rows.map(({ what }) => what));
  }

  const { rows: totals } = await admin.query<{ entries: number; imported: number }>(
    `SELECT (SELECT count(*)::int FROM ledger_entry) AS entries,
       (SELECT count(*)::int FROM meter_test WHERE import_id IS NOT NULL) AS imported`,
  );
  const byKind = { test: 0, amendment: 0, import: 0, decision: 0, approval: 0 };
  for (const { kind } of confirmed) byKind[kind] += 1;
  return {
    meant: intents.length,
    confirmed: confirmed.length,
    confirmedByKind: byKind,
    rowsImported: totals[0]?.imported ?? 0,
    entries: totals[0]?.entries ?? 0,
    lost,
    doubled,
    unledgered,
  };
}

/** What the project's own verifier said. */
export interface VerifierSaid {
  readonly isWell: boolean;
  readonly said: string;
}

/** Waits until every entry stands in the log, then lets the project's own verifier go over the whole database. */
export async function verifyLog({ admin, environment }: FaultyService): Promise<VerifierSaid> {
  const end = Date.now() + 120_000;
  for (;;) {
    const { rows } = await admin.query<{ waiting: number }>(
      "SELECT count(*)::int AS waiting FROM log_pending",
    );
    const waiting = rows[0]?.waiting ?? 0;
    if (waiting === 0) break;
    if (Date.now() > end) return { isWell: false, said: `${waiting} entries still wait for the log` };
    await sleep(100);
  }
  const verify = fileURLToPath(new URL("../../apps/api/src/verify.ts", import.meta.url));
  return await new Promise((resolve) => {
    const options = { env: { ...process.env, ...environment } };
    execFile(process.execPath, ["--import", "tsx", verify], options, (error, stdout, stderr) =>
      resolve({ isWell: error === null, said: `${stdout}${stderr}`.trim() }),
    );
  });
}
