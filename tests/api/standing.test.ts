import { keepDueDates } from "@sealbook/api/modules/due/keep-due-dates";
import { adoptProfile } from "@sealbook/api/modules/profiles/profiles";
import { createServicePoint } from "@sealbook/api/modules/service-points/service-points";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import { northCarolina } from "@sealbook/metrology/profiles/places/north-carolina";
import fc from "fast-check";
import type pg from "pg";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { type MeterBench, meterBench } from "../support/meter-bench.ts";

const months = 13;
let shop: TestApp;
let bench: MeterBench;
let typeId: string;
let pointId: string;
let planId: string;

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  const plan = await bench.aPlan();
  planId = plan.id;
  typeId = await bench.aType(plan);
  await inTransaction(shop.admin, null, (tx) =>
    adoptProfile(tx, {
      ...northCarolina,
      version: String(Number(northCarolina.version) + 1),
      intervals: [
        {
          appliesTo: "disk meters",
          selector: { technology: "electromechanical" },
          months: 7,
          source: "invented",
        },
        {
          appliesTo: "polyphase",
          selector: { phases: "polyphase", connection: "transformer" },
          months,
          source: "invented",
        },
      ],
    }),
  );
  pointId = newId();
  await inTransaction(shop.admin, null, (tx) =>
    createServicePoint(tx, {
      id: pointId,
      number: "SP-1",
      address: "3 Larch Lane",
      area: "North",
      jurisdiction: northCarolina.key,
    }),
  );
  await keepDueDates({ pool: shop.admin });
});
afterAll(() => shop.close());

interface Test {
  id: string;
  performed_at: Date;
  outcome: string;
  verdict_as_found: string;
  supersedes_id: string | null;
}

/** The definition, slow and obvious: what stands of a meter's records, by going through all of them. */
async function standingByDefinition(meterId: string) {
  const { rows: tests } = await shop.admin.query<Test>("SELECT * FROM meter_test WHERE meter_id = $1", [
    meterId,
  ]);
  const { rows: events } = await shop.admin.query<{
    id: string;
    kind: string;
    performed_at: Date;
    takes_back_id: string | null;
  }>("SELECT * FROM meter_event WHERE meter_id = $1", [meterId]);
  const { rows: meters } = await shop.admin.query<{ state: string }>(
    "SELECT state FROM meter WHERE id = $1",
    [meterId],
  );
  const later = (a: Test, b: Test) =>
    a.performed_at.getTime() - b.performed_at.getTime() || (a.id < b.id ? -1 : 1);
  const standing = tests.filter(
    (test) => test.outcome !== "withdrawn" && !tests.some(({ supersedes_id }) => supersedes_id === test.id),
  );
  const last = standing.toSorted(later).at(-1);
  const measured = standing
    .filter(({ outcome }) => outcome === "tested")
    .toSorted(later)
    .at(-1);
  const set = events
    .filter(({ id, kind }) => kind === "set" && !events.some(({ takes_back_id }) => takes_back_id === id))
    .map(({ performed_at }) => performed_at.getTime())
    .toSorted((a, b) => a - b)
    .at(-1);
  const from = measured?.performed_at ?? (set === undefined ? undefined : new Date(set));
  return {
    last_test_id: last?.id ?? null,
    last_verdict: last?.verdict_as_found ?? null,
    measured_at: measured?.performed_at.getTime() ?? null,
    set_at: set ?? null,
    due_on:
      meters[0]?.state === "in-service" && from !== undefined ? monthsAfter(newYorkDate(from), months) : null,
  };
}

function newYorkDate(instant: Date): string {
  return new Intl.DateTimeFormat("sv-SE", { timeZone: "America/New_York" }).format(instant);
}

/** The same day some months on, or the last of that month. */
function monthsAfter(date: string, count: number): string {
  const [year = 0, month = 1, day = 1] = date.split("-").map(Number);
  const lastDay = new Date(Date.UTC(year, month + count, 0)).getUTCDate();
  return new Date(Date.UTC(year, month - 1 + count, Math.min(day, lastDay))).toISOString().slice(0, 10);
}

