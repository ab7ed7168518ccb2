-- The book of record: people, inventory, standards, meter tests, imports, and the ledger beside them.
--
-- Two kinds of table:
--   append-only  tests, calibrations, signatures, plans, profiles, events, files, ledger entries. The server's role
--                holds SELECT and column-wise INSERT only; triggers that fire ALWAYS stand behind it.
--   mutable      accounts, types, meters, standards, work, imports. UPDATE by column, with a version that counts up.
-- Every row names the ledger entry that last wrote it, made in the same transaction: no entry, no change.
-- Time and author are columns that the server's role may not write: they come from the database's clock and from
-- the transaction's sealbook.actor setting.

CREATE EXTENSION IF NOT EXISTS pg_trgm;

DO $$
BEGIN
  IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'sealbook_app') THEN
    CREATE ROLE sealbook_app NOLOGIN;
  END IF;
EXCEPTION WHEN duplicate_object OR unique_violation THEN
  NULL; -- another process made it at the same moment
END
$$;

GRANT USAGE ON SCHEMA public TO sealbook_app;

-- Who acts in this transaction; null is the service itself.
CREATE FUNCTION current_actor() RETURNS uuid
  LANGUAGE sql STABLE
  AS $$ SELECT nullif(current_setting('sealbook.actor', true), '')::uuid $$;

-- The database's clock. Only the role that owns the tables can set another one, to load the demo shop's past years:
-- whoever owns the tables could write any time anyway, and the server's role cannot.
CREATE FUNCTION now_to_the_millisecond() RETURNS timestamptz
  LANGUAGE sql VOLATILE
  AS $$
SELECT date_trunc('milliseconds', coalesce(
  CASE WHEN current_user <> 'sealbook_app' THEN nullif(current_setting('sealbook.demo_clock', true), '')::timestamptz END,
  clock_timestamp()
))
$$;

CREATE FUNCTION forbid_change() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  RAISE EXCEPTION 'rows of % are never changed or removed', TG_TABLE_NAME USING ERRCODE = 'restrict_violation';
END
$$;

-- Invariant: a row is written together with the ledger entry it names, in one transaction, and every change
-- names a new entry.
CREATE FUNCTION require_entry() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  IF TG_OP = 'UPDATE' AND NEW.entry_id = OLD.entry_id THEN
    RAISE EXCEPTION 'a change of % needs a ledger entry of its own', TG_TABLE_NAME USING ERRCODE = 'restrict_violation';
  END IF;
  IF NOT EXISTS (
    SELECT FROM ledger_entry WHERE id = NEW.entry_id AND xact = pg_current_xact_id()::text::bigint
  ) THEN
    RAISE EXCEPTION 'a row of % must name a ledger entry of its own transaction', TG_TABLE_NAME
      USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NEW;
END
$$;

-- Makes a table append-only and lets the server's role insert the named columns alone.
CREATE FUNCTION make_append_only(target regclass, insertable text) RETURNS void
  LANGUAGE plpgsql
  AS $$
BEGIN
  EXECUTE format('CREATE TRIGGER no_change BEFORE UPDATE OR DELETE ON %s FOR EACH ROW EXECUTE FUNCTION forbid_change()', target);
  EXECUTE format('CREATE TRIGGER no_truncate BEFORE TRUNCATE ON %s FOR EACH STATEMENT EXECUTE FUNCTION forbid_change()', target);
  EXECUTE format('ALTER TABLE %s ENABLE ALWAYS TRIGGER no_change', target);
  EXECUTE format('ALTER TABLE %s ENABLE ALWAYS TRIGGER no_truncate', target);
  EXECUTE format('GRANT SELECT, INSERT (%s) ON %s TO sealbook_app', insertable, target);
END
$$;

CREATE FUNCTION make_entered(target regclass) RETURNS void
  LANGUAGE plpgsql
  AS $$
