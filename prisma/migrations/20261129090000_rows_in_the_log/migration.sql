-- Rows in the log. Until now a leaf of the log held an entry's text alone, and a row was tied to its entry by the entry's
-- id and by what the payload repeats of it. From here on every row that is written under an entry is hashed in the same
-- statement, and the entry's leaf holds the root over these hashes (format 2). So a row that is bent afterwards, by
-- whomever, no longer fits the log.
--
--   bound_table   which tables are bound, and how.
--   ledger_rows   one line a statement and entry (of at most 10,000 rows): the rows' keys and hashes, packed, by key.
--                 Triggers alone write it, as the owner. Per row it takes 48 bytes.
--
-- The text of a row is the table's row as PostgreSQL's JSON has it, to_jsonb(row)::text under time zone UTC, without the
-- members that are null: so a column that is added later and left null changes no hash. Its hash is the RFC 6962 leaf
-- hash of that text in UTF-8. Rows of a part table (points of a test) carry no entry; those of one record are one row
-- here, under the record's key and entry: their texts in byte order, joined by line feeds.
-- The key of a row is its UUID; of any other primary key the first 16 bytes of SHA-256 of its columns as a JSON array.

CREATE TABLE bound_table (
  table_name text PRIMARY KEY,
  -- Columns that move without an entry, such as a job's progress; they are no part of the row's text.
  unledgered text[] NOT NULL DEFAULT '{}',
  -- Of a part table: the table of its records, and the column that names one.
  record_table text,
  record_column text,
  -- Columns that the table had when its triggers were made.
  columns text[],
  CHECK ((record_table IS NULL) = (record_column IS NULL))
);
GRANT SELECT ON bound_table TO sealbook_app;

CREATE TABLE ledger_rows (
  -- No foreign key: the triggers on the rows themselves have looked the entry up already.
  entry_id uuid NOT NULL,
  -- Drawn while the rows are locked, so of two lines with the same row the later one has the higher place.
  place bigint GENERATED ALWAYS AS IDENTITY,
  table_name text NOT NULL,
  row_count integer NOT NULL CHECK (row_count BETWEEN 1 AND 10000),
  keys bytea NOT NULL CHECK (octet_length(keys) = 16 * row_count),
  hashes bytea NOT NULL CHECK (octet_length(hashes) = 32 * row_count),
  PRIMARY KEY (entry_id, place)
);
-- Hashes do not compress.
ALTER TABLE ledger_rows ALTER keys SET STORAGE EXTERNAL, ALTER hashes SET STORAGE EXTERNAL;
CREATE TRIGGER no_change BEFORE UPDATE OR DELETE ON ledger_rows FOR EACH ROW EXECUTE FUNCTION forbid_change();
CREATE TRIGGER no_truncate BEFORE TRUNCATE ON ledger_rows FOR EACH STATEMENT EXECUTE FUNCTION forbid_change();
ALTER TABLE ledger_rows ENABLE ALWAYS TRIGGER no_change;
-- Invariant: a line comes in its entry's own transaction; the leaf that is made of them afterwards is final.
CREATE FUNCTION require_lines_of_own_transaction() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  IF EXISTS (
    SELECT FROM added a LEFT JOIN ledger_entry e ON e.id = a.entry_id
    WHERE e.xact IS DISTINCT FROM pg_current_xact_id()::text::bigint
  ) THEN
    RAISE EXCEPTION 'rows are hashed under a ledger entry of their own transaction: a migration that changes them without one '
      'disables bound_update, and calls bind_rows_anew afterwards' USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NULL;
END
$$;
CREATE TRIGGER of_own_transaction AFTER INSERT ON ledger_rows REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION require_lines_of_own_transaction();
ALTER TABLE ledger_rows ENABLE ALWAYS TRIGGER of_own_transaction;
ALTER TABLE ledger_rows ENABLE ALWAYS TRIGGER no_truncate;
GRANT SELECT ON ledger_rows TO sealbook_app;

-- The statement that writes lines for rows of a table.
--
-- source  where the rows stand, as an item of FROM; a part table's rows are joined with their records from there
-- entry   expression of the entry's id over "a", the row, or over "r", a part's record
CREATE FUNCTION statement_for_lines(target text, source text, entry text) RETURNS text
  LANGUAGE plpgsql STABLE
  AS $$
