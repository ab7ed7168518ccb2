-- One table of signatures for every kind of record that is signed, and the count of wrong secrets.

-- The record that a signature names lives in the table of its kind: calibration in calibration, ruleProfile in
-- rule_profile. None of these tables ever loses a row, so that looking once, at the insert, holds for ever.
ALTER TABLE signature
  DROP CONSTRAINT signature_subject_id_fkey,
  DROP CONSTRAINT signature_subject_type_check,
  DROP CONSTRAINT signature_meaning_check,
  ADD CONSTRAINT signature_says CHECK (CASE subject_type
    WHEN 'meterTest' THEN meaning IN ('tested', 'withdrawn')
    WHEN 'calibration' THEN meaning IN ('recorded', 'reviewed')
    WHEN 'report' THEN meaning IN ('prepared', 'reviewed', 'released')
    WHEN 'ruleProfile' THEN meaning IN ('approved')
    ELSE false
  END);

CREATE FUNCTION require_signed_record() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
DECLARE
  kind text;
  missing uuid;
BEGIN
  FOR kind IN SELECT DISTINCT subject_type FROM added LOOP
    EXECUTE format(
      'SELECT s.subject_id FROM unnest($1) AS s (subject_id) WHERE NOT EXISTS (SELECT FROM %I r WHERE r.id = s.subject_id) LIMIT 1',
      lower(regexp_replace(kind, '([A-Z])', '_\1', 'g'))
    ) INTO missing USING (SELECT array_agg(subject_id) FROM added WHERE subject_type = kind);
    IF missing IS NOT NULL THEN
      RAISE EXCEPTION 'a signature must name a % on record', kind USING ERRCODE = 'foreign_key_violation';
    END IF;
  END LOOP;
  RETURN NULL;
END
$$;
CREATE TRIGGER signed_record AFTER INSERT ON signature REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION require_signed_record();
ALTER TABLE signature ENABLE ALWAYS TRIGGER signed_record;

-- Wrong passwords and PINs: each further one waits longer. The key is a hash of what was tried at, because people type
-- passwords into the field for the name. Not part of the record: rows go once they are a day old.
CREATE TABLE failed_try (
  key bytea PRIMARY KEY,
  tries integer NOT NULL CHECK (tries >= 1),
  last_at timestamptz(3) NOT NULL,
  free_at timestamptz(3) NOT NULL
);
CREATE INDEX failed_try_last ON failed_try (last_at);
GRANT SELECT, INSERT, UPDATE, DELETE ON failed_try TO sealbook_app;

-- Browsers from which an account has signed in before. They have a count of their own, so that a stranger who tries
-- passwords at somebody's name does not keep its owner out.
CREATE TABLE known_browser (
  token_hash bytea NOT NULL,
  account_id uuid NOT NULL REFERENCES account,
  last_used_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  PRIMARY KEY (token_hash, account_id)
);
CREATE INDEX known_browser_of ON known_browser (account_id, last_used_at);
GRANT SELECT, INSERT (token_hash, account_id), UPDATE (last_used_at), DELETE ON known_browser TO sealbook_app;
