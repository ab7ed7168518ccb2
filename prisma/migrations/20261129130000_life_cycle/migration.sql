-- A meter's life as events: moves of one meter or a tray, what takes one back, seals, legal holds; places with shelves;
-- what to settle in the inventory.

-- ---------------------------------------------------------------------------------------------------------------
-- Places: a store may stand in a shop, a shelf stands in a store; a place is renamed or closed, never removed.

ALTER TABLE place
  ADD COLUMN parent_id uuid REFERENCES place,
  ADD COLUMN closed boolean NOT NULL DEFAULT false,
  ADD COLUMN version integer NOT NULL DEFAULT 1,
  DROP CONSTRAINT place_kind_check,
  ADD CONSTRAINT place_kind_check CHECK (kind IN ('shop', 'store', 'shelf', 'van', 'service-point')),
  ADD CONSTRAINT place_parent_check
    CHECK ((kind <> 'shelf' OR parent_id IS NOT NULL) AND (parent_id IS NULL OR kind IN ('store', 'shelf'))),
  DROP CONSTRAINT place_kind_name_key,
  ADD CONSTRAINT place_name UNIQUE NULLS NOT DISTINCT (kind, parent_id, name);
-- The utility's own places are few among the service points.
CREATE INDEX place_own ON place (name, id) WHERE kind <> 'service-point';
CREATE INDEX place_within ON place (parent_id) WHERE parent_id IS NOT NULL;
GRANT INSERT (parent_id), UPDATE (name, closed, version, entry_id) ON place TO sealbook_app;

-- ---------------------------------------------------------------------------------------------------------------
-- Meters

ALTER TABLE meter
  DROP CONSTRAINT meter_state_check,
  ADD CONSTRAINT meter_state_check CHECK (
    state IN ('received', 'in-stock', 'issued', 'in-service', 'removed', 'in-shop', 'retired', 'disposed'));
-- A utility number may be given again once its meter is retired, whether or not that is disposed of.
DROP INDEX meter_utility_number;
CREATE UNIQUE INDEX meter_utility_number ON meter (utility_number) WHERE state NOT IN ('retired', 'disposed');
DROP INDEX meter_place;
CREATE INDEX meter_place ON meter (place_id, utility_number, id);
-- A serial that was typed wrong is corrected, with a reason.
GRANT UPDATE (serial) ON meter TO sealbook_app;

-- What was recorded at once of one meter or of a tray: its events share the entry and name the move.
CREATE TABLE meter_move (
  id uuid PRIMARY KEY,
  kind text NOT NULL,
  performed_at timestamptz(3) NOT NULL,
  place_id uuid REFERENCES place,
  reason text NOT NULL,
  meters integer NOT NULL CHECK (meters > 0),
  takes_back_id uuid UNIQUE REFERENCES meter_move,
  recorded_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  CHECK (takes_back_id IS NULL OR kind = 'take-back')
);
CREATE INDEX meter_move_newest ON meter_move (recorded_at DESC, id DESC);
SELECT make_append_only('meter_move', 'id, kind, performed_at, place_id, reason, meters, takes_back_id, entry_id');
SELECT make_entered('meter_move');

ALTER TABLE meter_event
  ADD COLUMN move_id uuid REFERENCES meter_move,
  ADD COLUMN takes_back_id uuid REFERENCES meter_event,
  -- Why a reading is missing, or lower than the one before it.
  ADD COLUMN reading_note text CHECK (reading_note IN ('rolled-over', 'register-replaced', 'not-readable')),
  DROP CONSTRAINT meter_event_kind_check,
  ADD CONSTRAINT meter_event_kind_check CHECK (
    kind IN ('receive', 'stock', 'issue', 'set', 'remove', 'return', 'repair', 'seal', 'retire', 'dispose', 'take-back')),
  ADD CONSTRAINT meter_event_take_back_check
    CHECK ((kind = 'take-back') = (takes_back_id IS NOT NULL) AND (kind <> 'take-back' OR reason <> ''));
-- An event is taken back once.
CREATE UNIQUE INDEX meter_event_taken_back ON meter_event (takes_back_id) WHERE takes_back_id IS NOT NULL;
CREATE INDEX meter_event_of_move ON meter_event (move_id) WHERE move_id IS NOT NULL;
-- Which meters a service point has had.
CREATE INDEX meter_event_set_at ON meter_event (place_id, performed_at) WHERE kind = 'set';
GRANT INSERT (move_id, takes_back_id, reading_note) ON meter_event TO sealbook_app;

