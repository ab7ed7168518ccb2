-- Points and files of a test, and chunks of a file, carry no entry of their own: they are part of the record that they
-- belong to and stand in its entry. So they come in that record's transaction and never afterwards; otherwise a point
-- could be slipped into a test on record, and no entry would tell.

CREATE FUNCTION require_record_of_own_transaction() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
DECLARE
  is_late boolean;
BEGIN
  EXECUTE format(
    'SELECT EXISTS (SELECT FROM added a JOIN %I r ON r.id = a.%I JOIN ledger_entry e ON e.id = r.entry_id
       WHERE e.xact <> pg_current_xact_id()::text::bigint)',
    TG_ARGV[0], TG_ARGV[1]
  ) INTO is_late;
  IF is_late THEN
    RAISE EXCEPTION 'rows of % come in the transaction of the % they belong to', TG_TABLE_NAME, TG_ARGV[0]
      USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NULL;
END
$$;

CREATE TRIGGER with_record AFTER INSERT ON meter_test_point REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION require_record_of_own_transaction('meter_test', 'test_id');
ALTER TABLE meter_test_point ENABLE ALWAYS TRIGGER with_record;

CREATE TRIGGER with_record AFTER INSERT ON meter_test_file REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION require_record_of_own_transaction('meter_test', 'test_id');
ALTER TABLE meter_test_file ENABLE ALWAYS TRIGGER with_record;

CREATE TRIGGER with_record AFTER INSERT ON file_chunk REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION require_record_of_own_transaction('file', 'file_id');
ALTER TABLE file_chunk ENABLE ALWAYS TRIGGER with_record;
