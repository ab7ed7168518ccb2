-- What comes by the million is held to its entries once a statement, not once a row. The rule is the same: a row names a
-- ledger entry of its own transaction, and a change names another than it had.

CREATE FUNCTION require_entries() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  IF EXISTS (
    SELECT FROM (SELECT DISTINCT entry_id FROM added) a
    WHERE NOT EXISTS (
      SELECT FROM public.ledger_entry e WHERE e.id = a.entry_id AND e.xact = pg_current_xact_id()::text::bigint)
  ) THEN
    RAISE EXCEPTION 'a row of % must name a ledger entry of its own transaction', TG_TABLE_NAME
      USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NULL;
END
$$;

CREATE FUNCTION require_new_entries() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  IF EXISTS (SELECT entry_id FROM added INTERSECT SELECT entry_id FROM before) THEN
    RAISE EXCEPTION 'a change of % needs a ledger entry of its own', TG_TABLE_NAME USING ERRCODE = 'restrict_violation';
  END IF;
  IF EXISTS (
    SELECT FROM (SELECT DISTINCT entry_id FROM added) a
    WHERE NOT EXISTS (
      SELECT FROM public.ledger_entry e WHERE e.id = a.entry_id AND e.xact = pg_current_xact_id()::text::bigint)
  ) THEN
    RAISE EXCEPTION 'a row of % must name a ledger entry of its own transaction', TG_TABLE_NAME
      USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NULL;
END
$$;

DO $$
DECLARE
  target text;
BEGIN
  FOREACH target IN ARRAY ARRAY['meter', 'meter_event', 'place', 'service_point'] LOOP
    EXECUTE format('DROP TRIGGER entered ON %I', target);
    EXECUTE format('CREATE TRIGGER entered AFTER INSERT ON %I REFERENCING NEW TABLE AS added
      FOR EACH STATEMENT EXECUTE FUNCTION require_entries()', target);
    EXECUTE format('CREATE TRIGGER entered_anew AFTER UPDATE ON %I REFERENCING OLD TABLE AS before NEW TABLE AS added
      FOR EACH STATEMENT EXECUTE FUNCTION require_new_entries()', target);
    EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER entered', target);
    EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER entered_anew', target);
  END LOOP;
END
$$;

-- That is more than a foreign key to the entry asks for, and entries are never removed; so of meters and events the key
-- goes, which looked each row's entry up once more.
ALTER TABLE meter DROP CONSTRAINT meter_entry_id_fkey;
ALTER TABLE meter_event DROP CONSTRAINT meter_event_entry_id_fkey;
