-- People sign in to the pages with a name and a password. A hash is argon2id's
-- text with its own parameters in it.
ALTER TABLE person
    ADD COLUMN password_hash      text,
    ADD COLUMN unlock_hash        text,
    -- Goes up when a person is signed out everywhere: a session that began under
    -- an older count is over.
    ADD COLUMN session_generation int NOT NULL DEFAULT 1,
    ADD CONSTRAINT password_is_argon2id CHECK (password_hash LIKE '$argon2id$%'),
    ADD CONSTRAINT unlock_is_argon2id CHECK (unlock_hash LIKE '$argon2id$%');

-- A shed tablet is signed in for the season; who stands at it unlocks it with a
-- short code.
CREATE TABLE tablet (
    outfit_id  uuid        NOT NULL REFERENCES outfit,
    tablet_id  uuid        NOT NULL,
    name       text        NOT NULL,
    created_at timestamptz NOT NULL DEFAULT now(),
    revoked_at timestamptz,
    PRIMARY KEY (outfit_id, tablet_id),
    CONSTRAINT name_not_empty CHECK (name ~ '\S'),
    CONSTRAINT revoked_after_created CHECK (revoked_at >= created_at)
);

-- The pages' sessions. token is the SHA-256 of what the browser holds.
CREATE TABLE session (
    outfit_id uuid        NOT NULL REFERENCES outfit,
    token     text        NOT NULL,
    data      bytea       NOT NULL,
    expiry    timestamptz NOT NULL,
    PRIMARY KEY (outfit_id, token)
);
CREATE INDEX session_expiry ON session (outfit_id, expiry);

ALTER TABLE tablet ENABLE ROW LEVEL SECURITY;
ALTER TABLE tablet FORCE ROW LEVEL SECURITY;
ALTER TABLE session ENABLE ROW LEVEL SECURITY;
ALTER TABLE session FORCE ROW LEVEL SECURITY;
CREATE POLICY own_outfit ON tablet USING (outfit_id = this_outfit());
CREATE POLICY own_outfit ON session USING (outfit_id = this_outfit());

-- Whoever signs in names the outfit, by which its id is found. It is the one look
-- of the service across outfits, and shows only those of that very name.
CREATE POLICY sign_in_names ON outfit FOR SELECT TO pullbook_service
    USING (lower(btrim(name)) = current_setting('pullbook.sign_in_outfit', true));

-- A manager adds people, tokens and tablets on the page.
GRANT SELECT, INSERT ON tablet TO pullbook_service;
GRANT SELECT, INSERT, UPDATE, DELETE ON session TO pullbook_service;
GRANT INSERT ON person, token TO pullbook_service;
GRANT UPDATE (left_at, role, password_hash, unlock_hash, session_generation) ON person TO pullbook_service, pullbook_operator;
GRANT UPDATE (revoked_at) ON token, tablet TO pullbook_service;
GRANT UPDATE (access) ON book TO pullbook_service;
