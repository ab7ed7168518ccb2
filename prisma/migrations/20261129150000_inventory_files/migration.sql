-- Files of the inventory: meter types, service points, meters and events come in by imports of kinds of their own.

ALTER TABLE import
  DROP CONSTRAINT import_kind_check,
  ADD CONSTRAINT import_kind_check CHECK (
    kind IN ('meter-tests', 'shipment-meters', 'meter-types', 'service-points', 'meters', 'meter-events'));
