-- Finding among millions: what lists, searches and due dates ask of a meter, kept beside it.

-- Numbers are codes: they compare byte by byte, so that pages by key and searches by beginning use the same index
-- whatever the database's own collation is.
ALTER TABLE meter ALTER COLUMN utility_number TYPE text COLLATE "C", ALTER COLUMN serial TYPE text COLLATE "C";
ALTER TABLE service_point ALTER COLUMN number TYPE text COLLATE "C";

-- Addresses are found by any part while they stand; an erased one leaves the index with its value.
CREATE INDEX personal_value_address_part ON personal_value USING gin (value gin_trgm_ops) WHERE kind = 'address';
CREATE INDEX service_point_address ON service_point (address_id);
CREATE INDEX service_point_area ON service_point (area, id);

-- ---------------------------------------------------------------------------------------------------------------
-- How often a type is tested where a profile holds: worked out from the newest profiles, one row a pair.

CREATE TABLE test_interval (
  jurisdiction text NOT NULL,
  type_id uuid NOT NULL REFERENCES meter_type,
  -- Null: the rules name no interval for this type.
  months integer CHECK (months > 0),
  source text NOT NULL DEFAULT '',
  -- Whether the due dates of the meters concerned follow this row already.
  applied boolean NOT NULL DEFAULT false,
  PRIMARY KEY (jurisdiction, type_id)
);
CREATE INDEX test_interval_type ON test_interval (type_id);
GRANT SELECT, INSERT, UPDATE, DELETE ON test_interval TO sealbook_app;

-- ---------------------------------------------------------------------------------------------------------------
-- Where a meter stands: its last test, when it was set, when it is due. It follows from tests, events and intervals, and
-- triggers alone write it, so that no way of putting records in can leave it behind. For the same reason it needs no
-- foreign keys, which a row of each imported meter would pay for.

CREATE TABLE meter_standing (
  meter_id uuid PRIMARY KEY,
  -- The newest test by when it was performed, of those neither superseded nor withdrawn.
  last_test_id uuid,
  last_test_at timestamptz(3),
  last_verdict text,
  -- The newest of these that came to a figure: a meter that could not be tested is as due as before.
  measured_at timestamptz(3),
  -- The newest setting at a service point.
  set_at timestamptz(3),
  -- Local date by which a meter in service is to be tested; null where no interval holds or nothing is known to count from.
  due_on date
);
-- In the order of lists: those without a date come last, by id.
CREATE INDEX meter_standing_last_test ON meter_standing (last_test_at, meter_id);
CREATE INDEX meter_standing_due ON meter_standing (due_on, meter_id);
CREATE INDEX meter_standing_set ON meter_standing (set_at) WHERE set_at IS NOT NULL;
CREATE INDEX meter_standing_not_passed ON meter_standing (last_verdict, meter_id) WHERE last_verdict <> 'pass';
GRANT SELECT ON meter_standing TO sealbook_app;

-- Works the standing of some meters out anew. The rows are locked before the tests are read: of two people who record at
-- once, the second sees what the first has committed.
CREATE FUNCTION refresh_meter_standing(wanted uuid[]) RETURNS void
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public
  AS $$
BEGIN
  PERFORM FROM meter_standing WHERE meter_id = ANY (wanted) ORDER BY meter_id FOR UPDATE;
  INSERT INTO meter_standing AS s (meter_id, last_test_id, last_test_at, last_verdict, measured_at, set_at, due_on)
  SELECT m.id, last.id, last.performed_at, last.verdict_as_found, measured.performed_at, placed.performed_at,
    CASE WHEN m.state = 'in-service' THEN
      ((coalesce(measured.performed_at, placed.performed_at) AT TIME ZONE shop.time_zone)::date
        + make_interval(months => i.months))::date
    END
  FROM meter m
  CROSS JOIN shop
  LEFT JOIN service_point p ON p.id = m.place_id
  LEFT JOIN test_interval i ON i.type_id = m.type_id AND i.jurisdiction = coalesce(p.jurisdiction, shop.home_jurisdiction)
  LEFT JOIN LATERAL (
    SELECT t.id, t.performed_at, t.verdict_as_found FROM meter_test t
    WHERE t.meter_id = m.id AND t.outcome <> 'withdrawn'
      AND NOT EXISTS (SELECT FROM meter_test n WHERE n.supersedes_id = t.id)
    ORDER BY t.performed_at DESC, t.id DESC LIMIT 1
  ) last ON true
  LEFT JOIN LATERAL (
    SELECT t.performed_at FROM meter_test t
    WHERE t.meter_id = m.id AND t.outcome = 'tested'
      AND NOT EXISTS (SELECT FROM meter_test n WHERE n.supersedes_id = t.id)
    ORDER BY t.performed_at DESC, t.id DESC LIMIT 1
  ) measured ON last.id IS NOT NULL
  LEFT JOIN LATERAL (
    SELECT e.performed_at FROM standing_meter_event e
    WHERE e.meter_id = m.id AND e.kind = 'set'
    ORDER BY e.performed_at DESC, e.id DESC LIMIT 1
  ) placed ON true
  WHERE m.id = ANY (wanted)
  ORDER BY m.id
  ON CONFLICT (meter_id) DO UPDATE
  SET last_test_id = excluded.last_test_id, last_test_at = excluded.last_test_at, last_verdict = excluded.last_verdict,
    measured_at = excluded.measured_at, set_at = excluded.set_at, due_on = excluded.due_on
  WHERE (s.last_test_id, s.last_test_at, s.last_verdict, s.measured_at, s.set_at, s.due_on) IS DISTINCT FROM
    (excluded.last_test_id, excluded.last_test_at, excluded.last_verdict, excluded.measured_at, excluded.set_at, excluded.due_on);
