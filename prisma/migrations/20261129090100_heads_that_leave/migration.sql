-- Where signed heads of the log are sent, so that somebody outside holds one; and what happens when a head that left
-- shows that this database is older than it, or another.

CREATE TABLE log_outlet (
  id uuid PRIMARY KEY,
  kind text NOT NULL CHECK (kind IN ('folder', 'address')),
  target text NOT NULL,
  active boolean NOT NULL DEFAULT true,
  created_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  version integer NOT NULL DEFAULT 1,
  entry_id uuid NOT NULL REFERENCES ledger_entry
);
CREATE UNIQUE INDEX log_outlet_once ON log_outlet (kind, target) WHERE active;
SELECT make_entered('log_outlet');
GRANT SELECT, INSERT (id, kind, target, entry_id), UPDATE (active, version, entry_id) ON log_outlet TO sealbook_app;

-- What became of the sending: no record of the shop, and written without an entry.
CREATE TABLE log_delivery (
  outlet_id uuid PRIMARY KEY REFERENCES log_outlet,
  -- Entries under the last head that arrived.
  size bigint CHECK (size >= 0),
  delivered_at timestamptz(3),
  -- What a witness answered: its cosignature lines.
  answer text NOT NULL DEFAULT '',
  failed_at timestamptz(3),
  failure text,
  CHECK ((size IS NULL) = (delivered_at IS NULL)),
  CHECK ((failed_at IS NULL) = (failure IS NULL))
);
GRANT SELECT, INSERT, UPDATE (size, delivered_at, answer, failed_at, failure) ON log_delivery TO sealbook_app;

-- A head of this log that left the database and that its leaves do not lead to: an older backup was put back, or the log
-- was bent. Until an administrator signs what happened, nothing enters ledger or log.
CREATE TABLE lost_history (
  id uuid PRIMARY KEY,
  size bigint NOT NULL CHECK (size > 0),
  note text NOT NULL UNIQUE,
  -- Entries in the log when it was found out.
  found_size bigint NOT NULL,
  found_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  accepted_entry_id uuid REFERENCES ledger_entry
);
GRANT SELECT, INSERT (id, size, note, found_size), UPDATE (accepted_entry_id) ON lost_history TO sealbook_app;
CREATE TRIGGER no_removal BEFORE DELETE ON lost_history FOR EACH ROW EXECUTE FUNCTION forbid_change();
ALTER TABLE lost_history ENABLE ALWAYS TRIGGER no_removal;

CREATE FUNCTION refuse_on_lost_history() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  IF EXISTS (SELECT FROM lost_history WHERE accepted_entry_id IS NULL) THEN
    IF TG_TABLE_NAME = 'ledger_entry' AND NOT EXISTS (SELECT FROM added WHERE action <> 'log.acceptHistory') THEN
      RETURN NULL;
    END IF;
    RAISE EXCEPTION 'a head of the log that left this database is not under its log: an administrator signs what happened first'
      USING ERRCODE = 'SB001';
  END IF;
  RETURN NULL;
END
$$;
CREATE TRIGGER on_lost_history AFTER INSERT ON ledger_entry REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION refuse_on_lost_history();
CREATE TRIGGER on_lost_history AFTER INSERT ON log_leaf REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION refuse_on_lost_history();
ALTER TABLE ledger_entry ENABLE ALWAYS TRIGGER on_lost_history;
ALTER TABLE log_leaf ENABLE ALWAYS TRIGGER on_lost_history;

-- Accepted once, by an entry of the same transaction that names the lost head.
CREATE FUNCTION require_accepting_entry() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  IF OLD.accepted_entry_id IS NOT NULL OR NOT EXISTS (
    SELECT FROM ledger_entry
    WHERE id = NEW.accepted_entry_id AND xact = pg_current_xact_id()::text::bigint AND action = 'log.acceptHistory'
      AND subject_id = OLD.id::text
  ) THEN
    RAISE EXCEPTION 'a lost history is accepted once, by an entry that names it' USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NEW;
END
$$;
CREATE TRIGGER accepted BEFORE UPDATE ON lost_history FOR EACH ROW EXECUTE FUNCTION require_accepting_entry();
ALTER TABLE lost_history ENABLE ALWAYS TRIGGER accepted;
