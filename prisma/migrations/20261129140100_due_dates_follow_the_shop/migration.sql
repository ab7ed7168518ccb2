-- Local dates change with the shop's zone, and meters that are at no service point go by the shop's home: after a change of
-- either every due date is worked out anew.
CREATE FUNCTION due_dates_follow_the_shop() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public
  AS $$
BEGIN
  IF (NEW.time_zone, NEW.home_jurisdiction) IS DISTINCT FROM (OLD.time_zone, OLD.home_jurisdiction) THEN
    UPDATE test_interval SET applied = false;
  END IF;
  RETURN NULL;
END
$$;
CREATE TRIGGER due_dates AFTER UPDATE ON shop FOR EACH ROW EXECUTE FUNCTION due_dates_follow_the_shop();
ALTER TABLE shop ENABLE ALWAYS TRIGGER due_dates;
