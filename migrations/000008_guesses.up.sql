-- A device on which somebody signed in with a password keeps a secret, by which it
-- is known again: a stranger's guesses then do not make the person wait there.
CREATE TABLE known_device (
    outfit_id  uuid        NOT NULL REFERENCES outfit,
    person_id  uuid        NOT NULL,
    -- SHA-256 of a secret of 192 random bits.
    hash       bytea       NOT NULL,
    created_at timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (outfit_id, person_id, hash),
    FOREIGN KEY (outfit_id, person_id) REFERENCES person,
    CONSTRAINT hash_is_sha256 CHECK (length(hash) = 32)
);

-- When somebody last did something at a tablet: it locks by itself a while after.
ALTER TABLE tablet ADD COLUMN used_at timestamptz NOT NULL DEFAULT now();

-- Wrong codes in a row at a tablet, for one person. The row of the person of nothing
-- but zeros counts them for whomever they were typed.
CREATE TABLE wrong_code (
    outfit_id uuid        NOT NULL REFERENCES outfit,
    tablet_id uuid        NOT NULL,
    person_id uuid        NOT NULL,
    wrong     int         NOT NULL,
    -- No code is looked at before.
    next_at   timestamptz NOT NULL,
    PRIMARY KEY (outfit_id, tablet_id, person_id),
    FOREIGN KEY (outfit_id, tablet_id) REFERENCES tablet,
    CONSTRAINT wrong_positive CHECK (wrong > 0)
);

ALTER TABLE known_device ENABLE ROW LEVEL SECURITY;
ALTER TABLE known_device FORCE ROW LEVEL SECURITY;
ALTER TABLE wrong_code ENABLE ROW LEVEL SECURITY;
ALTER TABLE wrong_code FORCE ROW LEVEL SECURITY;
CREATE POLICY own_outfit ON known_device USING (outfit_id = this_outfit());
CREATE POLICY own_outfit ON wrong_code USING (outfit_id = this_outfit());

GRANT SELECT, INSERT, DELETE ON known_device TO pullbook_service;
GRANT SELECT, INSERT, UPDATE (wrong, next_at), DELETE ON wrong_code TO pullbook_service;
-- The operator gives a person a new code, which forgets the wrong ones.
GRANT SELECT, DELETE ON wrong_code TO pullbook_operator;
GRANT UPDATE (used_at) ON tablet TO pullbook_service;
