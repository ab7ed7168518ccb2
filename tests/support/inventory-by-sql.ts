import type pg from "pg";

/** A made-up inventory of any size, put in by the owner of the tables in a few statements. */
export interface SqlInventory {
  readonly meters: number;
  /** Tests, spread over the meters in turn. */
  readonly tests: number;
}

/**
 * Fills a shop that has rules, people, a plan, a standard and a place with meters, service points and tests, by SQL alone:
 * the triggers do what they do for everybody. Three types in four of one form; a twentieth of the tests fails; every fifth
 * meter stands in a store, the others at service points of 40 streets in 20 areas.
 */
export async function fillInventory(admin: pg.Pool, { meters, tests }: SqlInventory): Promise<void> {
  const client = await admin.connect();
  try {
    await client.query("BEGIN");
    await client.query(
      `INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload)
       VALUES (${v7("0")}, 'import.finish', 'import', 'filling', '{}')`,
    );
    const entry = `(SELECT id FROM ledger_entry WHERE subject_id = 'filling')`;
    await client.query(
      `INSERT INTO meter_type (id, maker, model, form, phases, wires, elements, class_amperes, test_amperes, volts_min, volts_max,
         design_volts, kh, accuracy_class, technology, register_dials, register_multiplier, test_plan_code, entry_id)
       SELECT ${v7("n")}, 'Maker ' || n % 4, 'Model ' || n, CASE WHEN n % 4 = 0 THEN '9S' ELSE '2S' END,
         CASE WHEN n % 4 = 0 THEN 3 ELSE 1 END, 3, '1', 200, 30, 240, 240, 240, 7.2, '0.5',
         CASE WHEN n % 2 = 0 THEN 'solid-state' ELSE 'electromechanical' END, 5, 1, (SELECT code FROM test_plan LIMIT 1), ${entry}
       FROM generate_series(1, 12) n`,
    );
    await client.query(
      `CREATE TEMPORARY TABLE filled ON COMMIT DROP AS
       SELECT n, ${v7("n")} AS meter_id, ${v7("n")} AS place_id, ${v7("n")} AS address_id, n % 5 = 0 AS is_stored
       FROM generate_series(1, ${meters}) n`,
    );
    await client.query(
      `INSERT INTO personal_value (id, kind, salt, value, commitment)
       SELECT address_id, 'address', '\\x00', (1 + n / 40) || ' ' || (ARRAY['Larch','Heron','Quarry','Tannery','Bellfoundry'])[1 + n % 5]
         || (ARRAY[' Lane',' Street',' Row',' Hill',' Yard',' Close',' Walk',' Rise'])[1 + n % 8], repeat('0', 64)
       FROM filled WHERE NOT is_stored`,
    );
    await client.query(
      `INSERT INTO place (id, kind, name, entry_id)
       SELECT place_id, 'service-point', 'SP' || lpad(n::text, 8, '0'), ${entry} FROM filled WHERE NOT is_stored`,
    );
    await client.query(
      `INSERT INTO service_point (id, number, address_id, area, jurisdiction, entry_id)
       SELECT place_id, 'SP' || lpad(n::text, 8, '0'), address_id, 'Area ' || n % 20, (SELECT home_jurisdiction FROM shop), ${entry}
       FROM filled WHERE NOT is_stored`,
    );
    await client.query(
      `INSERT INTO meter (id, utility_number, serial, owner, type_id, maker, purchased_on, state, place_id, entry_id)
       SELECT f.meter_id, lpad((f.n * 7)::text, 9, '0'), 'Q' || lpad((f.n * 31 % 99999989)::text, 8, '0'), 'utility', y.id, y.maker,
         date '2005-01-01' + f.n % 5000,
         CASE WHEN f.is_stored THEN CASE WHEN f.n % 50 = 0 THEN 'in-shop' ELSE 'in-stock' END ELSE 'in-service' END,
         CASE WHEN f.is_stored THEN (SELECT id FROM place WHERE kind = 'shop' LIMIT 1) ELSE f.place_id END, ${entry}
       FROM filled f JOIN LATERAL (SELECT id, maker FROM meter_type WHERE model = 'Model ' || (1 + f.n % 12)) y ON true`,
    );
    await client.query(
      `INSERT INTO meter_event (id, meter_id, kind, performed_at, place_id, reason, entry_id)
       SELECT ${v7("n")}, meter_id, 'set', timestamptz '2012-01-02 12:00Z' + (n % 4000) * interval '1 day', place_id, '', ${entry}
       FROM filled WHERE NOT is_stored`,
    );
    await client.query(
      `INSERT INTO meter_test (id, meter_id, plan_id, profile_id, place_id, reasons, performed_at, tester_id, method, standard_id,
         calibration_id, error_applied_by_bench, outcome, entry_body, evaluation, engine_version, verdict_as_found, average_as_found, entry_id)
       SELECT ${v7("t")}, f.meter_id, (SELECT id FROM test_plan LIMIT 1), (SELECT id FROM rule_profile WHERE key = (SELECT home_jurisdiction FROM shop) LIMIT 1),
         (SELECT id FROM place WHERE kind = 'shop' LIMIT 1), ARRAY['periodic'],
         timestamptz '2014-01-06 15:00Z' + (t * 7919 % 4300) * interval '1 day' + t * interval '1 ms',
         (SELECT id FROM account LIMIT 1), 'entered', c.standard_id, c.id, false, 'tested', '{}', '{}', '1',
         CASE WHEN t % 20 = 0 THEN 'fail' ELSE 'pass' END, 99.75, ${entry}
       FROM generate_series(1, ${tests}) t JOIN filled f ON f.n = 1 + t % ${meters}
       CROSS JOIN (SELECT id, standard_id FROM calibration LIMIT 1) c`,
    );
    await client.query("COMMIT");
  } catch (error) {
    await client.query("ROLLBACK");
    throw error;
  } finally {
    client.release();
  }
  await admin.query("VACUUM ANALYZE");
}

/** A UUID of version 7 in SQL; the argument makes the expression one of each row's own. */
function v7(row: string): string {
  return `(encode(set_byte(set_byte(overlay(uuid_send(gen_random_uuid())
    PLACING substring(int8send((extract(epoch FROM clock_timestamp()) * 1000)::bigint + 0 * (${row})::bigint) FROM 3) FROM 1 FOR 6),
    6, 112 + (random() * 15)::int), 8, 128 + (random() * 63)::int), 'hex')::uuid)`;
}
