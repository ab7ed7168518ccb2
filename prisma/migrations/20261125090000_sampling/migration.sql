-- Sampling: schemes, lots of meters (shipments, groups in service), plans, draws, decisions and what follows from them.
--
-- What nobody may bend stands here and not in a handler: a lot's meters are fixed once it is planned; a list is drawn
-- from once, and only after the transaction that put its hash into the ledger; a decision's tests are written with it
-- and never change; whoever tested, recorded or decided does not approve.

CREATE TABLE sampling_scheme (
  id uuid PRIMARY KEY,
  code text NOT NULL,
  revision integer NOT NULL CHECK (revision >= 1),
  name text NOT NULL,
  body text NOT NULL CHECK (body IS JSON OBJECT),
  recorded_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  UNIQUE (code, revision),
  UNIQUE (id, code)
);
SELECT make_append_only('sampling_scheme', 'id, code, revision, name, body, entry_id');
SELECT make_entered('sampling_scheme');

-- A year's sample of the groups in service.
CREATE TABLE programme (
  id uuid PRIMARY KEY,
  year integer NOT NULL,
  name text NOT NULL,
  scheme_id uuid NOT NULL,
  scheme_code text NOT NULL,
  seed_source text NOT NULL CHECK (seed_source IN ('typed-dice', 'announced-number', 'system')),
  announcement text,
  not_before timestamptz(3),
  due_on date NOT NULL,
  state text NOT NULL DEFAULT 'forming' CHECK (state IN ('forming', 'formed', 'drawing', 'drawn', 'failed', 'cancelled')),
  seed text,
  left_out text NOT NULL DEFAULT '[]' CHECK (left_out IS JSON ARRAY),
  progress_done integer NOT NULL DEFAULT 0,
  progress_total integer,
  cancel_asked boolean NOT NULL DEFAULT false,
  failure text,
  created_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  version integer NOT NULL DEFAULT 1,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  FOREIGN KEY (scheme_id, scheme_code) REFERENCES sampling_scheme (id, code),
  UNIQUE (year, scheme_code)
);
CREATE INDEX programme_newest ON programme (year DESC, id DESC);
-- Progress moves without an entry of its own; creating, drawing, cancelling and finishing are ledgered.
CREATE TRIGGER entered BEFORE INSERT OR UPDATE OF entry_id ON programme FOR EACH ROW EXECUTE FUNCTION require_entry();
ALTER TABLE programme ENABLE ALWAYS TRIGGER entered;
GRANT SELECT, INSERT (id, year, name, scheme_id, scheme_code, seed_source, announcement, not_before, due_on, entry_id),
  UPDATE (state, seed, left_out, progress_done, progress_total, cancel_asked, failure, version, entry_id)
  ON programme TO sealbook_app;

CREATE TABLE lot (
  id uuid PRIMARY KEY,
  kind text NOT NULL CHECK (kind IN ('shipment', 'in-service')),
  number text NOT NULL UNIQUE,
  title text NOT NULL,
  scheme_id uuid NOT NULL,
  scheme_code text NOT NULL,
  series text NOT NULL,
  inherits text NOT NULL DEFAULT '[]' CHECK (inherits IS JSON ARRAY),
  programme_id uuid REFERENCES programme,
  year integer NOT NULL,
  type_id uuid REFERENCES meter_type,
  contract text NOT NULL DEFAULT '',
  purchase_order text NOT NULL DEFAULT '',
  received_on date,
  note text NOT NULL DEFAULT '',
  resubmits_id uuid UNIQUE REFERENCES lot,
  size integer NOT NULL DEFAULT 0,
  state text NOT NULL DEFAULT 'forming'
    CHECK (state IN ('forming', 'planned', 'listed', 'drawn', 'decided', 'approved', 'closed', 'withdrawn')),
  due_on date,
  disposition text CHECK (disposition IN ('released', 'returned', 'resubmitted', 'kept-in-service')),
  created_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  version integer NOT NULL DEFAULT 1,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  FOREIGN KEY (scheme_id, scheme_code) REFERENCES sampling_scheme (id, code),
  CHECK ((kind = 'in-service') = (programme_id IS NOT NULL)),
  CHECK (kind = 'in-service' OR type_id IS NOT NULL),
  CHECK ((state = 'closed') = (disposition IS NOT NULL))
);
CREATE INDEX lot_newest ON lot (created_at DESC, id DESC);
CREATE INDEX lot_series ON lot (series, created_at, id);
CREATE INDEX lot_programme ON lot (programme_id, number);
SELECT make_entered('lot');
GRANT SELECT, INSERT (id, kind, number, title, scheme_id, scheme_code, series, inherits, programme_id, year, type_id, contract,
    purchase_order, received_on, note, resubmits_id, due_on, entry_id),
  UPDATE (size, state, due_on, disposition, version, entry_id) ON lot TO sealbook_app;

