-- Keys that stand in the address of a feed, for programs that can send nothing
-- else. They read feeds and nothing more, all or one of them.
CREATE TABLE feed_key (
    outfit_id   uuid        NOT NULL REFERENCES outfit,
    feed_key_id uuid        NOT NULL,
    name        text        NOT NULL,
    -- The one feed that it reads; NULL where it reads all.
    feed        text,
    made_by     text        NOT NULL,
    -- SHA-256 of a secret of 192 random bits.
    hash        bytea       NOT NULL,
    created_at  timestamptz NOT NULL DEFAULT now(),
    revoked_at  timestamptz,
    PRIMARY KEY (outfit_id, feed_key_id),
    CONSTRAINT name_not_empty CHECK (name ~ '\S'),
    CONSTRAINT feed_not_empty CHECK (feed ~ '\S'),
    CONSTRAINT hash_is_sha256 CHECK (length(hash) = 32),
    CONSTRAINT revoked_after_created CHECK (revoked_at >= created_at)
);
CREATE UNIQUE INDEX feed_key_hash_once ON feed_key (outfit_id, hash);

ALTER TABLE feed_key ENABLE ROW LEVEL SECURITY;
ALTER TABLE feed_key FORCE ROW LEVEL SECURITY;
CREATE POLICY own_outfit ON feed_key USING (outfit_id = this_outfit());

-- Managers make and revoke them through the service, the operator by command.
GRANT SELECT, INSERT, UPDATE (revoked_at) ON feed_key TO pullbook_service, pullbook_operator;
