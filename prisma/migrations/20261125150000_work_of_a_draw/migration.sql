-- Work that a draw opened knows its draw, and is closed with a reason when nobody waits for it any more.

ALTER TABLE work_item
  ADD COLUMN draw_id uuid REFERENCES draw,
  ADD COLUMN closed_reason text,
  ADD CONSTRAINT work_item_closed_check CHECK (closed_reason IS NULL OR done_by_test_id IS NULL);
CREATE INDEX work_item_draw ON work_item (draw_id, meter_id) WHERE draw_id IS NOT NULL;
GRANT INSERT (draw_id), UPDATE (closed_reason) ON work_item TO sealbook_app;

-- Until now the note alone said which lot a meter was drawn for; the draw is the newest one before the work.
ALTER TABLE work_item DISABLE TRIGGER entered;
UPDATE work_item w SET draw_id = (
  SELECT d.id FROM draw_unit u JOIN draw d ON d.id = u.draw_id JOIN draw_list l ON l.id = d.list_id JOIN lot o ON o.id = l.lot_id
  WHERE u.meter_id = w.meter_id AND d.drawn_at <= w.opened_at AND starts_with(w.note, 'Lot ' || o.number || ', place ')
  ORDER BY d.drawn_at DESC LIMIT 1
);
ALTER TABLE work_item ENABLE ALWAYS TRIGGER entered;