BEGIN
  EXECUTE format('CREATE TRIGGER entered BEFORE INSERT OR UPDATE ON %s FOR EACH ROW EXECUTE FUNCTION require_entry()', target);
  EXECUTE format('ALTER TABLE %s ENABLE ALWAYS TRIGGER entered', target);
END
$$;

REVOKE ALL ON FUNCTION make_append_only(regclass, text) FROM PUBLIC;
REVOKE ALL ON FUNCTION make_entered(regclass) FROM PUBLIC;

-- ---------------------------------------------------------------------------------------------------------------
-- Personal values: the ledger keeps salted commitments, the values live here and can be erased.

CREATE TABLE personal_value (
  id uuid PRIMARY KEY,
  kind text NOT NULL CHECK (kind IN ('person-name', 'address')),
  salt bytea,
  value text,
  commitment text NOT NULL CHECK (commitment ~ '^[0-9a-f]{64}$'),
  erased_at timestamptz(3),
  CHECK ((erased_at IS NULL) = (value IS NOT NULL AND salt IS NOT NULL))
);
GRANT SELECT, INSERT (id, kind, salt, value, commitment), UPDATE (salt, value, erased_at) ON personal_value TO sealbook_app;

-- ---------------------------------------------------------------------------------------------------------------
-- People

CREATE TABLE account (
  id uuid PRIMARY KEY,
  username text NOT NULL UNIQUE CHECK (username = lower(username)),
  name_id uuid NOT NULL REFERENCES personal_value,
  role text NOT NULL CHECK (role IN ('technician', 'quality-engineer', 'supervisor', 'storekeeper', 'regulator', 'administrator')),
  password_hash text NOT NULL,
  pin_hash text,
  active boolean NOT NULL DEFAULT true,
  created_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  version integer NOT NULL DEFAULT 1,
  entry_id uuid NOT NULL
);

CREATE TABLE ledger_entry (
  id uuid PRIMARY KEY,
  at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account DEFERRABLE INITIALLY DEFERRED,
  action text NOT NULL CHECK (action ~ '^[a-zA-Z]+\.[a-zA-Z]+$'),
  subject_type text NOT NULL,
  subject_id text NOT NULL,
  reason text,
  payload text NOT NULL CHECK (payload IS JSON OBJECT),
  xact bigint NOT NULL DEFAULT pg_current_xact_id()::text::bigint
);
CREATE INDEX ledger_entry_subject ON ledger_entry (subject_id, id);
CREATE INDEX ledger_entry_actor ON ledger_entry (actor_id, id);
CREATE INDEX ledger_entry_action ON ledger_entry (action, id);
SELECT make_append_only('ledger_entry', 'id, action, subject_type, subject_id, reason, payload');

ALTER TABLE account ADD FOREIGN KEY (entry_id) REFERENCES ledger_entry;
SELECT make_entered('account');
GRANT SELECT, INSERT (id, username, name_id, role, password_hash, entry_id),
  UPDATE (username, name_id, role, password_hash, pin_hash, active, version, entry_id) ON account TO sealbook_app;

CREATE TABLE session (
  token_hash bytea PRIMARY KEY,
  account_id uuid NOT NULL REFERENCES account,
  created_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  last_seen_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  expires_at timestamptz(3) NOT NULL
);
CREATE INDEX session_account ON session (account_id);
GRANT SELECT, INSERT (token_hash, account_id, expires_at), UPDATE (last_seen_at), DELETE ON session TO sealbook_app;

-- A change that a client may retry: done once, its first reply given again.
CREATE TABLE idempotent_request (
  actor_id uuid NOT NULL DEFAULT current_actor() REFERENCES account,
  operation text NOT NULL,
  key uuid NOT NULL,
  body_hash bytea NOT NULL,
  status integer,
  reply text,
  created_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  PRIMARY KEY (actor_id, operation, key)
);
GRANT SELECT, INSERT (operation, key, body_hash), UPDATE (status, reply) ON idempotent_request TO sealbook_app;

-- ---------------------------------------------------------------------------------------------------------------
-- Rules and the shop