-- Invariant: a lot goes forward only, each step behind the one before it.
CREATE FUNCTION require_next_lot_state() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  IF NEW.state <> OLD.state AND NOT (OLD.state, NEW.state) IN (
    ('forming', 'planned'), ('planned', 'listed'), ('listed', 'drawn'), ('drawn', 'listed'), ('drawn', 'decided'),
    ('decided', 'approved'), ('approved', 'closed'), ('forming', 'withdrawn'), ('planned', 'withdrawn'), ('listed', 'withdrawn')
  ) THEN
    RAISE EXCEPTION 'a lot does not go from % to %', OLD.state, NEW.state USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NEW;
END
$$;
CREATE TRIGGER next_state BEFORE UPDATE OF state ON lot FOR EACH ROW EXECUTE FUNCTION require_next_lot_state();
ALTER TABLE lot ENABLE ALWAYS TRIGGER next_state;

CREATE TABLE lot_member (
  lot_id uuid NOT NULL REFERENCES lot,
  meter_id uuid NOT NULL REFERENCES meter,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  PRIMARY KEY (lot_id, meter_id)
);
CREATE INDEX lot_member_meter ON lot_member (meter_id);
SELECT make_append_only('lot_member', 'lot_id, meter_id, entry_id');
SELECT make_entered('lot_member');

-- Invariant: meters enter a lot before its plan alone.
CREATE FUNCTION require_forming_lot() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  IF EXISTS (SELECT FROM (SELECT DISTINCT lot_id FROM added) a JOIN lot l ON l.id = a.lot_id WHERE l.state <> 'forming') THEN
    RAISE EXCEPTION 'the meters of a planned lot are fixed' USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NULL;
END
$$;
CREATE TRIGGER forming AFTER INSERT ON lot_member REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION require_forming_lot();
ALTER TABLE lot_member ENABLE ALWAYS TRIGGER forming;

-- The maker's own results, for information: they decide nothing.
CREATE TABLE maker_result (
  lot_id uuid NOT NULL,
  meter_id uuid NOT NULL,
  results text NOT NULL CHECK (results IS JSON ARRAY),
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  PRIMARY KEY (lot_id, meter_id),
  FOREIGN KEY (lot_id, meter_id) REFERENCES lot_member (lot_id, meter_id)
);
SELECT make_append_only('maker_result', 'lot_id, meter_id, results, entry_id');
SELECT make_entered('maker_result');

