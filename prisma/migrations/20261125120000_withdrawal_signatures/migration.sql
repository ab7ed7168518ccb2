-- A signature under a record that withdraws a test says that, and not that the meter was tested. Signatures given
-- before stay as they were given.

ALTER TABLE signature
  DROP CONSTRAINT signature_meaning_check,
  ADD CONSTRAINT signature_meaning_check CHECK (meaning IN ('tested', 'withdrawn'));