async function standingOnRecord(meterId: string) {
  const { rows } = await shop.admin.query<{
    last_test_id: string | null;
    last_verdict: string | null;
    measured_at: Date | null;
    set_at: Date | null;
    due_on: string | null;
  }>("SELECT *, due_on::text FROM meter_standing WHERE meter_id = $1", [meterId]);
  const row = rows[0];
  return {
    last_test_id: row?.last_test_id,
    last_verdict: row?.last_verdict,
    measured_at: row?.measured_at?.getTime() ?? null,
    set_at: row?.set_at?.getTime() ?? null,
    due_on: row?.due_on,
  };
}

/** Something recorded of the meter, on a day of its own and in any order. */
const happenings = fc.array(
  fc.record({
    what: fc.constantFrom(
      "test",
      "no-test",
      "amend",
      "withdraw",
      "set",
      "take-back",
      "in-service",
      "in-shop",
    ),
    day: fc.integer({ min: 0, max: 4_000 }),
    pick: fc.nat(20),
  }),
  { minLength: 1, maxLength: 12 },
);

async function happen(
  client: pg.PoolClient,
  meterId: string,
  one: { what: string; day: number; pick: number },
) {
  const entryId = newId();
  await client.query(
    "INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload) VALUES ($1, 'meter.move', 'meter', $2, '{}')",
    [entryId, meterId],
  );
  // Half an hour before midnight in UTC: another day than in the shop.
  const at = new Date(Date.UTC(2012, 0, 1, 23, 30) + one.day * 86_400_000);
  const insertTest = async (outcome: string, verdict: string, supersedesId: string | null) =>
    await client.query(
      `INSERT INTO meter_test (id, meter_id, plan_id, profile_id, place_id, reasons, performed_at, tester_id, method, standard_id,
         calibration_id, error_applied_by_bench, outcome, untestable_reason, entry_body, evaluation, engine_version, verdict_as_found,
         supersedes_id, amendment_reason, entry_id)
       SELECT $1, $2, $3, (SELECT id FROM rule_profile LIMIT 1), $4, ARRAY['periodic'], $5, $6, 'entered',
         CASE WHEN $7::text = 'tested' THEN $8::uuid END, CASE WHEN $7 = 'tested' THEN $9::uuid END, CASE WHEN $7 = 'tested' THEN false END,
         $7, CASE WHEN $7 = 'no-test-possible' THEN 'dead' END, '{}', '{}', '1', $10, $11::uuid,
         CASE WHEN $11::uuid IS NOT NULL THEN 'a reason' END, $12`,
      [
        newId(),
        meterId,
        planId,
        bench.placeId,
        at,
        bench.technician.id,
        outcome,
        bench.standardId,
        bench.calibrationId,
        verdict,
        supersedesId,
        entryId,
      ],
    );
  const { rows: open } = await client.query<{ id: string }>(
    `SELECT t.id FROM meter_test t WHERE t.meter_id = $1 AND t.outcome <> 'withdrawn'
       AND NOT EXISTS (SELECT FROM meter_test n WHERE n.supersedes_id = t.id) ORDER BY t.id`,
    [meterId],
  );
  const target = open[one.pick % Math.max(open.length, 1)]?.id;
  const { rows: events } = await client.query<{ id: string }>(
    `SELECT id FROM standing_meter_event WHERE meter_id = $1 AND kind = 'set' ORDER BY id`,
    [meterId],
  );
  const event = events[one.pick % Math.max(events.length, 1)]?.id;
  if (one.what === "test") await insertTest("tested", one.pick % 3 === 0 ? "fail" : "pass", null);
  if (one.what === "no-test") await insertTest("no-test-possible", "no-test-possible", null);
  if (one.what === "amend" && target !== undefined) await insertTest("tested", "pass", target);
  if (one.what === "withdraw" && target !== undefined) await insertTest("withdrawn", "withdrawn", target);
  if (one.what === "set")
    await client.query(
      "INSERT INTO meter_event (id, meter_id, kind, performed_at, place_id, reason, entry_id) VALUES ($1, $2, 'set', $3, $4, '', $5)",
      [newId(), meterId, at, pointId, entryId],
    );
  if (one.what === "take-back" && event !== undefined)
    await client.query(
      "INSERT INTO meter_event (id, meter_id, kind, performed_at, reason, takes_back_id, entry_id) VALUES ($1, $2, 'take-back', $3, 'by mistake', $4, $5)",
      [newId(), meterId, at, event, entryId],
    );
  if (one.what === "in-service" || one.what === "in-shop")
    await client.query(
      "UPDATE meter SET state = $2, place_id = $3, entry_id = $4, version = version + 1 WHERE id = $1",
      [meterId, one.what, one.what === "in-service" ? pointId : bench.placeId, entryId],
    );
}

