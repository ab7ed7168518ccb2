-- The log: every ledger entry becomes a leaf of one Merkle tree (RFC 6962), so that whoever holds a signed head sees
-- whether an entry was changed, removed, added or moved.
--
--   log_pending     entries that wait for their leaf. A trigger fills it in the entry's own transaction, and only a leaf
--                   takes a row out of it. So the order of commits does not matter: what commits late waits late, and
--                   nothing is passed over.
--   log_leaf        insert-only, numbered from 0 without a gap.
--   log_head        one row, which only grows; it is compared and swapped, so that two processes cannot fork the log.
--   log_checkpoint  signed heads, one a size.

CREATE TABLE log_pending (
  entry_id uuid PRIMARY KEY
);
GRANT SELECT ON log_pending TO sealbook_app;

CREATE TABLE log_leaf (
  leaf_index bigint PRIMARY KEY CHECK (leaf_index >= 0),
  entry_id uuid NOT NULL UNIQUE REFERENCES ledger_entry,
  -- RFC 6962 leaf hash of the entry's canonical text.
  hash bytea NOT NULL CHECK (octet_length(hash) = 32),
  -- Hashes of the subtrees that this leaf completes: of two leaves, of four, and so on. Proofs are made of them.
  completed bytea NOT NULL CHECK (octet_length(completed) % 32 = 0)
);
SELECT make_append_only('log_leaf', 'leaf_index, entry_id, hash, completed');

CREATE TABLE log_head (
  one boolean PRIMARY KEY DEFAULT true CHECK (one),
  -- Names the log in its signed heads. A restored backup keeps it: it is the same log.
  log_id uuid NOT NULL DEFAULT gen_random_uuid(),
  size bigint NOT NULL DEFAULT 0 CHECK (size >= 0),
  -- The root of no leaves is SHA-256 of nothing.
  root bytea NOT NULL DEFAULT sha256('') CHECK (octet_length(root) = 32)
);
INSERT INTO log_head DEFAULT VALUES;
GRANT SELECT, UPDATE (size, root) ON log_head TO sealbook_app;

CREATE TABLE log_checkpoint (
  size bigint PRIMARY KEY CHECK (size >= 0),
  root bytea NOT NULL CHECK (octet_length(root) = 32),
  -- The signed head as it is handed out.
  note text NOT NULL,
  at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond()
);
SELECT make_append_only('log_checkpoint', 'size, root, note');

-- These run as the owner: the server's role cannot put entries into the queue or take them out of it by itself.
CREATE FUNCTION queue_for_log() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
  AS $$
BEGIN
  INSERT INTO public.log_pending (entry_id) SELECT id FROM added;
  RETURN NULL;
END
$$;
CREATE TRIGGER queued_for_log AFTER INSERT ON ledger_entry REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION queue_for_log();
ALTER TABLE ledger_entry ENABLE ALWAYS TRIGGER queued_for_log;

CREATE FUNCTION take_from_queue() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
  AS $$
DECLARE
  taken bigint;
BEGIN
  DELETE FROM public.log_pending p USING added a WHERE p.entry_id = a.entry_id;
  GET DIAGNOSTICS taken = ROW_COUNT;
  IF taken <> (SELECT count(*) FROM added) THEN
    RAISE EXCEPTION 'a leaf takes an entry that waits for one' USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NULL;
END
$$;
CREATE TRIGGER from_queue AFTER INSERT ON log_leaf REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION take_from_queue();
ALTER TABLE log_leaf ENABLE ALWAYS TRIGGER from_queue;

CREATE FUNCTION require_head_over_leaf() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  IF NEW.leaf_index >= (SELECT size FROM log_head) THEN
    RAISE EXCEPTION 'leaf % comes with the head that holds it', NEW.leaf_index USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NULL;
END
$$;
CREATE CONSTRAINT TRIGGER under_head AFTER INSERT ON log_leaf DEFERRABLE INITIALLY DEFERRED
  FOR EACH ROW EXECUTE FUNCTION require_head_over_leaf();
ALTER TABLE log_leaf ENABLE ALWAYS TRIGGER under_head;

CREATE FUNCTION require_grown_head() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  IF NEW.one <> OLD.one OR NEW.log_id <> OLD.log_id OR NEW.size <= OLD.size THEN
    RAISE EXCEPTION 'the head of the log only grows' USING ERRCODE = 'restrict_violation';
  END IF;
  IF (SELECT count(*) FROM log_leaf WHERE leaf_index >= OLD.size AND leaf_index < NEW.size) <> NEW.size - OLD.size THEN
    RAISE EXCEPTION 'the leaves under the head have a gap' USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NEW;
END
$$;
CREATE TRIGGER grown BEFORE UPDATE ON log_head FOR EACH ROW EXECUTE FUNCTION require_grown_head();
CREATE TRIGGER no_removal BEFORE DELETE ON log_head FOR EACH ROW EXECUTE FUNCTION forbid_change();
CREATE TRIGGER no_truncate BEFORE TRUNCATE ON log_head FOR EACH STATEMENT EXECUTE FUNCTION forbid_change();
ALTER TABLE log_head ENABLE ALWAYS TRIGGER grown;
ALTER TABLE log_head ENABLE ALWAYS TRIGGER no_removal;
ALTER TABLE log_head ENABLE ALWAYS TRIGGER no_truncate;

CREATE FUNCTION require_present_head() RETURNS trigger
  LANGUAGE plpgsql
  AS $$
BEGIN
  IF NOT EXISTS (SELECT FROM log_head WHERE size = NEW.size AND root = NEW.root) THEN
    RAISE EXCEPTION 'a signed head is the head as it stands' USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NEW;
END
$$;
CREATE TRIGGER of_head BEFORE INSERT ON log_checkpoint FOR EACH ROW EXECUTE FUNCTION require_present_head();
ALTER TABLE log_checkpoint ENABLE ALWAYS TRIGGER of_head;

-- Entries from before the log wait for their leaf like new ones.
INSERT INTO log_pending (entry_id) SELECT id FROM ledger_entry;
