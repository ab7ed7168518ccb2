-- A maker's list enters a shipment by an import of its own kind.

ALTER TABLE import
  ADD COLUMN lot_id uuid REFERENCES lot,
  DROP CONSTRAINT import_kind_check,
  ADD CONSTRAINT import_kind_check CHECK (kind IN ('meter-tests', 'shipment-meters')),
  ADD CONSTRAINT import_lot_check CHECK ((kind = 'shipment-meters') = (lot_id IS NOT NULL)),
  -- One import a file content and kind, and of a maker's list one a shipment: the same list may go into another lot.
  DROP CONSTRAINT import_kind_sha256_key,
  ADD CONSTRAINT import_kind_sha256_lot_id_key UNIQUE NULLS NOT DISTINCT (kind, sha256, lot_id);
CREATE INDEX import_lot ON import (lot_id);
GRANT INSERT (lot_id) ON import TO sealbook_app;

-- A mapping says for which kind of file it is; those saved until now are for tests. What they say stays the same, so
-- their rows need no ledger entry for it.
ALTER TABLE import_mapping DISABLE TRIGGER entered;
UPDATE import_mapping SET body = regexp_replace(body, '^\s*\{', '{"kind":"meter-tests",');
ALTER TABLE import_mapping ENABLE ALWAYS TRIGGER entered;
UPDATE import SET mapping_body = regexp_replace(mapping_body, '^\s*\{', '{"kind":"meter-tests",')
WHERE mapping_body IS NOT NULL;