describe("where a meter stands", () => {
  it("is what its records say, whatever is recorded in whatever order", async () => {
    const seen = new Set<string>();
    await fc.assert(
      fc.asyncProperty(happenings, async (story) => {
        const meter = await bench.aMeter(typeId);
        const client = await shop.admin.connect();
        try {
          for (const one of story) {
            await client.query("BEGIN");
            await happen(client, meter.id, one);
            await client.query("COMMIT");
            const expected = await standingByDefinition(meter.id);
            for (const [name, value] of Object.entries(expected)) if (value !== null) seen.add(name);
            expect(await standingOnRecord(meter.id)).toEqual(expected);
          }
        } catch (error) {
          await client.query("ROLLBACK");
          throw error;
        } finally {
          client.release();
        }
      }),
      { numRuns: 40 },
    );
    // Every figure was put to the test.
    expect([...seen].sort()).toEqual(["due_on", "last_test_id", "last_verdict", "measured_at", "set_at"]);
  }, 300_000);

  it("follows the later of two tests that two people record at once", async () => {
    const meter = await bench.aMeter(typeId);
    const [first, second] = [await shop.admin.connect(), await shop.admin.connect()];
    try {
      await first.query("BEGIN");
      await second.query("BEGIN");
      await happen(first, meter.id, { what: "test", day: 900, pick: 1 });
      const waiting = happen(second, meter.id, { what: "test", day: 100, pick: 3 });
      await first.query("COMMIT");
      await waiting;
      await second.query("COMMIT");
    } finally {
      first.release();
      second.release();
    }
    const standing = await standingOnRecord(meter.id);
    expect(standing).toEqual(await standingByDefinition(meter.id));
    expect(standing.last_verdict).toBe("pass");
  });

  it("cannot be written by the server itself", async () => {
    const { rows } = await shop.admin.query(
      `SELECT has_table_privilege('sealbook_app', 'meter_standing', 'INSERT') OR has_table_privilege('sealbook_app', 'meter_standing', 'UPDATE')
         OR has_table_privilege('sealbook_app', 'meter_standing', 'DELETE') AS may`,
    );
    expect(rows[0]).toEqual({ may: false });
  });

  it("follows a change of the shop's zone and of the rules once due dates are kept", async () => {
    const meter = await bench.aMeter(typeId);
    const client = await shop.admin.connect();
    for (const what of ["set", "in-service"]) {
      await client.query("BEGIN");
      await happen(client, meter.id, { what, day: 1, pick: 0 });
      await client.query("COMMIT");
    }
    client.release();
    // Set on 2012-01-02 at 23:30 UTC: still 2 January in New York, already the 3rd in Berlin.
    expect((await standingOnRecord(meter.id)).due_on).toBe("2013-02-02");
    const change = async (timeZone: string) => {
      const setter = await shop.admin.connect();
      const entryId = newId();
      await setter.query("BEGIN");
      await setter.query(
        "INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload) VALUES ($1, 'shop.change', 'shop', 'shop', '{}')",
        [entryId],
      );
      await setter.query("UPDATE shop SET time_zone = $1, entry_id = $2", [timeZone, entryId]);
      await setter.query("COMMIT");
      setter.release();
      await keepDueDates({ pool: shop.admin });
    };
    await change("Europe/Berlin");
    expect((await standingOnRecord(meter.id)).due_on).toBe("2013-02-03");
    await change("America/New_York");
    expect((await standingOnRecord(meter.id)).due_on).toBe("2013-02-02");
    expect(await keepDueDates({ pool: shop.admin })).toBe(0);
  });
});
