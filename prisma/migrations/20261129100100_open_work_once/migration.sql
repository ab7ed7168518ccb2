-- A test of a meter is asked for once for a reason, until it is made. What a draw asks for is its own.

-- Of work that was asked for twice the older piece stays.
ALTER TABLE work_item DISABLE TRIGGER entered;
UPDATE work_item w SET closed_reason = 'Asked for twice: the older piece of work stays.'
WHERE w.draw_id IS NULL AND w.done_by_test_id IS NULL AND w.closed_reason IS NULL AND EXISTS (
  SELECT FROM work_item o WHERE o.meter_id = w.meter_id AND o.reason = w.reason AND o.draw_id IS NULL
    AND o.done_by_test_id IS NULL AND o.closed_reason IS NULL AND (o.opened_at, o.id) < (w.opened_at, w.id)
);
ALTER TABLE work_item ENABLE ALWAYS TRIGGER entered;

CREATE UNIQUE INDEX work_item_open_reason ON work_item (meter_id, reason)
  WHERE draw_id IS NULL AND done_by_test_id IS NULL AND closed_reason IS NULL;
