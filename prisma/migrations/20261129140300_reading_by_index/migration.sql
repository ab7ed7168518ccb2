-- The book lies in memory or on disks that read anywhere at nearly the same speed: the server's queries are planned so.
ALTER ROLE sealbook_app SET random_page_cost = 1.1;
