-- Who comes in, by which door, and how far: one-time passwords, sessions that can be told apart, API tokens, places that
-- an account is limited to, and what a regulator looked at.

-- Null is no: a first password, or one that an administrator gave, is changed at its first use and may run out.
ALTER TABLE account
  ADD COLUMN must_change_password boolean,
  ADD COLUMN password_until timestamptz(3),
  -- Shops, store rooms or vans; null is no limit.
  ADD COLUMN place_ids uuid[] CHECK (cardinality(place_ids) BETWEEN 1 AND 20);
GRANT INSERT (must_change_password, password_until), UPDATE (must_change_password, password_until, place_ids) ON account
  TO sealbook_app;

-- A session is told apart by an id that opens nothing. What the browser calls itself goes with the session.
ALTER TABLE session
  ADD COLUMN id uuid NOT NULL UNIQUE DEFAULT gen_random_uuid(),
  ADD COLUMN browser text NOT NULL DEFAULT '';
GRANT INSERT (browser) ON session TO sealbook_app;

CREATE TABLE api_token (
  id uuid PRIMARY KEY,
  account_id uuid NOT NULL REFERENCES account,
  name text NOT NULL,
  -- SHA-256 of a random 256-bit secret; the secret itself is nowhere.
  token_hash bytea NOT NULL UNIQUE CHECK (octet_length(token_hash) = 32),
  scopes text[] NOT NULL CHECK (cardinality(scopes) >= 1),
  created_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  expires_at timestamptz(3) NOT NULL,
  revoked_at timestamptz(3),
  entry_id uuid NOT NULL REFERENCES ledger_entry,
  CHECK (expires_at > created_at AND expires_at <= created_at + interval '367 days')
);
CREATE INDEX api_token_of ON api_token (account_id, id);
SELECT make_entered('api_token');
GRANT SELECT, INSERT (id, account_id, name, token_hash, scopes, expires_at, entry_id), UPDATE (revoked_at, entry_id)
  ON api_token TO sealbook_app;

-- When a token was last used, to the minute: no part of the record.
CREATE TABLE api_token_use (
  token_id uuid PRIMARY KEY REFERENCES api_token,
  last_used_at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond()
);
GRANT SELECT, INSERT (token_id), UPDATE (last_used_at) ON api_token_use TO sealbook_app;

-- What a regulator asked for: every request, refused ones too. Kept for the utility and the regulator both; it changes
-- nothing, and so it is no entry of the ledger.
CREATE TABLE look (
  id uuid PRIMARY KEY,
  at timestamptz(3) NOT NULL DEFAULT now_to_the_millisecond(),
  account_id uuid NOT NULL DEFAULT current_actor() REFERENCES account,
  operation text NOT NULL,
  parameters text NOT NULL CHECK (parameters IS JSON OBJECT),
  allowed boolean NOT NULL
);
CREATE INDEX look_of ON look (account_id, id);
SELECT make_append_only('look', 'id, operation, parameters, allowed');
