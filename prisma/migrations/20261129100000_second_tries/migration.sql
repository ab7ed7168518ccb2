-- A group that was not accepted may be tried a second time, where its plan knows of such a try: as a lot of its own.

ALTER TABLE lot
  ADD COLUMN second_try_of_id uuid REFERENCES lot,
  ADD CONSTRAINT lot_second_try_check CHECK (second_try_of_id IS NULL OR kind = 'in-service'),
  DROP CONSTRAINT lot_disposition_check,
  ADD CONSTRAINT lot_disposition_check
    CHECK (disposition IN ('released', 'returned', 'resubmitted', 'kept-in-service', 'corrected', 'tried-again')),
  ADD CONSTRAINT lot_tried_again_check CHECK (disposition <> 'tried-again' OR kind = 'in-service');
-- One that is given up before its draw leaves room for another.
CREATE UNIQUE INDEX lot_second_try ON lot (second_try_of_id) WHERE state <> 'withdrawn';
GRANT INSERT (second_try_of_id) ON lot TO sealbook_app;

-- Invariant: a second try follows the approved refusal of the same group, and there is no third.
CREATE FUNCTION require_refused_first_try() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  IF NOT EXISTS (
    SELECT FROM lot l JOIN decision k ON k.lot_id = l.id
    WHERE l.id = NEW.second_try_of_id AND l.state = 'approved' AND k.outcome = 'not-accepted' AND l.second_try_of_id IS NULL
      AND l.series = NEW.series AND l.programme_id = NEW.programme_id)
  THEN
    RAISE EXCEPTION 'a second try follows the approved refusal of the same group' USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NEW;
END
$$;
CREATE TRIGGER refused_before BEFORE INSERT ON lot
  FOR EACH ROW WHEN (NEW.second_try_of_id IS NOT NULL) EXECUTE FUNCTION require_refused_first_try();
ALTER TABLE lot ENABLE ALWAYS TRIGGER refused_before;

-- Invariant: the first try closes for the second one's sake only once that one's decision is approved.
CREATE FUNCTION require_approved_second_try() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  IF NOT EXISTS (SELECT FROM lot s WHERE s.second_try_of_id = NEW.id AND s.state IN ('approved', 'closed')) THEN
    RAISE EXCEPTION 'a first try closes once the second is approved' USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NEW;
END
$$;
CREATE TRIGGER by_second_try BEFORE UPDATE OF disposition ON lot
  FOR EACH ROW WHEN (NEW.disposition = 'tried-again' AND OLD.disposition IS DISTINCT FROM NEW.disposition)
  EXECUTE FUNCTION require_approved_second_try();
ALTER TABLE lot ENABLE ALWAYS TRIGGER by_second_try;
