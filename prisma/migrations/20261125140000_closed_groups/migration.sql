-- A group that was not accepted closes once its corrective actions are done.

ALTER TABLE lot
  DROP CONSTRAINT lot_disposition_check,
  ADD CONSTRAINT lot_disposition_check
    CHECK (disposition IN ('released', 'returned', 'resubmitted', 'kept-in-service', 'corrected')),
  ADD CONSTRAINT lot_corrected_check CHECK (disposition <> 'corrected' OR kind = 'in-service');

-- Invariant: such a group had corrective actions, and all of them are done.
CREATE FUNCTION require_done_actions() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  IF NOT EXISTS (SELECT FROM corrective_action WHERE lot_id = NEW.id)
    OR EXISTS (SELECT FROM corrective_action WHERE lot_id = NEW.id AND done_on IS NULL)
    OR NOT EXISTS (SELECT FROM decision WHERE lot_id = NEW.id AND outcome = 'not-accepted')
  THEN
    RAISE EXCEPTION 'a group that was not accepted closes once its corrective actions are done'
      USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NEW;
END
$$;
CREATE TRIGGER corrected BEFORE UPDATE OF disposition ON lot
  FOR EACH ROW WHEN (NEW.disposition = 'corrected' AND OLD.disposition IS DISTINCT FROM NEW.disposition)
  EXECUTE FUNCTION require_done_actions();
ALTER TABLE lot ENABLE ALWAYS TRIGGER corrected;
