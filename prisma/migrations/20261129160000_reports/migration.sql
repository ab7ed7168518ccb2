-- Reports of a period: a draft, its figures once they are fixed for review, and its release. Each step is a row that never
-- changes; what a report is at a moment follows from which of them there are. A correction is a report of its own, the
-- next edition.

CREATE TABLE report (
  id uuid PRIMARY KEY,
  title text NOT NULL,
  -- Whose rules the tests were judged by: the jurisdiction is the profile's key, this version is the one in force.
  profile_id uuid NOT NULL REFERENCES rule_profile,
  -- Whose accuracy bands the tests are counted in.
  layout_profile_id uuid NOT NULL REFERENCES rule_profile,
  -- Only tests performed here; null for every place.
  place_id uuid REFERENCES place,
  period_from date NOT NULL,
  period_to date NOT NULL,
  edition integer NOT NULL DEFAULT 1 CHECK (edition BETWEEN 1 AND 999),
  -- The released report that this edition stands in for.
  corrects_id uuid UNIQUE REFERENCES report,
  correction_reason text,
  created_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  CHECK (period_to >= period_from),
  CHECK ((corrects_id IS NULL) = (edition = 1)),
  CHECK ((corrects_id IS NULL) = (correction_reason IS NULL))
);
CREATE INDEX report_newest ON report (created_at DESC, id DESC);
SELECT make_append_only('report', 'id, title, profile_id, layout_profile_id, place_id, period_from, period_to, edition, '
  'corrects_id, correction_reason, entry_id');
SELECT make_entered('report');

-- The figures, fixed when a second person reviewed them. Whatever is recorded later stands in the next edition.
CREATE TABLE report_figures (
  report_id uuid PRIMARY KEY REFERENCES report,
  -- Tests recorded up to this moment are in.
  cutoff timestamptz(3) NOT NULL,
  body text NOT NULL CHECK (body IS JSON OBJECT),
  sha256 text NOT NULL CHECK (sha256 ~ '^[0-9a-f]{64}$'),
  -- The period's manifest: how many records of tests, and the RFC 6962 root over their texts in order of their ids.
  test_count integer NOT NULL CHECK (test_count >= 0),
  test_root text NOT NULL CHECK (test_root ~ '^[0-9a-f]{64}$'),
  -- Those texts, one a line, compressed.
  tests_file_id uuid NOT NULL REFERENCES file,
  recorded_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
SELECT make_append_only('report_figures', 'report_id, cutoff, body, sha256, test_count, test_root, tests_file_id, entry_id');
SELECT make_entered('report_figures');

CREATE TABLE report_release (
  report_id uuid PRIMARY KEY REFERENCES report_figures,
  pdf_file_id uuid NOT NULL REFERENCES file,
  released_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
SELECT make_append_only('report_release', 'report_id, pdf_file_id, entry_id');
SELECT make_entered('report_release');

CREATE TABLE report_withdrawal (
  report_id uuid PRIMARY KEY REFERENCES report,
  reason text NOT NULL,
  withdrawn_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  actor_id uuid DEFAULT current_actor() REFERENCES account,
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
SELECT make_append_only('report_withdrawal', 'report_id, reason, entry_id');
SELECT make_entered('report_withdrawal');

-- A report is released or withdrawn, never both. Both lock the report's row first, so that the second sees the first.
CREATE FUNCTION refuse_second_end() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp
  AS $$
BEGIN
  PERFORM FROM report WHERE id = NEW.report_id FOR NO KEY UPDATE;
  IF EXISTS (SELECT FROM report_release WHERE report_id = NEW.report_id)
    OR EXISTS (SELECT FROM report_withdrawal WHERE report_id = NEW.report_id) THEN
    RAISE EXCEPTION 'this report is released or withdrawn already' USING ERRCODE = 'unique_violation', CONSTRAINT = 'report_ends_once';
  END IF;
  RETURN NEW;
END
$$;
REVOKE ALL ON FUNCTION refuse_second_end() FROM PUBLIC;
CREATE TRIGGER ends_once BEFORE INSERT ON report_release FOR EACH ROW EXECUTE FUNCTION refuse_second_end();
CREATE TRIGGER ends_once BEFORE INSERT ON report_withdrawal FOR EACH ROW EXECUTE FUNCTION refuse_second_end();
ALTER TABLE report_release ENABLE ALWAYS TRIGGER ends_once;
ALTER TABLE report_withdrawal ENABLE ALWAYS TRIGGER ends_once;

-- Whoever drafted a report neither reviews nor releases it.
CREATE TRIGGER report_by_two BEFORE INSERT ON signature FOR EACH ROW
  WHEN (NEW.subject_type = 'report' AND NEW.meaning IN ('reviewed', 'released'))
  EXECUTE FUNCTION refuse_approver_who_made('report', 'actor_id', 'subject_id');
ALTER TABLE signature ENABLE ALWAYS TRIGGER report_by_two;
