-- Who calibrated is a person's name: it stands where it can be erased, and the ledger holds a commitment to it alone.

ALTER TABLE calibration ADD COLUMN performed_by_id uuid REFERENCES personal_value;

ALTER TABLE calibration DISABLE TRIGGER no_change;
ALTER TABLE calibration DISABLE TRIGGER entered;
DO $$
DECLARE
  recorded record;
  kept uuid;
  salt bytea;
BEGIN
  FOR recorded IN SELECT id, performed_by FROM calibration LOOP
    kept := gen_random_uuid();
    salt := uuid_send(gen_random_uuid());
    INSERT INTO personal_value (id, kind, salt, value, commitment)
    VALUES (kept, 'person-name', salt, recorded.performed_by,
      -- As commitment() makes it: domain, length of the salt, salt, value.
      encode(sha256(convert_to(E'sealbook/personal/1\n', 'UTF8') || '\x10'::bytea || salt
        || convert_to(recorded.performed_by, 'UTF8')), 'hex'));
    UPDATE calibration SET performed_by_id = kept WHERE id = recorded.id;
  END LOOP;
END
$$;
ALTER TABLE calibration ENABLE ALWAYS TRIGGER no_change;
ALTER TABLE calibration ENABLE ALWAYS TRIGGER entered;

ALTER TABLE calibration ALTER COLUMN performed_by_id SET NOT NULL;
ALTER TABLE calibration DROP COLUMN performed_by;
GRANT INSERT (performed_by_id) ON calibration TO sealbook_app;