-- What stands of a meter's life.
CREATE VIEW standing_meter_event AS
  SELECT v.* FROM meter_event v
  WHERE v.kind <> 'take-back' AND NOT EXISTS (SELECT FROM meter_event b WHERE b.takes_back_id = v.id);
GRANT SELECT ON standing_meter_event TO sealbook_app;

-- Invariant: an event is taken back at its own meter, and what takes back is not itself taken back.
CREATE FUNCTION require_take_back_of_own() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  IF NOT EXISTS (
    SELECT FROM meter_event v WHERE v.id = NEW.takes_back_id AND v.meter_id = NEW.meter_id AND v.kind <> 'take-back')
  THEN
    RAISE EXCEPTION 'an event is taken back at its own meter' USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NEW;
END
$$;
CREATE TRIGGER take_back BEFORE INSERT ON meter_event
  FOR EACH ROW WHEN (NEW.takes_back_id IS NOT NULL) EXECUTE FUNCTION require_take_back_of_own();
ALTER TABLE meter_event ENABLE ALWAYS TRIGGER take_back;

CREATE TABLE seal_change (
  event_id uuid NOT NULL REFERENCES meter_event,
  change text NOT NULL CHECK (change IN ('on', 'off')),
  number text NOT NULL,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  PRIMARY KEY (event_id, change, number)
);
SELECT make_append_only('seal_change', 'event_id, change, number, entry_id');
SELECT make_entered('seal_change');

-- A legal hold: while one stands, the meter is not moved, repaired, adjusted, retired or disposed of.
CREATE TABLE meter_hold (
  id uuid PRIMARY KEY,
  meter_id uuid NOT NULL REFERENCES meter,
  reason text NOT NULL,
  recorded_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
CREATE INDEX meter_hold_of ON meter_hold (meter_id);
SELECT make_append_only('meter_hold', 'id, meter_id, reason, entry_id');
SELECT make_entered('meter_hold');

CREATE TABLE meter_hold_lift (
  hold_id uuid PRIMARY KEY REFERENCES meter_hold,
  reason text NOT NULL,
  recorded_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
SELECT make_append_only('meter_hold_lift', 'hold_id, reason, entry_id');
SELECT make_entered('meter_hold_lift');

CREATE VIEW standing_meter_hold AS
  SELECT h.* FROM meter_hold h WHERE NOT EXISTS (SELECT FROM meter_hold_lift l WHERE l.hold_id = h.id);
GRANT SELECT ON standing_meter_hold TO sealbook_app;

-- ---------------------------------------------------------------------------------------------------------------
-- What to settle: findings that a job computes again and again, and what people said of them, once and for ever.

CREATE TABLE inventory_check (
  number integer GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
  asked_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  finished_at timestamptz(3),
  found integer,
  failure text
);
-- A default of a bare INSERT is allowed by the right to insert any column.
GRANT SELECT, INSERT (finished_at), UPDATE (finished_at, found, failure) ON inventory_check TO sealbook_app;

-- The key names the rule and the very figures that disagree: others than those are another finding.
CREATE TABLE inventory_flag (
  number integer GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
  key text NOT NULL UNIQUE,
  rule text NOT NULL CHECK (rule IN ('same-serial', 'event-before-purchase', 'test-before-receipt', 'type-disagrees')),
  meter_id uuid REFERENCES meter,
  type_id uuid REFERENCES meter_type,
  facts text NOT NULL CHECK (facts IS JSON OBJECT),
  found_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  -- Gone: no longer so, without anybody having said anything of it.
  state text NOT NULL DEFAULT 'open' CHECK (state IN ('open', 'settled', 'gone')),
  CHECK ((meter_id IS NULL) <> (type_id IS NULL))
);
CREATE INDEX inventory_flag_by_state ON inventory_flag (state, number);
CREATE INDEX inventory_flag_meter ON inventory_flag (meter_id) WHERE meter_id IS NOT NULL;
GRANT SELECT, INSERT (key, rule, meter_id, type_id, facts), UPDATE (state) ON inventory_flag TO sealbook_app;

CREATE TABLE inventory_settlement (
  id uuid PRIMARY KEY,
  flag_number integer NOT NULL UNIQUE REFERENCES inventory_flag,
  verdict text NOT NULL CHECK (verdict IN ('right', 'corrected')),
  reason text NOT NULL,
  recorded_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
SELECT make_append_only('inventory_settlement', 'id, flag_number, verdict, reason, entry_id');
SELECT make_entered('inventory_settlement');
