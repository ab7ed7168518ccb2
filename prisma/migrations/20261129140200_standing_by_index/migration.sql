-- Each meter's own tests and events are read by index and gathered, whatever the statistics say: while millions of rows come
-- in, the tables look empty to the planner until they are next analysed, and it would read them from end to end, or by date,
-- once a meter. A test is superseded, and an event taken back, by another one of the same meter.
CREATE OR REPLACE FUNCTION refresh_meter_standing(wanted uuid[]) RETURNS void
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public
  SET enable_seqscan = off SET enable_hashjoin = off SET enable_mergejoin = off SET enable_material = off
  SET enable_bitmapscan = off
  AS $$
BEGIN
  PERFORM FROM meter_standing WHERE meter_id = ANY (wanted) ORDER BY meter_id FOR UPDATE;
  INSERT INTO meter_standing AS s (meter_id, last_test_id, last_test_at, last_verdict, measured_at, set_at, due_on)
  SELECT m.id, tests.last_id, tests.last_at, tests.last_verdict, tests.measured_at, events.set_at,
    CASE WHEN m.state = 'in-service' THEN
      ((coalesce(tests.measured_at, events.set_at) AT TIME ZONE shop.time_zone)::date + make_interval(months => i.months))::date
    END
  FROM unnest(wanted) AS w (id)
  JOIN meter m ON m.id = w.id
  CROSS JOIN shop
  LEFT JOIN service_point p ON p.id = m.place_id
  LEFT JOIN test_interval i ON i.type_id = m.type_id AND i.jurisdiction = coalesce(p.jurisdiction, shop.home_jurisdiction)
  CROSS JOIN LATERAL (
    SELECT coalesce(array_agg(supersedes_id) FILTER (WHERE supersedes_id IS NOT NULL), '{}') AS ids
    FROM meter_test WHERE meter_id = m.id
  ) superseded
  CROSS JOIN LATERAL (
    SELECT (array_agg(t.id ORDER BY t.performed_at DESC, t.id DESC))[1] AS last_id,
      max(t.performed_at) AS last_at,
      (array_agg(t.verdict_as_found ORDER BY t.performed_at DESC, t.id DESC))[1] AS last_verdict,
      max(t.performed_at) FILTER (WHERE t.outcome = 'tested') AS measured_at
    FROM meter_test t WHERE t.meter_id = m.id AND t.outcome <> 'withdrawn' AND t.id <> ALL (superseded.ids)
  ) tests
  CROSS JOIN LATERAL (
    SELECT coalesce(array_agg(takes_back_id) FILTER (WHERE takes_back_id IS NOT NULL), '{}') AS ids
    FROM meter_event WHERE meter_id = m.id
  ) taken_back
  CROSS JOIN LATERAL (
    SELECT max(e.performed_at) FILTER (WHERE e.kind = 'set' AND e.id <> ALL (taken_back.ids)) AS set_at
    FROM meter_event e WHERE e.meter_id = m.id
  ) events
  ON CONFLICT (meter_id) DO UPDATE
  SET last_test_id = excluded.last_test_id, last_test_at = excluded.last_test_at, last_verdict = excluded.last_verdict,
    measured_at = excluded.measured_at, set_at = excluded.set_at, due_on = excluded.due_on
  WHERE (s.last_test_id, s.last_test_at, s.last_verdict, s.measured_at, s.set_at, s.due_on) IS DISTINCT FROM
    (excluded.last_test_id, excluded.last_test_at, excluded.last_verdict, excluded.measured_at, excluded.set_at, excluded.due_on);
END
$$;
