-- A follow-up that was recorded in error is taken back by an event that names it. Both stay on record.

ALTER TABLE draw_event
  ADD COLUMN takes_back_id uuid UNIQUE REFERENCES draw_event,
  DROP CONSTRAINT draw_event_kind_check,
  ADD CONSTRAINT draw_event_kind_check CHECK (
    kind IN ('asked', 'pulled', 'received', 'not-reached', 'moved', 'retired', 'left-out', 'called-up', 'taken-back')),
  -- The note of such an event says why.
  ADD CONSTRAINT draw_event_taken_back_check
    CHECK ((kind = 'taken-back') = (takes_back_id IS NOT NULL) AND (kind <> 'taken-back' OR note <> ''));
GRANT INSERT (takes_back_id) ON draw_event TO sealbook_app;

-- What stands of the follow-up.
CREATE VIEW standing_draw_event AS
  SELECT v.* FROM draw_event v
  WHERE v.kind <> 'taken-back' AND NOT EXISTS (SELECT FROM draw_event b WHERE b.takes_back_id = v.id);
GRANT SELECT ON standing_draw_event TO sealbook_app;

-- Invariant: a meter leaves the sample once, and a spare is called up once, unless that was taken back; an event is taken
-- back once, at its own meter, while the lot is undecided. The lock puts those who write of one draw one after the other.
DROP INDEX draw_event_out;
DROP INDEX draw_event_called_up;
CREATE FUNCTION require_standing_events() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  PERFORM pg_advisory_xact_lock(hashtextextended(NEW.draw_id::text, 0));
  IF NEW.kind IN ('not-reached', 'moved', 'retired', 'left-out') AND EXISTS (
    SELECT FROM standing_draw_event v WHERE v.draw_id = NEW.draw_id AND v.position = NEW.position
      AND v.kind IN ('not-reached', 'moved', 'retired', 'left-out'))
  THEN
    RAISE EXCEPTION 'a meter leaves the sample once' USING ERRCODE = 'unique_violation', CONSTRAINT = 'draw_event_out';
  END IF;
  IF NEW.kind = 'called-up' AND EXISTS (
    SELECT FROM standing_draw_event v WHERE v.draw_id = NEW.draw_id AND v.position = NEW.position AND v.kind = 'called-up')
  THEN
    RAISE EXCEPTION 'a spare is called up once' USING ERRCODE = 'unique_violation', CONSTRAINT = 'draw_event_called_up';
  END IF;
  IF NEW.kind = 'taken-back' AND NOT EXISTS (
    SELECT FROM draw_event v JOIN draw d ON d.id = v.draw_id JOIN draw_list l ON l.id = d.list_id JOIN lot o ON o.id = l.lot_id
    WHERE v.id = NEW.takes_back_id AND v.draw_id = NEW.draw_id AND v.position = NEW.position AND v.kind <> 'taken-back'
      AND o.state = 'drawn')
  THEN
    RAISE EXCEPTION 'an event is taken back at its own meter, while the lot is undecided' USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NEW;
END
$$;
CREATE TRIGGER standing BEFORE INSERT ON draw_event FOR EACH ROW EXECUTE FUNCTION require_standing_events();
ALTER TABLE draw_event ENABLE ALWAYS TRIGGER standing;