DECLARE
  bound bound_table;
  key text;
  hashed text;
  personal text;
  statements text;
  packed CONSTANT text :=
    'INSERT INTO public.ledger_rows (entry_id, table_name, row_count, keys, hashes)
     SELECT entry_id, %L, count(*), string_agg(key, '''' ORDER BY key), string_agg(hash, '''' ORDER BY key)
     FROM (
       SELECT h.*, (row_number() OVER (PARTITION BY entry_id ORDER BY key) - 1) / 10000 AS part FROM (%s) h
     ) n GROUP BY entry_id, part ORDER BY entry_id, part';
BEGIN
  SELECT * INTO STRICT bound FROM bound_table WHERE table_name = target;
  IF bound.record_table IS NOT NULL THEN
    RETURN format(packed, target, format(
      'SELECT %s AS entry_id, uuid_send(r.id) AS key,
         sha256(''\x00''::bytea || convert_to(string_agg(t.text, E''\n'' ORDER BY t.text COLLATE "C"), ''UTF8'')) AS hash
       FROM %s a
       CROSS JOIN LATERAL (SELECT jsonb_strip_nulls(to_jsonb(a))::text AS text) t
       JOIN public.%I r ON r.id = a.%I GROUP BY r.id, %s',
      entry, source, bound.record_table, bound.record_column, entry));
  END IF;

  SELECT CASE
      WHEN count(*) = 1 AND min(format_type(a.atttypid, a.atttypmod)) = 'uuid' THEN format('uuid_send(a.%I)', min(a.attname::text))
      ELSE format('substr(sha256(convert_to(jsonb_build_array(%s)::text, ''UTF8'')), 1, 16)',
        string_agg(format('a.%I', a.attname), ', ' ORDER BY array_position(i.indkey::int2[], a.attnum)))
    END
  INTO key
  FROM pg_index i JOIN pg_attribute a ON a.attrelid = i.indrelid AND a.attnum = ANY (i.indkey)
  WHERE i.indrelid = format('public.%I', target)::regclass AND i.indisprimary;
  hashed := 'sha256(''\x00''::bytea || convert_to(jsonb_strip_nulls(%s)::text, ''UTF8''))';

  statements := format(packed, target, format(
    'SELECT %s AS entry_id, %s AS key, %s AS hash FROM %s a%s',
    entry, key,
    format(hashed, CASE WHEN bound.unledgered = '{}' THEN 'to_jsonb(a)' ELSE format('to_jsonb(a) - %L::text[]', bound.unledgered) END),
    source,
    -- Rows whose progress alone moved keep the line that they have.
    CASE WHEN bound.unledgered = '{}' OR source <> 'added' THEN '' ELSE
      ' JOIN public.ledger_entry own ON own.id = a.entry_id AND own.xact = pg_current_xact_id()::text::bigint' END));
  -- The personal values that a row names: which commitment it is, not what was erased or not.
  FOR personal IN
    SELECT a.attname FROM pg_constraint c JOIN pg_attribute a ON a.attrelid = c.conrelid AND a.attnum = c.conkey[1]
    WHERE c.contype = 'f' AND c.conrelid = format('public.%I', target)::regclass
      AND c.confrelid = 'public.personal_value'::regclass
    ORDER BY a.attname
  LOOP
    statements := statements || ';' || format(packed, 'personal_value', format(
      'SELECT DISTINCT %s AS entry_id, uuid_send(p.id) AS key, %s AS hash
       FROM %s a JOIN public.personal_value p ON p.id = a.%I',
      entry, format(hashed, 'jsonb_build_object(''id'', p.id, ''kind'', p.kind, ''commitment'', p.commitment)'), source, personal));
  END LOOP;
  RETURN statements;
END
$$;

CREATE FUNCTION columns_of(target text) RETURNS text[]
  LANGUAGE sql STABLE
  AS $$
SELECT array_agg(attname::text ORDER BY attname::text COLLATE "C") FROM pg_attribute
WHERE attrelid = format('public.%I', target)::regclass AND attnum > 0 AND NOT attisdropped
$$;

-- Gives a table the triggers that hash what is written into it.
CREATE FUNCTION make_bound(target text) RETURNS void
  LANGUAGE plpgsql
  AS $$
DECLARE
  bound bound_table;
  check_part text := '';
BEGIN
  SELECT * INTO STRICT bound FROM bound_table WHERE table_name = target;
  IF bound.record_table IS NOT NULL THEN
    -- What is hashed is all the parts of a record, so they come in one statement.
    check_part := format(
      'IF EXISTS (
         SELECT FROM (SELECT DISTINCT r.entry_id, uuid_send(r.id) AS key FROM added a JOIN public.%I r ON r.id = a.%I) n
         JOIN public.ledger_rows l ON l.entry_id = n.entry_id AND l.table_name = %L
         WHERE EXISTS (SELECT FROM generate_series(0, l.row_count - 1) at WHERE substr(l.keys, at * 16 + 1, 16) = n.key)
       ) THEN
         RAISE EXCEPTION ''rows of %s of one record come in one statement'' USING ERRCODE = ''restrict_violation'';
       END IF;',
      bound.record_table, bound.record_column, target, target);
  END IF;
  EXECUTE format(
    'CREATE OR REPLACE FUNCTION %I() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER
       SET search_path = pg_catalog, public SET timezone = ''UTC'' SET bytea_output = ''hex''
       SET intervalstyle = ''iso_8601'' SET extra_float_digits = 1
     AS $body$ BEGIN %s %s; RETURN NULL; END $body$',
    'bind_' || target, check_part,
    statement_for_lines(target, 'added', CASE WHEN bound.record_table IS NULL THEN 'a.entry_id' ELSE 'r.entry_id' END));
  -- Whoever may not call it cannot put it on a table of their own either.
  EXECUTE format('REVOKE ALL ON FUNCTION %I() FROM PUBLIC', 'bind_' || target);
  EXECUTE format('CREATE OR REPLACE TRIGGER bound_insert AFTER INSERT ON %I REFERENCING NEW TABLE AS added
    FOR EACH STATEMENT EXECUTE FUNCTION %I()', target, 'bind_' || target);
  EXECUTE format('CREATE OR REPLACE TRIGGER bound_update AFTER UPDATE ON %I REFERENCING NEW TABLE AS added
    FOR EACH STATEMENT EXECUTE FUNCTION %I()', target, 'bind_' || target);
  EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER bound_insert', target);
  EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER bound_update', target);
  UPDATE bound_table SET columns = columns_of(target) WHERE table_name = target;
END
$$;

-- Binds a table whose rows carry their entry. make_entered does it by itself.
CREATE FUNCTION bind_rows(target regclass, unledgered text[] DEFAULT '{}') RETURNS void
  LANGUAGE plpgsql
  AS $$
DECLARE
  name text := (SELECT relname FROM pg_class WHERE oid = target);
BEGIN
  INSERT INTO bound_table (table_name, unledgered) VALUES (name, bind_rows.unledgered)
  ON CONFLICT (table_name) DO UPDATE SET unledgered = excluded.unledgered;
  PERFORM make_bound(name);
END
$$;

-- Binds a table whose rows are parts of a record and stand in its entry.
CREATE FUNCTION bind_parts(target regclass, record regclass, record_column text) RETURNS void
  LANGUAGE plpgsql
  AS $$
DECLARE
  name text := (SELECT relname FROM pg_class WHERE oid = target);
BEGIN
  INSERT INTO bound_table (table_name, record_table, record_column)
  VALUES (name, (SELECT relname FROM pg_class WHERE oid = record), bind_parts.record_column);
  PERFORM make_bound(name);
END
$$;

-- A row of this table names the ledger entry that wrote it, and its hash stands in that entry's leaf.
CREATE OR REPLACE FUNCTION make_entered(target regclass) RETURNS void
  LANGUAGE plpgsql
  AS $$
BEGIN
  EXECUTE format('CREATE TRIGGER entered BEFORE INSERT OR UPDATE ON %s FOR EACH ROW EXECUTE FUNCTION require_entry()', target);
  EXECUTE format('ALTER TABLE %s ENABLE ALWAYS TRIGGER entered', target);
  PERFORM bind_rows(target);
END
$$;

-- Hashes the rows of tables as they are now, under an entry of its own that says why. For migrations that change rows, or
-- add a column that is not null; and for what was written before there were hashes. Tables without rows are passed over.
CREATE FUNCTION bind_rows_anew(targets text[], reason text) RETURNS void
  LANGUAGE plpgsql
  SET search_path = pg_catalog, public SET timezone = 'UTC' SET bytea_output = 'hex'
  SET intervalstyle = 'iso_8601' SET extra_float_digits = 1
  AS $$
DECLARE
  -- A UUID of version 7 (RFC 9562 section 5.7): the time in milliseconds, then chance.
  entry uuid := encode(set_bit(set_bit(overlay(uuid_send(gen_random_uuid()) PLACING
    substr(int8send(floor(extract(epoch FROM clock_timestamp()) * 1000)::bigint), 3) FROM 1 FOR 6), 52, 1), 53, 1), 'hex')::uuid;
  target text;
  is_filled boolean;
  filled text[] := '{}';
BEGIN
  FOREACH target IN ARRAY targets LOOP
    EXECUTE format('SELECT EXISTS (SELECT FROM public.%I)', target) INTO is_filled;
    IF is_filled THEN filled := filled || target; END IF;
  END LOOP;
  IF filled = '{}' THEN RETURN; END IF;
  SELECT array_agg(t ORDER BY t COLLATE "C") INTO filled FROM unnest(filled) t;
  INSERT INTO ledger_entry (id, action, subject_type, subject_id, reason, payload)
  VALUES (entry, 'ledger.bindRows', 'ledger', 'rows', bind_rows_anew.reason,
    '{"tables":["' || array_to_string(filled, '","') || '"]}');
  FOREACH target IN ARRAY filled LOOP
    EXECUTE statement_for_lines(target, format('public.%I', target), format('%L::uuid', entry));
  END LOOP;
END
$$;

-- What follows every migration: tables whose columns it changed get their triggers anew, and where rows read differently
-- for it (a column that is not null, or one that is gone) these are bound anew.
CREATE FUNCTION bind_changed_tables(migration text) RETURNS void
  LANGUAGE plpgsql
  AS $$
DECLARE
  bound bound_table;
  new_column text;
  differs boolean;
  differing text[] := '{}';
BEGIN
  FOR bound IN SELECT * FROM bound_table WHERE columns <> columns_of(table_name) ORDER BY table_name LOOP
    differs := NOT bound.columns <@ columns_of(bound.table_name);
    FOR new_column IN SELECT unnest(columns_of(bound.table_name)) EXCEPT SELECT unnest(bound.columns || bound.unledgered) LOOP
      IF NOT differs THEN
        EXECUTE format('SELECT EXISTS (SELECT FROM public.%I WHERE %I IS NOT NULL)', bound.table_name, new_column) INTO differs;
      END IF;
    END LOOP;
    IF differs THEN differing := differing || bound.table_name; END IF;
    PERFORM make_bound(bound.table_name);
  END LOOP;
  PERFORM bind_rows_anew(differing, format('Migration %s changed the columns of these tables', migration));
END
$$;

REVOKE ALL ON FUNCTION statement_for_lines(text, text, text), make_bound(text), bind_rows(regclass, text[]),
  bind_parts(regclass, regclass, text), bind_rows_anew(text[], text), bind_changed_tables(text) FROM PUBLIC;
-- These write as the owner, too.
REVOKE ALL ON FUNCTION queue_for_log(), take_from_queue() FROM PUBLIC;

-- Every table whose rows carry an entry. Imports and programmes move their progress without one.
SELECT bind_rows(t.tgrelid::regclass)
FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
WHERE t.tgname = 'entered' AND c.relname NOT IN ('import', 'programme')
ORDER BY c.relname;
SELECT bind_rows('import', '{state,mapping_id,mapping_body,rows_total,rows_done,rows_good,rows_already,rows_bad,cancel_asked,failure,finished_at,version}');
SELECT bind_rows('programme', '{left_out,progress_done,progress_total}');
-- Chunks of a file are not hashed again: the row of the file holds the SHA-256 of all of it.
SELECT bind_parts('meter_test_point', 'meter_test', 'test_id');
SELECT bind_parts('meter_test_file', 'meter_test', 'test_id');

SELECT bind_rows_anew(
  (SELECT array_agg(table_name ORDER BY table_name) FROM bound_table),
  'Rows that were on record before rows stood in the log'
);

-- Leaves that were made until now hold the entry alone. A leaf of format 2 never comes before one of format 1, so nobody
-- can leave rows out by going back to the older format.
ALTER TABLE log_leaf ADD COLUMN format smallint NOT NULL DEFAULT 1 CHECK (format IN (1, 2));
ALTER TABLE log_leaf ALTER COLUMN format DROP DEFAULT;
GRANT INSERT (format) ON log_leaf TO sealbook_app;