CREATE TABLE rule_profile (
  id uuid PRIMARY KEY,
  key text NOT NULL,
  version text NOT NULL,
  title text NOT NULL,
  place text NOT NULL,
  body text NOT NULL CHECK (body IS JSON OBJECT),
  recorded_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  UNIQUE (key, version)
);
SELECT make_append_only('rule_profile', 'id, key, version, title, place, body, entry_id');
SELECT make_entered('rule_profile');

CREATE TABLE shop (
  only_row boolean PRIMARY KEY DEFAULT true CHECK (only_row),
  name text NOT NULL,
  time_zone text NOT NULL,
  home_jurisdiction text NOT NULL,
  -- Which of a profile's averaging methods the utility has chosen, by jurisdiction; the first that fits where absent.
  average_methods text NOT NULL DEFAULT '{}' CHECK (average_methods IS JSON OBJECT),
  demo boolean NOT NULL DEFAULT false,
  version integer NOT NULL DEFAULT 1,
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
SELECT make_entered('shop');
GRANT SELECT, INSERT, UPDATE (name, time_zone, home_jurisdiction, average_methods, version, entry_id) ON shop TO sealbook_app;

-- ---------------------------------------------------------------------------------------------------------------
-- Files, byte for byte, in chunks so that neither side holds a whole file

CREATE TABLE file (
  id uuid PRIMARY KEY,
  name text NOT NULL,
  media_type text NOT NULL,
  size integer NOT NULL CHECK (size >= 0),
  sha256 text NOT NULL CHECK (sha256 ~ '^[0-9a-f]{64}$'),
  recorded_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
CREATE INDEX file_sha256 ON file (sha256);
SELECT make_append_only('file', 'id, name, media_type, size, sha256, entry_id');
SELECT make_entered('file');

CREATE TABLE file_chunk (
  file_id uuid NOT NULL REFERENCES file DEFERRABLE INITIALLY DEFERRED,
  number integer NOT NULL CHECK (number >= 0),
  bytes bytea NOT NULL,
  PRIMARY KEY (file_id, number)
);
SELECT make_append_only('file_chunk', 'file_id, number, bytes');

-- ---------------------------------------------------------------------------------------------------------------
-- Inventory

CREATE TABLE place (
  id uuid PRIMARY KEY,
  kind text NOT NULL CHECK (kind IN ('shop', 'store', 'van', 'service-point')),
  name text NOT NULL,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  UNIQUE (kind, name)
);
SELECT make_entered('place');
GRANT SELECT, INSERT (id, kind, name, entry_id) ON place TO sealbook_app;

CREATE TABLE service_point (
  id uuid PRIMARY KEY REFERENCES place,
  number text NOT NULL UNIQUE,
  address_id uuid NOT NULL REFERENCES personal_value,
  area text NOT NULL,
  jurisdiction text NOT NULL,
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
CREATE INDEX service_point_number_part ON service_point USING gin (number gin_trgm_ops);
SELECT make_entered('service_point');
GRANT SELECT, INSERT (id, number, address_id, area, jurisdiction, entry_id) ON service_point TO sealbook_app;

CREATE TABLE test_plan (
  id uuid PRIMARY KEY,
  code text NOT NULL,
  revision integer NOT NULL CHECK (revision >= 1),
  name text NOT NULL,
  body text NOT NULL CHECK (body IS JSON OBJECT),
  recorded_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  UNIQUE (code, revision)
);
SELECT make_append_only('test_plan', 'id, code, revision, name, body, entry_id');
SELECT make_entered('test_plan');

CREATE TABLE meter_type (
  id uuid PRIMARY KEY,
  maker text NOT NULL,
  model text NOT NULL,
  form text NOT NULL,
  phases smallint NOT NULL CHECK (phases BETWEEN 1 AND 3),
  wires smallint NOT NULL CHECK (wires BETWEEN 2 AND 4),
  elements text NOT NULL CHECK (elements IN ('1', '2', '2.5', '3')),
  class_amperes numeric NOT NULL CHECK (class_amperes > 0),
  test_amperes numeric NOT NULL CHECK (test_amperes > 0),
  volts_min numeric NOT NULL CHECK (volts_min > 0),
  volts_max numeric NOT NULL,
  design_volts numeric NOT NULL CHECK (design_volts > 0),
  kh numeric NOT NULL CHECK (kh > 0),
  kt numeric CHECK (kt > 0),
  accuracy_class text NOT NULL,
  technology text NOT NULL CHECK (technology IN ('electromechanical', 'solid-state')),
  register_dials smallint NOT NULL CHECK (register_dials BETWEEN 4 AND 9),
  register_multiplier numeric NOT NULL CHECK (register_multiplier > 0),
  test_plan_code text NOT NULL,
  circuit_factors text NOT NULL DEFAULT '{}' CHECK (circuit_factors IS JSON OBJECT),
  retired boolean NOT NULL DEFAULT false,
  version integer NOT NULL DEFAULT 1,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  CHECK (volts_max >= volts_min),
  UNIQUE (maker, model, form, class_amperes),
  UNIQUE (id, maker)
);
SELECT make_entered('meter_type');
GRANT SELECT, INSERT, UPDATE (maker, model, form, phases, wires, elements, class_amperes, test_amperes, volts_min, volts_max,
  design_volts, kh, kt, accuracy_class, technology, register_dials, register_multiplier, test_plan_code, circuit_factors,
  retired, version, entry_id) ON meter_type TO sealbook_app;

CREATE TABLE meter (
  id uuid PRIMARY KEY,
  utility_number text NOT NULL,
  serial text NOT NULL,
  owner text NOT NULL CHECK (owner IN ('utility', 'customer')),
  type_id uuid NOT NULL,
  maker text NOT NULL,
  firmware text NOT NULL DEFAULT '',
  program text NOT NULL DEFAULT '',
  purchased_on date,
  state text NOT NULL CHECK (state IN ('received', 'in-stock', 'issued', 'in-service', 'removed', 'in-shop', 'retired')),
  place_id uuid NOT NULL REFERENCES place,
  version integer NOT NULL DEFAULT 1,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  FOREIGN KEY (type_id, maker) REFERENCES meter_type (id, maker) ON UPDATE CASCADE
);
-- A utility number may be given again once its meter is retired; a serial is its maker's.
CREATE UNIQUE INDEX meter_utility_number ON meter (utility_number) WHERE state <> 'retired';
CREATE UNIQUE INDEX meter_serial ON meter (maker, serial);
CREATE INDEX meter_by_number ON meter (utility_number, id);
CREATE INDEX meter_by_serial ON meter (serial);
CREATE INDEX meter_state ON meter (state, utility_number, id);
CREATE INDEX meter_type_of ON meter (type_id, utility_number, id);
CREATE INDEX meter_place ON meter (place_id);
CREATE INDEX meter_utility_number_part ON meter USING gin (utility_number gin_trgm_ops);
CREATE INDEX meter_serial_part ON meter USING gin (serial gin_trgm_ops);
SELECT make_entered('meter');
GRANT SELECT, INSERT (id, utility_number, serial, owner, type_id, maker, firmware, program, purchased_on, state, place_id, entry_id),
  UPDATE (utility_number, owner, type_id, maker, firmware, program, purchased_on, state, place_id, version, entry_id)
  ON meter TO sealbook_app;

CREATE TABLE meter_event (
  id uuid PRIMARY KEY,
  meter_id uuid NOT NULL REFERENCES meter,
  kind text NOT NULL CHECK (kind IN ('receive', 'stock', 'issue', 'set', 'remove', 'return', 'repair', 'retire')),
  performed_at timestamptz(3) NOT NULL,
  recorded_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  place_id uuid REFERENCES place,
  register_reading numeric,
  reason text NOT NULL DEFAULT '',
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
CREATE INDEX meter_event_of ON meter_event (meter_id, performed_at, id);
SELECT make_append_only('meter_event', 'id, meter_id, kind, performed_at, place_id, register_reading, reason, entry_id');
SELECT make_entered('meter_event');

-- ---------------------------------------------------------------------------------------------------------------
-- Standards

CREATE TABLE standard (
  id uuid PRIMARY KEY,
  designation text NOT NULL UNIQUE,
  maker text NOT NULL,
  model text NOT NULL,
  serial text NOT NULL,
  rank text NOT NULL CHECK (rank IN ('reference', 'working')),
  place text NOT NULL,
  withdrawn boolean NOT NULL DEFAULT false,
  version integer NOT NULL DEFAULT 1,
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
SELECT make_entered('standard');
GRANT SELECT, INSERT (id, designation, maker, model, serial, rank, place, entry_id),
  UPDATE (designation, maker, model, serial, rank, place, withdrawn, version, entry_id) ON standard TO sealbook_app;

CREATE TABLE calibration (
  id uuid PRIMARY KEY,
  standard_id uuid NOT NULL REFERENCES standard,
  calibrated_on date NOT NULL,
  due_on date NOT NULL,
  certificate_number text NOT NULL,
  laboratory text NOT NULL,
  performed_by text NOT NULL,
  traceability text NOT NULL,
  against_standard_id uuid REFERENCES standard,
  sign_convention text NOT NULL CHECK (sign_convention IN ('registration', 'error', 'correction')),
  printed_points text NOT NULL CHECK (printed_points IS JSON ARRAY),
  points text NOT NULL CHECK (points IS JSON ARRAY),
  file_id uuid REFERENCES file,
  supersedes_id uuid UNIQUE REFERENCES calibration,
  amendment_reason text,
  recorded_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  CHECK (due_on > calibrated_on),
  CHECK ((supersedes_id IS NULL) = (amendment_reason IS NULL)),
  CHECK (against_standard_id <> standard_id)
);
CREATE INDEX calibration_of ON calibration (standard_id, calibrated_on, id);
SELECT make_append_only('calibration', 'id, standard_id, calibrated_on, due_on, certificate_number, laboratory, performed_by, '
  'traceability, against_standard_id, sign_convention, printed_points, points, file_id, supersedes_id, amendment_reason, entry_id');
SELECT make_entered('calibration');

-- ---------------------------------------------------------------------------------------------------------------
-- Imports

CREATE TABLE import_mapping (
  id uuid PRIMARY KEY,
  name text NOT NULL UNIQUE,
  body text NOT NULL CHECK (body IS JSON OBJECT),
  version integer NOT NULL DEFAULT 1,
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
SELECT make_entered('import_mapping');
GRANT SELECT, INSERT (id, name, body, entry_id), UPDATE (name, body, version, entry_id) ON import_mapping TO sealbook_app;

CREATE TABLE import (
  id uuid PRIMARY KEY,
  kind text NOT NULL CHECK (kind IN ('meter-tests')),
  file_id uuid NOT NULL REFERENCES file,
  -- One import a file content and kind: the same file again opens the import on record.
  sha256 text NOT NULL,
  state text NOT NULL DEFAULT 'uploaded'
    CHECK (state IN ('uploaded', 'checking', 'checked', 'running', 'done', 'cancelled', 'failed')),
  mapping_id uuid REFERENCES import_mapping,
  mapping_body text CHECK (mapping_body IS JSON OBJECT),
  headings text NOT NULL CHECK (headings IS JSON ARRAY),
  sample text NOT NULL CHECK (sample IS JSON ARRAY),
  rows_total integer,
  rows_done integer NOT NULL DEFAULT 0,
  rows_good integer NOT NULL DEFAULT 0,
  rows_already integer NOT NULL DEFAULT 0,
  rows_bad integer NOT NULL DEFAULT 0,
  cancel_asked boolean NOT NULL DEFAULT false,
  failure text,
  created_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  finished_at timestamptz(3),
  version integer NOT NULL DEFAULT 1,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  UNIQUE (kind, sha256)
);
CREATE INDEX import_newest ON import (created_at DESC, id);
-- Progress moves without an entry of its own; adding, running, cancelling and finishing are ledgered.
CREATE TRIGGER entered BEFORE INSERT OR UPDATE OF entry_id ON import FOR EACH ROW EXECUTE FUNCTION require_entry();
ALTER TABLE import ENABLE ALWAYS TRIGGER entered;
GRANT SELECT, INSERT (id, kind, file_id, sha256, headings, sample, entry_id),
  UPDATE (state, mapping_id, mapping_body, rows_total, rows_done, rows_good, rows_already, rows_bad, cancel_asked, failure,
    finished_at, version, entry_id) ON import TO sealbook_app;

-- Rows set aside. They follow from file and mapping, so a new dry run writes them anew.
CREATE TABLE import_problem (
  import_id uuid NOT NULL REFERENCES import,
  row_number integer NOT NULL,
  ordinal integer NOT NULL,
  column_name text NOT NULL,
  value text NOT NULL,
  code text NOT NULL,
  detail text NOT NULL,
  PRIMARY KEY (import_id, row_number, ordinal)
);
GRANT SELECT, INSERT, DELETE ON import_problem TO sealbook_app;

-- ---------------------------------------------------------------------------------------------------------------
-- Meter tests

CREATE TABLE meter_test (
  id uuid PRIMARY KEY,
  meter_id uuid NOT NULL REFERENCES meter,
  plan_id uuid NOT NULL REFERENCES test_plan,
  profile_id uuid NOT NULL REFERENCES rule_profile,
  place_id uuid NOT NULL REFERENCES place,
  reasons text[] NOT NULL CHECK (cardinality(reasons) >= 1),
  performed_at timestamptz(3) NOT NULL,
  recorded_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  tester_id uuid NOT NULL REFERENCES account,
  method text NOT NULL CHECK (method IN ('entered', 'imported')),
  import_id uuid REFERENCES import,
  import_row integer,
  standard_id uuid REFERENCES standard,
  calibration_id uuid REFERENCES calibration,
  error_applied_by_bench boolean,
  outcome text NOT NULL CHECK (outcome IN ('tested', 'no-test-possible', 'withdrawn')),
  untestable_reason text CHECK (untestable_reason IN ('not-registering', 'dead', 'damaged', 'tampered', 'not-found')),
  -- What was typed, as canonical JSON: passes, conditions, readings, seals, remarks, preconditions.
  entry_body text NOT NULL CHECK (entry_body IS JSON OBJECT),
  -- What metrology made of it, as JSON, and the version of the arithmetic.
  evaluation text NOT NULL CHECK (evaluation IS JSON OBJECT),
  engine_version text NOT NULL,
  verdict_as_found text NOT NULL CHECK (verdict_as_found IN ('pass', 'fail', 'incomplete', 'no-test-possible', 'withdrawn')),
  verdict_as_left text CHECK (verdict_as_left IN ('pass', 'fail', 'incomplete')),
  average_as_found numeric,
  average_as_left numeric,
  creeping boolean,
  supersedes_id uuid UNIQUE REFERENCES meter_test,
  amendment_reason text,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  CHECK ((outcome = 'no-test-possible') = (untestable_reason IS NOT NULL)),
  CHECK ((outcome = 'tested') = (standard_id IS NOT NULL)),
  CHECK ((outcome = 'tested') = (calibration_id IS NOT NULL)),
  CHECK ((outcome = 'tested') = (error_applied_by_bench IS NOT NULL)),
  CHECK ((supersedes_id IS NULL) = (amendment_reason IS NULL)),
  CHECK (outcome <> 'withdrawn' OR supersedes_id IS NOT NULL),
  CHECK ((method = 'imported') = (import_id IS NOT NULL)),
  CHECK ((import_id IS NULL) = (import_row IS NULL))
);
CREATE INDEX meter_test_of ON meter_test (meter_id, performed_at DESC, id);
CREATE INDEX meter_test_newest ON meter_test (performed_at DESC, id DESC);
CREATE INDEX meter_test_tester ON meter_test (tester_id, performed_at DESC, id DESC);
CREATE INDEX meter_test_standard ON meter_test (standard_id, performed_at);
CREATE INDEX meter_test_import ON meter_test (import_id, import_row);
-- The natural key of a bench's record: a meter is tested once at an instant.
CREATE UNIQUE INDEX meter_test_imported_once ON meter_test (meter_id, performed_at) WHERE method = 'imported' AND supersedes_id IS NULL;
SELECT make_append_only('meter_test', 'id, meter_id, plan_id, profile_id, place_id, reasons, performed_at, tester_id, method, '
  'import_id, import_row, standard_id, calibration_id, error_applied_by_bench, outcome, untestable_reason, entry_body, '
  'evaluation, engine_version, verdict_as_found, verdict_as_left, average_as_found, average_as_left, creeping, '
  'supersedes_id, amendment_reason, entry_id');
SELECT make_entered('meter_test');

-- One row a pass and point, for populations and charts; the runs stand in the test's body.
CREATE TABLE meter_test_point (
  test_id uuid NOT NULL REFERENCES meter_test,
  pass text NOT NULL CHECK (pass IN ('as-found', 'as-left')),
  ordinal smallint NOT NULL,
  point_key text NOT NULL,
  role text NOT NULL CHECK (role IN ('full-load', 'light-load', 'power-factor', 'none')),
  registration_percent numeric NOT NULL,
  verdict text NOT NULL CHECK (verdict IN ('pass', 'fail', 'undecided', 'not-judged')),
  PRIMARY KEY (test_id, pass, ordinal)
);
SELECT make_append_only('meter_test_point', 'test_id, pass, ordinal, point_key, role, registration_percent, verdict');

CREATE TABLE meter_test_file (
  test_id uuid NOT NULL REFERENCES meter_test,
  file_id uuid NOT NULL REFERENCES file,
  PRIMARY KEY (test_id, file_id)
);
SELECT make_append_only('meter_test_file', 'test_id, file_id');

CREATE TABLE signature (
  id uuid PRIMARY KEY,
  subject_type text NOT NULL CHECK (subject_type IN ('meterTest')),
  subject_id uuid NOT NULL REFERENCES meter_test,
  meaning text NOT NULL CHECK (meaning IN ('tested')),
  account_id uuid NOT NULL DEFAULT current_actor() REFERENCES account,
  record_hash text NOT NULL CHECK (record_hash ~ '^[0-9a-f]{64}$'),
  signed_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  UNIQUE (subject_id, account_id, meaning)
);
SELECT make_append_only('signature', 'id, subject_type, subject_id, meaning, record_hash, entry_id');
SELECT make_entered('signature');

CREATE TABLE work_item (
  id uuid PRIMARY KEY,
  meter_id uuid NOT NULL REFERENCES meter,
  reason text NOT NULL,
  due_on date,
  note text NOT NULL DEFAULT '',
  opened_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  opened_by uuid DEFAULT current_actor() REFERENCES account,
  done_by_test_id uuid REFERENCES meter_test,
  version integer NOT NULL DEFAULT 1,
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
CREATE INDEX work_item_of ON work_item (meter_id) WHERE done_by_test_id IS NULL;
CREATE INDEX work_item_due ON work_item (due_on, id) WHERE done_by_test_id IS NULL;
SELECT make_entered('work_item');
GRANT SELECT, INSERT (id, meter_id, reason, due_on, note, entry_id), UPDATE (done_by_test_id, version, entry_id) ON work_item TO sealbook_app;

-- ---------------------------------------------------------------------------------------------------------------
-- Foreign keys from tables that were made before what they point to are above; last, what the server may see of itself.

GRANT SELECT ON _prisma_migrations TO sealbook_app;