END
$$;

-- A new meter has neither tests nor events yet: they point to it.
CREATE FUNCTION begin_meter_standing() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public
  AS $$
BEGIN
  INSERT INTO meter_standing (meter_id) SELECT id FROM added;
  RETURN NULL;
END
$$;
CREATE TRIGGER standing AFTER INSERT ON meter REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION begin_meter_standing();
ALTER TABLE meter ENABLE ALWAYS TRIGGER standing;

CREATE FUNCTION follow_moved_meters() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public
  AS $$
DECLARE
  moved uuid[];
BEGIN
  SELECT array_agg(a.id) INTO moved FROM after a JOIN before b ON b.id = a.id
  WHERE (a.state, a.place_id, a.type_id) IS DISTINCT FROM (b.state, b.place_id, b.type_id);
  IF moved IS NOT NULL THEN PERFORM refresh_meter_standing(moved); END IF;
  RETURN NULL;
END
$$;
CREATE TRIGGER standing_moved AFTER UPDATE ON meter REFERENCING OLD TABLE AS before NEW TABLE AS after
  FOR EACH STATEMENT EXECUTE FUNCTION follow_moved_meters();
ALTER TABLE meter ENABLE ALWAYS TRIGGER standing_moved;

CREATE FUNCTION follow_tests() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public
  AS $$
DECLARE
  tested uuid[];
BEGIN
  SELECT array_agg(DISTINCT meter_id) INTO tested FROM added;
  IF tested IS NOT NULL THEN PERFORM refresh_meter_standing(tested); END IF;
  RETURN NULL;
END
$$;
CREATE TRIGGER standing AFTER INSERT ON meter_test REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION follow_tests();
ALTER TABLE meter_test ENABLE ALWAYS TRIGGER standing;

CREATE FUNCTION follow_settings() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public
  AS $$
DECLARE
  placed uuid[];
BEGIN
  SELECT array_agg(DISTINCT meter_id) INTO placed FROM added WHERE kind IN ('set', 'take-back');
  IF placed IS NOT NULL THEN PERFORM refresh_meter_standing(placed); END IF;
  RETURN NULL;
END
$$;
CREATE TRIGGER standing AFTER INSERT ON meter_event REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION follow_settings();
ALTER TABLE meter_event ENABLE ALWAYS TRIGGER standing;

-- The server may ask for meters to be worked out anew, where an interval or the shop's zone has changed.
REVOKE ALL ON FUNCTION refresh_meter_standing(uuid[]) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION refresh_meter_standing(uuid[]) TO sealbook_app;

SELECT refresh_meter_standing(array_agg(id)) FROM meter;

-- ---------------------------------------------------------------------------------------------------------------
-- Views of a list that people keep by name. They are their owner's own notes and no records.

CREATE TABLE saved_view (
  id uuid PRIMARY KEY,
  owner_id uuid NOT NULL DEFAULT current_actor() REFERENCES account,
  list text NOT NULL CHECK (list IN ('meters')),
  name text NOT NULL,
  shared boolean NOT NULL,
  body text NOT NULL CHECK (body IS JSON OBJECT),
  version integer NOT NULL DEFAULT 1,
  UNIQUE (owner_id, list, name)
);
CREATE INDEX saved_view_of ON saved_view (list, name, id);
GRANT SELECT, INSERT (id, list, name, shared, body), UPDATE (name, shared, body, version), DELETE ON saved_view TO sealbook_app;

-- ---------------------------------------------------------------------------------------------------------------
-- Who takes a piece of work.

ALTER TABLE work_item ADD COLUMN assignee_id uuid REFERENCES account;
GRANT INSERT (assignee_id), UPDATE (assignee_id) ON work_item TO sealbook_app;
DROP INDEX work_item_due;
CREATE INDEX work_item_due ON work_item ((coalesce(due_on, 'infinity')), id)
  WHERE done_by_test_id IS NULL AND closed_reason IS NULL;
CREATE INDEX work_item_assignee ON work_item (assignee_id, (coalesce(due_on, 'infinity')), id)
  WHERE done_by_test_id IS NULL AND closed_reason IS NULL;
