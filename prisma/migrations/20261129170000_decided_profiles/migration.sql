-- A version of a rule profile judges tests once a person other than its author has approved it, from a date on.
-- What is proposed and what is decided are both append-only, so neither can be exchanged for the other afterwards.

CREATE TABLE rule_profile_decision (
  profile_id uuid PRIMARY KEY REFERENCES rule_profile,
  outcome text NOT NULL CHECK (outcome IN ('approved', 'declined')),
  -- First local date of tests that it judges; null from the beginning.
  effective_from date,
  reason text NOT NULL,
  decided_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  CHECK (outcome = 'approved' OR effective_from IS NULL)
);
SELECT make_append_only('rule_profile_decision', 'profile_id, outcome, effective_from, reason, entry_id');
SELECT make_entered('rule_profile_decision');

-- Invariant: nobody decides on a profile of their own. A profile's author never changes, so there is nothing to race.
-- The service itself (null) may adopt what came with it, and only that.
CREATE FUNCTION require_other_author() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
DECLARE
  author uuid;
BEGIN
  SELECT actor_id INTO author FROM rule_profile WHERE id = NEW.profile_id;
  IF author IS NOT NULL AND (NEW.actor_id IS NULL OR NEW.actor_id = author) THEN
    RAISE EXCEPTION 'the author of a rule profile does not decide on it'
      USING ERRCODE = 'restrict_violation', CONSTRAINT = 'rule_profile_decision_author';
  END IF;
  RETURN NEW;
END
$$;
CREATE TRIGGER other_author BEFORE INSERT ON rule_profile_decision FOR EACH ROW EXECUTE FUNCTION require_other_author();
ALTER TABLE rule_profile_decision ENABLE ALWAYS TRIGGER other_author;

-- Versions on record before now came with the service and have judged tests: they are adopted, each with its entry.
DO $$
DECLARE
  profile record;
  entry uuid;
BEGIN
  FOR profile IN SELECT id, key, version FROM rule_profile ORDER BY key, version::int LOOP
    -- A UUID of version 7: the milliseconds in front, then chance.
    entry := encode(set_bit(set_bit(overlay(uuid_send(gen_random_uuid())
      PLACING substring(int8send((extract(epoch FROM clock_timestamp()) * 1000)::bigint) FROM 3) FROM 1 FOR 6), 52, 1), 53, 1), 'hex')::uuid;
    INSERT INTO ledger_entry (id, action, subject_type, subject_id, reason, payload)
    VALUES (entry, 'profile.decide', 'profile', profile.id::text, 'In use before profiles were approved',
      '{"effectiveFrom":null,"key":' || to_json(profile.key)::text || ',"outcome":"approved","version":' || to_json(profile.version)::text || '}');
    INSERT INTO rule_profile_decision (profile_id, outcome, reason, entry_id)
    VALUES (profile.id, 'approved', 'In use before profiles were approved', entry);
  END LOOP;
END
$$;
