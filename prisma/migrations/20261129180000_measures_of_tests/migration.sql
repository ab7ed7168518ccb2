-- What a report counts of a test, one row a test: its registrations at the three loads of each pass, what of them was
-- outside its limits, creep as left. A year's summary reads this instead of grouping some millions of points and opening
-- the texts of entries. It follows from points and tests, which never change, and triggers alone write it.

CREATE TABLE test_measures (
  test_id uuid PRIMARY KEY,
  -- Percent. Of a load that a plan has twice the greater registration stands.
  full_load_as_found numeric,
  light_load_as_found numeric,
  power_factor_as_found numeric,
  -- Roles of the points that were outside their limits, and 'average', with commas between them; null for none.
  outside_as_found text,
  full_load_as_left numeric,
  light_load_as_left numeric,
  power_factor_as_left numeric,
  outside_as_left text,
  creeping_as_left boolean
);
GRANT SELECT ON test_measures TO sealbook_app;

-- Whether a meter creeps as left: as found where nothing was adjusted, else what was entered with the second pass.
CREATE FUNCTION creeping_as_left(verdict text, creeping_as_found boolean, entry_body text) RETURNS boolean
  LANGUAGE sql IMMUTABLE
  AS $$
SELECT CASE WHEN verdict IS NULL THEN NULL
  WHEN position('"asLeft":{"kind":"same"}' IN entry_body) > 0 THEN creeping_as_found
  ELSE nullif(entry_body::json #>> '{outcome,asLeft,pass,creep}', 'not-checked') = 'creeps' END
$$;

-- The statement that works the measures out for the points of a table: the points of a test come together.
CREATE FUNCTION statement_for_measures(source text) RETURNS text
  LANGUAGE sql IMMUTABLE
  AS $body$
SELECT format($$
  INSERT INTO public.test_measures
  SELECT p.test_id, p.found_full_load, p.found_light_load, p.found_power_factor,
    nullif(concat_ws(',', p.outside_as_found,
      CASE WHEN t.verdict_as_found = 'fail' AND t.evaluation::json #>> '{asFound,average,verdict}' = 'fail' THEN 'average' END), ''),
    p.left_full_load, p.left_light_load, p.left_power_factor,
    nullif(concat_ws(',', p.outside_as_left,
      CASE WHEN t.verdict_as_left = 'fail' AND t.evaluation::json #>> '{asLeft,average,verdict}' = 'fail' THEN 'average' END), ''),
    creeping_as_left(t.verdict_as_left, t.creeping, t.entry_body)
  FROM (
    SELECT test_id,
      max(registration_percent) FILTER (WHERE pass = 'as-found' AND role = 'full-load') AS found_full_load,
      max(registration_percent) FILTER (WHERE pass = 'as-found' AND role = 'light-load') AS found_light_load,
      max(registration_percent) FILTER (WHERE pass = 'as-found' AND role = 'power-factor') AS found_power_factor,
      string_agg(DISTINCT role, ',') FILTER (WHERE pass = 'as-found' AND verdict = 'fail') AS outside_as_found,
      max(registration_percent) FILTER (WHERE pass = 'as-left' AND role = 'full-load') AS left_full_load,
      max(registration_percent) FILTER (WHERE pass = 'as-left' AND role = 'light-load') AS left_light_load,
      max(registration_percent) FILTER (WHERE pass = 'as-left' AND role = 'power-factor') AS left_power_factor,
      string_agg(DISTINCT role, ',') FILTER (WHERE pass = 'as-left' AND verdict = 'fail') AS outside_as_left
    FROM %s GROUP BY test_id
  ) p JOIN public.meter_test t ON t.id = p.test_id
  ON CONFLICT (test_id) DO UPDATE SET (full_load_as_found, light_load_as_found, power_factor_as_found, outside_as_found,
      full_load_as_left, light_load_as_left, power_factor_as_left, outside_as_left) =
    (excluded.full_load_as_found, excluded.light_load_as_found, excluded.power_factor_as_found, excluded.outside_as_found,
      excluded.full_load_as_left, excluded.light_load_as_left, excluded.power_factor_as_left, excluded.outside_as_left)$$, source)
$body$;

-- A test of which no point was complete has measures, too: what else it can be, passed it is not.
CREATE FUNCTION begin_test_measures() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
  AS $$
BEGIN
  INSERT INTO test_measures (test_id, creeping_as_left)
  SELECT id, creeping_as_left(verdict_as_left, creeping, entry_body) FROM added
  WHERE outcome = 'tested' AND verdict_as_found <> 'pass';
  RETURN NULL;
END
$$;
CREATE TRIGGER measures AFTER INSERT ON meter_test REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION begin_test_measures();
ALTER TABLE meter_test ENABLE ALWAYS TRIGGER measures;
INSERT INTO test_measures (test_id, creeping_as_left)
SELECT id, creeping_as_left(verdict_as_left, creeping, entry_body) FROM meter_test
WHERE outcome = 'tested' AND verdict_as_found <> 'pass';

DO $$
BEGIN
  EXECUTE format(
    'CREATE FUNCTION follow_points() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
     AS $body$ BEGIN %s; RETURN NULL; END $body$',
    statement_for_measures('added'));
  EXECUTE statement_for_measures('public.meter_test_point');
END
$$;
REVOKE ALL ON FUNCTION statement_for_measures(text), follow_points(), begin_test_measures() FROM PUBLIC;
CREATE TRIGGER measures AFTER INSERT ON meter_test_point REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION follow_points();
ALTER TABLE meter_test_point ENABLE ALWAYS TRIGGER measures;

-- A meter's tests in order, with what says whether one counts: whoever asks for the test before needs no more than this.
DROP INDEX meter_test_of;
CREATE INDEX meter_test_of ON meter_test (meter_id, performed_at DESC, id, outcome, recorded_at);
