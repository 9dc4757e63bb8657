-- Two roles stand between a request and the tables. Neither owns anything,
-- neither passes row-level security. They outlive this database, which is why
-- they may be there already.
DO $$
BEGIN
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'pullbook_service') THEN
        CREATE ROLE pullbook_service LOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE NOBYPASSRLS;
    END IF;
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'pullbook_operator') THEN
        CREATE ROLE pullbook_operator NOLOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE NOBYPASSRLS;
    END IF;
EXCEPTION WHEN duplicate_object OR unique_violation THEN
    NULL; -- another database of this server was set up at the same moment
END
$$;
GRANT pullbook_service, pullbook_operator TO CURRENT_USER;
-- Both look at the schema's version before they work with it.
GRANT SELECT ON schema_migrations TO pullbook_service, pullbook_operator;

-- The outfit that the transaction at hand is about; NULL where none was named,
-- and then no row is seen.
CREATE FUNCTION this_outfit() RETURNS uuid
    LANGUAGE sql STABLE PARALLEL SAFE
    RETURN nullif(current_setting('pullbook.outfit', true), '')::uuid;

CREATE TABLE outfit (
    outfit_id  uuid        NOT NULL,
    name       text        NOT NULL,
    time_zone  text        NOT NULL,
    units      text        NOT NULL,
    created_at timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (outfit_id),
    CONSTRAINT name_not_empty CHECK (name ~ '\S'),
    CONSTRAINT units_known CHECK (units IN ('metric', 'us'))
);

CREATE TABLE person (
    outfit_id  uuid        NOT NULL REFERENCES outfit,
    person_id  uuid        NOT NULL,
    name       text        NOT NULL,
    role       text        NOT NULL,
    created_at timestamptz NOT NULL DEFAULT now(),
    left_at    timestamptz,
    PRIMARY KEY (outfit_id, person_id),
    CONSTRAINT name_not_empty CHECK (name ~ '\S'),
    CONSTRAINT role_known CHECK (role IN ('crew', 'manager', 'reader')),
    CONSTRAINT left_after_created CHECK (left_at >= created_at)
);
CREATE UNIQUE INDEX person_name_once ON person (outfit_id, lower(name));

CREATE TABLE token (
    outfit_id  uuid        NOT NULL REFERENCES outfit,
    token_id   uuid        NOT NULL,
    person_id  uuid        NOT NULL,
    name       text        NOT NULL,
    -- SHA-256 of a secret of 192 random bits: too many to guess, so that a
    -- slow hash would protect nothing.
    hash       bytea       NOT NULL,
    created_at timestamptz NOT NULL DEFAULT now(),
    revoked_at timestamptz,
    PRIMARY KEY (outfit_id, token_id),
    FOREIGN KEY (outfit_id, person_id) REFERENCES person,
    CONSTRAINT name_not_empty CHECK (name ~ '\S'),
    CONSTRAINT hash_is_sha256 CHECK (length(hash) = 32),
    CONSTRAINT revoked_after_created CHECK (revoked_at >= created_at)
);
CREATE UNIQUE INDEX token_hash_once ON token (outfit_id, hash);

ALTER TABLE outfit ENABLE ROW LEVEL SECURITY;
ALTER TABLE outfit FORCE ROW LEVEL SECURITY;
ALTER TABLE person ENABLE ROW LEVEL SECURITY;
ALTER TABLE person FORCE ROW LEVEL SECURITY;
ALTER TABLE token ENABLE ROW LEVEL SECURITY;
ALTER TABLE token FORCE ROW LEVEL SECURITY;

CREATE POLICY own_outfit ON outfit USING (outfit_id = this_outfit());
CREATE POLICY own_outfit ON person USING (outfit_id = this_outfit());
CREATE POLICY own_outfit ON token USING (outfit_id = this_outfit());
-- The operator's commands list outfits; nothing else reads across them.
CREATE POLICY operator_lists ON outfit FOR SELECT TO pullbook_operator USING (true);

GRANT SELECT ON outfit, person, token TO pullbook_service;
GRANT SELECT, INSERT ON outfit, person, token TO pullbook_operator;
GRANT UPDATE (revoked_at) ON token TO pullbook_operator;
GRANT UPDATE (left_at) ON person TO pullbook_operator;
