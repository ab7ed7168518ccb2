import { newId } from "@sealbook/api/platform/transaction";
import pg from "pg";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp } from "../support/app.ts";
import { decision, type SamplingBench, samplingBench, shipmentScheme } from "../support/sampling-bench.ts";

/**
 * A tester's test is put among the tests of a decision while that tester approves it, by two connections as the server's
 * own role, 300 times. Whatever comes first, nobody ends up as the approver of a decision that they had a hand in.
 *
 * Two things stand in the way, and each is taken away in turn, by the role that owns the tables:
 *   the tie   a decision's tests stand in the decision's own entry, so none can be added afterwards
 *   the lock  approving and adding both lock the decision's row first
 */
const races = 300;

let shop: TestApp;
let bench: SamplingBench;
let tester: SignedIn;
let app: pg.Pool;
let testId: string;
let meterId: string;
let decidedLot: string;

beforeAll(async () => {
  shop = await testApp();
  bench = await samplingBench(shop);
  app = new pg.Pool({ connectionString: shop.database.appUrl, max: 2 });
  tester = await shop.signIn("supervisor");
  const { lot } = await bench.aShipment(await bench.aScheme(shipmentScheme), 4);
  const units = await bench.drawn(lot.id);
  for (const unit of units) await bench.test(unit, "100", "new-shipment");
  await decision(bench.engineer, lot.id).expect(201);
  decidedLot = lot.id;
  // A test by the tester, of a meter of the sample, that is no part of the decision.
  const [unit] = units;
  if (unit === undefined) throw new Error("the draw has units");
  meterId = unit.meterId;
  testId = newId();
  await tester.agent
    .post("/api/meter-tests")
    .send({ ...bench.meters.aTest(meterId, bench.planId), id: testId })
    .expect(201);
});
afterAll(async () => {
  await app.end();
  await bench.close();
  await shop.close();
});

/** Copies of the decided lot with its decision, without tests and not approved; each in an entry of its own. */
async function decisions(count: number): Promise<string[]> {
  const { rows } = await shop.admin.query<{ id: string }>(
    `WITH made AS (
       SELECT gen_random_uuid() AS lot, gen_random_uuid() AS decision FROM generate_series(1, ${count})
     ), entry AS (
       INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload, actor_id)
       SELECT $2::uuid, 'lot.decide', 'lot', $1, '{}', NULL RETURNING id
     ), lots AS (
       INSERT INTO lot (id, kind, number, title, scheme_id, scheme_code, series, year, type_id, size, state, actor_id, entry_id)
       SELECT m.lot, l.kind, m.lot::text, l.title, l.scheme_id, l.scheme_code, l.series, l.year, l.type_id, l.size, 'decided',
         l.actor_id, e.id
       FROM made m, entry e, lot l WHERE l.id = $1::uuid RETURNING id
     )
     INSERT INTO decision (id, lot_id, outcome, by_person, reason, steady, reduced_approved, evaluation, engine_version, actor_id, entry_id)
     SELECT m.decision, m.lot, d.outcome, d.by_person, d.reason, d.steady, d.reduced_approved, d.evaluation, d.engine_version,
       d.actor_id, e.id
     FROM made m JOIN lots ON lots.id = m.lot, entry e, decision d WHERE d.lot_id = $1::uuid
     RETURNING id`,
    [decidedLot, newId()],
  );
  return rows.map(({ id }) => id);
}

/** One connection's half of a race: its own transaction as somebody, begun before the start and committed at once. */
async function half(
  actorId: string,
  action: string,
  write: (client: pg.PoolClient, entryId: string) => Promise<unknown>,
) {
  const client = await app.connect();
  await client.query(`BEGIN; SELECT set_config('sealbook.actor', '${actorId}', true)`);
  const entryId = newId();
  await client.query(
    "INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload) VALUES ($1, $2, 'lot', $3, '{}')",
    [entryId, action, decidedLot],
  );
  return async (): Promise<"done" | string> => {
    try {
      await write(client, entryId);
      await client.query("COMMIT");
      return "done";
    } catch (error) {
      await client.query("ROLLBACK");
      const { constraint, message } = error as { constraint?: string; message: string };
      return constraint ?? message;
    } finally {
      client.release();
    }
  };
}

async function race(decisionId: string): Promise<{ attached: string; approved: string }> {
  const attach = await half(bench.engineer.id, "lot.decide", (client, entryId) =>
    client.query(
      "INSERT INTO decision_test (decision_id, test_id, meter_id, place, counted, entry_id) VALUES ($1, $2, $3, 1, true, $4)",
      [decisionId, testId, meterId, entryId],
    ),
  );
  const approve = await half(tester.id, "lot.approve", (client, entryId) =>
    client.query(
      "INSERT INTO approval (id, decision_id, record_hash, entry_id) VALUES ($1, $2, repeat('0', 64), $3)",
      [newId(), decisionId, entryId],
    ),
  );
  const [attached, approved] = await Promise.all([attach(), approve()]);
  return { attached, approved };
}

async function run() {
  const ids = await decisions(races);
  expect(ids).toHaveLength(races);
  const outcomes: { attached: string; approved: string }[] = [];
  for (const id of ids) outcomes.push(await race(id));
  const { rows } = await shop.admin.query<{ violations: number }>(
    `SELECT count(*)::int AS violations FROM approval a
     WHERE a.decision_id = ANY($1) AND EXISTS (
       SELECT FROM decision_test d JOIN meter_test t ON t.id = d.test_id
       WHERE d.decision_id = a.decision_id AND t.tester_id = a.account_id)`,
    [ids],
  );
  const count = (of: "attached" | "approved", outcome: string) =>
    outcomes.filter((one) => one[of] === outcome).length;
  return { violations: rows[0]?.violations, count };
}

describe("300 races between adding a tester's test and that tester's approval", () => {
  it("as shipped end in no violation: nothing is added to a decision that stands", async () => {
    const { violations, count } = await run();
    expect(violations).toBe(0);
    expect(count("attached", "done")).toBe(0);
    expect(count("approved", "done")).toBe(races);
  });

  it("without the tie end in no violation: the lock lets one of the two come first, and the other is refused", async () => {
    await shop.admin.query(
      "ALTER TABLE decision_test DROP CONSTRAINT decision_test_decision_id_entry_id_fkey",
    );
    const { violations, count } = await run();
    expect(violations).toBe(0);
    expect(count("attached", "done") + count("approved", "done")).toBe(races);
    expect(count("approved", "approval_independent")).toBe(count("attached", "done"));
    expect(count("attached", "decision_test_before_approval")).toBe(count("approved", "done"));
  });

  it("without tie and lock do end in violations, so the races are real", async () => {
    for (const name of ["refuse_involved_approver", "refuse_test_after_approval"]) {
      const { rows } = await shop.admin.query<{ body: string }>(
        "SELECT pg_get_functiondef($1::regproc) AS body",
        [name],
      );
      const unlocked = rows[0]?.body.replace(/PERFORM FROM decision [^;]*FOR NO KEY UPDATE;/, "");
      expect(unlocked).not.toBe(rows[0]?.body);
      await shop.admin.query(unlocked ?? "");
    }
    const { violations } = await run();
    expect(violations).toBeGreaterThan(0);
  });
});