CREATE TABLE lot_plan (
  lot_id uuid PRIMARY KEY REFERENCES lot,
  body text NOT NULL CHECK (body IS JSON OBJECT),
  recorded_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
SELECT make_append_only('lot_plan', 'lot_id, body, entry_id');
SELECT make_entered('lot_plan');

-- ---------------------------------------------------------------------------------------------------------------
-- Lists and draws

CREATE TABLE draw_list (
  id uuid PRIMARY KEY,
  lot_id uuid NOT NULL REFERENCES lot,
  ordinal integer NOT NULL CHECK (ordinal >= 1),
  list_hash text NOT NULL CHECK (list_hash ~ '^[0-9a-f]{64}$'),
  candidates integer NOT NULL CHECK (candidates >= 1),
  file_id uuid NOT NULL REFERENCES file,
  n integer NOT NULL CHECK (n >= 1),
  spares integer NOT NULL CHECK (spares >= 0),
  seed_source text NOT NULL CHECK (seed_source IN ('typed-dice', 'announced-number', 'system')),
  announcement text,
  not_before timestamptz(3),
  repeats_id uuid UNIQUE REFERENCES draw_list,
  repeat_reason text,
  listed_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  UNIQUE (lot_id, ordinal),
  CHECK (n + spares <= candidates),
  CHECK ((repeats_id IS NULL) = (repeat_reason IS NULL)),
  CHECK ((repeats_id IS NULL) = (ordinal = 1)),
  CHECK (seed_source <> 'announced-number' OR (announcement IS NOT NULL AND not_before IS NOT NULL))
);
SELECT make_append_only('draw_list', 'id, lot_id, ordinal, list_hash, candidates, file_id, n, spares, seed_source, announcement, '
  'not_before, repeats_id, repeat_reason, entry_id');
SELECT make_entered('draw_list');

CREATE TABLE draw (
  id uuid PRIMARY KEY,
  list_id uuid NOT NULL UNIQUE REFERENCES draw_list,
  seed text NOT NULL,
  algorithm text NOT NULL,
  key text NOT NULL CHECK (key ~ '^[0-9a-f]{64}$'),
  drawn_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  UNIQUE (id, entry_id)
);
SELECT make_append_only('draw', 'id, list_id, seed, algorithm, key, entry_id');
SELECT make_entered('draw');

-- Invariant: the list's hash stood in the ledger, committed, before the seed came; and the seed came no sooner than said.
CREATE FUNCTION require_published_list() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
DECLARE
  list record;
BEGIN
  SELECT e.xact, l.not_before INTO STRICT list
  FROM draw_list l JOIN ledger_entry e ON e.id = l.entry_id WHERE l.id = NEW.list_id;
  IF list.xact = pg_current_xact_id()::text::bigint THEN
    RAISE EXCEPTION 'a list is published in the ledger before it is drawn from' USING ERRCODE = 'restrict_violation';
  END IF;
  IF list.not_before > now_to_the_millisecond() THEN
    RAISE EXCEPTION 'this list is not drawn from before %', list.not_before USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NEW;
END
$$;
CREATE TRIGGER published BEFORE INSERT ON draw FOR EACH ROW EXECUTE FUNCTION require_published_list();
ALTER TABLE draw ENABLE ALWAYS TRIGGER published;

-- Naming the draw's own entry, which only the draw's transaction may name, makes the units as fixed as the draw.
CREATE TABLE draw_unit (
  draw_id uuid NOT NULL,
  position integer NOT NULL CHECK (position >= 1),
  meter_id uuid NOT NULL REFERENCES meter,
  spare boolean NOT NULL,
  entry_id uuid NOT NULL,
  PRIMARY KEY (draw_id, position),
  UNIQUE (draw_id, meter_id),
  FOREIGN KEY (draw_id, entry_id) REFERENCES draw (id, entry_id)
);
CREATE INDEX draw_unit_meter ON draw_unit (meter_id);
SELECT make_append_only('draw_unit', 'draw_id, position, meter_id, spare, entry_id');
SELECT make_entered('draw_unit');

CREATE TABLE draw_event (
  id uuid PRIMARY KEY,
  draw_id uuid NOT NULL,
  position integer NOT NULL,
  kind text NOT NULL
    CHECK (kind IN ('asked', 'pulled', 'received', 'not-reached', 'moved', 'retired', 'left-out', 'called-up')),
  reason text CHECK (reason IN ('no-access', 'customer-refused', 'unsafe', 'not-found', 'moved', 'retired', 'no-test-possible', 'other')),
  note text NOT NULL DEFAULT '',
  -- Of a spare called up: the place of the sample that it fills.
  place integer,
  -- Order of recording within the draw.
  ordinal integer NOT NULL CHECK (ordinal >= 1),
  recorded_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  UNIQUE (draw_id, ordinal),
  FOREIGN KEY (draw_id, position) REFERENCES draw_unit (draw_id, position),
  CHECK ((kind = 'called-up') = (place IS NOT NULL)),
  CHECK ((kind IN ('not-reached', 'moved', 'retired', 'left-out')) = (reason IS NOT NULL))
);
-- A meter leaves the sample once, and a spare is called up once.
CREATE UNIQUE INDEX draw_event_out ON draw_event (draw_id, position) WHERE kind IN ('not-reached', 'moved', 'retired', 'left-out');
CREATE UNIQUE INDEX draw_event_called_up ON draw_event (draw_id, position) WHERE kind = 'called-up';
SELECT make_append_only('draw_event', 'id, draw_id, position, kind, reason, note, place, ordinal, entry_id');
SELECT make_entered('draw_event');

-- ---------------------------------------------------------------------------------------------------------------
-- Decisions

CREATE TABLE decision (
  id uuid PRIMARY KEY,
  lot_id uuid NOT NULL UNIQUE REFERENCES lot,
  outcome text NOT NULL CHECK (outcome IN ('accepted', 'accepted-return-to-normal', 'not-accepted')),
  by_person boolean NOT NULL,
  reason text NOT NULL,
  steady boolean NOT NULL,
  reduced_approved boolean NOT NULL,
  evaluation text NOT NULL CHECK (evaluation IS JSON OBJECT),
  engine_version text NOT NULL,
  decided_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  UNIQUE (id, entry_id)
);
SELECT make_append_only('decision', 'id, lot_id, outcome, by_person, reason, steady, reduced_approved, evaluation, engine_version, entry_id');
SELECT make_entered('decision');

-- Every test of a sampled meter that stood when the lot was decided, counted or not; fixed with the decision.
CREATE TABLE decision_test (
  decision_id uuid NOT NULL,
  test_id uuid NOT NULL REFERENCES meter_test,
  meter_id uuid NOT NULL REFERENCES meter,
  place integer NOT NULL,
  counted boolean NOT NULL,
  entry_id uuid NOT NULL,
  PRIMARY KEY (decision_id, test_id),
  FOREIGN KEY (decision_id, entry_id) REFERENCES decision (id, entry_id)
);
CREATE INDEX decision_test_of ON decision_test (test_id);
SELECT make_append_only('decision_test', 'decision_id, test_id, meter_id, place, counted, entry_id');
SELECT make_entered('decision_test');

-- Who had a hand in a decision: decided it, tested a meter of its sample, or recorded such a test or one that it amended.
CREATE FUNCTION hands_in_decision(wanted uuid) RETURNS TABLE (account_id uuid, kind text, test_id uuid, meter_id uuid)
  LANGUAGE sql STABLE
  AS $$
WITH RECURSIVE record AS (
  SELECT t.id, t.meter_id, t.tester_id, t.actor_id, t.supersedes_id
  FROM decision_test d JOIN meter_test t ON t.id = d.test_id WHERE d.decision_id = wanted
  UNION
  SELECT t.id, t.meter_id, t.tester_id, t.actor_id, t.supersedes_id
  FROM record r JOIN meter_test t ON t.id = r.supersedes_id
)
SELECT actor_id, 'decided', NULL::uuid, NULL::uuid FROM decision WHERE id = wanted
UNION ALL SELECT tester_id, 'tested', id, meter_id FROM record
UNION ALL SELECT actor_id, 'recorded', id, meter_id FROM record WHERE actor_id IS DISTINCT FROM tester_id
$$;

CREATE TABLE approval (
  id uuid PRIMARY KEY,
  decision_id uuid NOT NULL UNIQUE REFERENCES decision,
  account_id uuid NOT NULL DEFAULT current_actor() REFERENCES account,
  note text NOT NULL DEFAULT '',
  record_hash text NOT NULL CHECK (record_hash ~ '^[0-9a-f]{64}$'),
  signed_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
SELECT make_append_only('approval', 'id, decision_id, note, record_hash, entry_id');
SELECT make_entered('approval');

-- Invariant: whoever had a hand in a decision does not approve it. The decision's tests never change, so there is no
-- race to lose.
CREATE FUNCTION refuse_involved_approver() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  IF EXISTS (SELECT FROM hands_in_decision(NEW.decision_id) h WHERE h.account_id = NEW.account_id) THEN
    RAISE EXCEPTION 'the approver had a hand in this decision' USING ERRCODE = 'restrict_violation', CONSTRAINT = 'approval_independent';
  END IF;
  RETURN NEW;
END
$$;
CREATE TRIGGER independent BEFORE INSERT ON approval FOR EACH ROW EXECUTE FUNCTION refuse_involved_approver();
ALTER TABLE approval ENABLE ALWAYS TRIGGER independent;

CREATE TABLE corrective_action (
  id uuid PRIMARY KEY,
  lot_id uuid NOT NULL REFERENCES lot,
  kind text NOT NULL CHECK (kind IN ('accelerate', 'split', 'retire-by', 'screen-and-resubmit', 'return-to-maker', 'other')),
  detail text NOT NULL,
  owner_id uuid NOT NULL REFERENCES account,
  due_on date NOT NULL,
  done_on date,
  done_note text NOT NULL DEFAULT '',
  version integer NOT NULL DEFAULT 1,
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
CREATE INDEX corrective_action_due ON corrective_action (due_on, id);
CREATE INDEX corrective_action_of ON corrective_action (lot_id);
SELECT make_entered('corrective_action');
GRANT SELECT, INSERT (id, lot_id, kind, detail, owner_id, due_on, entry_id),
  UPDATE (owner_id, due_on, done_on, done_note, version, entry_id) ON corrective_action TO sealbook_app;

CREATE TABLE switching_event (
  id uuid PRIMARY KEY,
  series text NOT NULL,
  scheme_code text NOT NULL,
  characteristic text CHECK (characteristic IN ('full-load', 'light-load', 'power-factor', 'average', 'verdict')),
  kind text NOT NULL CHECK (kind IN ('irregular', 'corrective-action', 'directed')),
  severity text CHECK (severity IN ('normal', 'tightened', 'reduced')),
  reason text NOT NULL,
  recorded_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  CHECK ((kind = 'directed') = (severity IS NOT NULL))
);
CREATE INDEX switching_event_of ON switching_event (series, scheme_code, recorded_at, id);
SELECT make_append_only('switching_event', 'id, series, scheme_code, characteristic, kind, severity, reason, entry_id');
SELECT make_entered('switching_event');
