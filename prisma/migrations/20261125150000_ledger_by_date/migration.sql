-- The ledger is asked for the days of an audit: entries between two moments, newest first.
CREATE INDEX ledger_entry_at ON ledger_entry (at, id);
