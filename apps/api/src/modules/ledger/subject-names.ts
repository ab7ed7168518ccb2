import type { Source } from "../../platform/transaction.ts";

/**
 * Names of the records that ledger entries are about, by id: a meter's number, a type's model, a person. A kind of
 * record that people know by no name has none here; a person who was forgotten has none either.
 */
export async function findSubjectNames(
  source: Source,
  ids: readonly string[],
): Promise<ReadonlyMap<string, string>> {
  const uuids = ids.filter((id) => /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/.test(id));
  if (uuids.length === 0) return new Map();
  const rows = await source.query<{ id: string; name: string }>(
    `SELECT id, utility_number AS name FROM meter WHERE id = ANY($1)
     UNION ALL SELECT t.id, m.utility_number FROM meter_test t JOIN meter m ON m.id = t.meter_id WHERE t.id = ANY($1)
     UNION ALL SELECT w.id, m.utility_number FROM work_item w JOIN meter m ON m.id = w.meter_id WHERE w.id = ANY($1)
     UNION ALL SELECT id, maker || ' ' || model FROM meter_type WHERE id = ANY($1)
     UNION ALL SELECT a.id, v.value FROM account a JOIN personal_value v ON v.id = a.name_id
       WHERE a.id = ANY($1) AND v.value IS NOT NULL
     UNION ALL SELECT id, designation FROM standard WHERE id = ANY($1)
     UNION ALL SELECT id, number FROM lot WHERE id = ANY($1)
     UNION ALL SELECT id, code || ', revision ' || revision FROM test_plan WHERE id = ANY($1)
     UNION ALL SELECT id, code || ', revision ' || revision FROM sampling_scheme WHERE id = ANY($1)
     UNION ALL SELECT id, name FROM programme WHERE id = ANY($1)
     UNION ALL SELECT id, number FROM service_point WHERE id = ANY($1)
     UNION ALL SELECT id, title FROM rule_profile WHERE id = ANY($1)
     UNION ALL SELECT i.id, f.name FROM import i JOIN file f ON f.id = i.file_id WHERE i.id = ANY($1)
     UNION ALL SELECT id, name FROM file WHERE id = ANY($1)
     UNION ALL SELECT id, name FROM api_token WHERE id = ANY($1)
     UNION ALL SELECT c.id, s.designation || ' of ' || c.calibrated_on
       FROM calibration c JOIN standard s ON s.id = c.standard_id WHERE c.id = ANY($1)`,
    [uuids],
  );
  return new Map(rows.map(({ id, name }) => [id, name]));
}
