-- Whoever had a hand in a decision does not approve it, however the two meet. Approving and adding to the decision's
-- tests both lock the decision's row first, so that the one that comes second sees what the first has done; the
-- functions run as the owner of the tables because the server's role may not lock what it may not change.

CREATE OR REPLACE FUNCTION refuse_involved_approver() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp
  AS $$
BEGIN
  PERFORM FROM decision WHERE id = NEW.decision_id FOR NO KEY UPDATE;
  IF EXISTS (SELECT FROM hands_in_decision(NEW.decision_id) h WHERE h.account_id = NEW.account_id) THEN
    RAISE EXCEPTION 'the approver had a hand in this decision' USING ERRCODE = 'restrict_violation', CONSTRAINT = 'approval_independent';
  END IF;
  RETURN NEW;
END
$$;

CREATE FUNCTION refuse_test_after_approval() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp
  AS $$
BEGIN
  PERFORM FROM decision WHERE id IN (SELECT decision_id FROM added) ORDER BY id FOR NO KEY UPDATE;
  IF EXISTS (SELECT FROM approval WHERE decision_id IN (SELECT decision_id FROM added)) THEN
    RAISE EXCEPTION 'the tests of an approved decision do not change' USING ERRCODE = 'restrict_violation', CONSTRAINT = 'decision_test_before_approval';
  END IF;
  RETURN NULL;
END
$$;
CREATE TRIGGER before_approval AFTER INSERT ON decision_test REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION refuse_test_after_approval();
ALTER TABLE decision_test ENABLE ALWAYS TRIGGER before_approval;

-- The same law for any record that one person makes and another approves: a trigger
--   BEFORE INSERT ON the approvals, FOR EACH ROW EXECUTE FUNCTION
--   refuse_approver_who_made('made table', 'column of its maker', 'column of the approval that names it')
-- An approval carries its author in account_id.
CREATE FUNCTION refuse_approver_who_made() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp
  AS $$
DECLARE
  maker uuid;
BEGIN
  EXECUTE format('SELECT %I FROM %I WHERE id = ($1).%I FOR NO KEY UPDATE', TG_ARGV[1], TG_ARGV[0], TG_ARGV[2]) INTO maker USING NEW;
  IF maker = NEW.account_id THEN
    RAISE EXCEPTION 'whoever made a record does not approve it' USING ERRCODE = 'restrict_violation', CONSTRAINT = 'approver_is_not_maker';
  END IF;
  RETURN NEW;
END
$$;

REVOKE ALL ON FUNCTION refuse_involved_approver(), refuse_test_after_approval(), refuse_approver_who_made() FROM PUBLIC;
