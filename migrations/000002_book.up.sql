-- The head of each outfit's book: how many entries it has and the digest of the
-- last one. Whoever adds an entry holds this row until the entry is durable, so
-- that numbers have no gap.
CREATE TABLE book (
    outfit_id uuid   NOT NULL REFERENCES outfit,
    number    bigint NOT NULL DEFAULT 0,
    digest    bytea  NOT NULL DEFAULT decode(repeat('00', 32), 'hex'),
    -- Goes up whenever a person or token of the outfit changes, so that what
    -- the service remembers of them is known to be old.
    access    bigint NOT NULL DEFAULT 1,
    PRIMARY KEY (outfit_id),
    CONSTRAINT number_not_negative CHECK (number >= 0),
    CONSTRAINT digest_is_sha256 CHECK (length(digest) = 32)
);

-- Everything that was ever recorded. content is what the entry says, as compact
-- JSON whose bytes the digest covers; masses in it are whole grams.
CREATE TABLE entry (
    outfit_id   uuid        NOT NULL REFERENCES book,
    number      bigint      NOT NULL,
    entry_id    uuid        NOT NULL,
    kind        text        NOT NULL,
    occurred_at timestamptz NOT NULL,
    recorded_at timestamptz NOT NULL,
    recorded_by text        NOT NULL,
    replaces    uuid,
    reason      text        NOT NULL DEFAULT '',
    content     json        NOT NULL,
    digest      bytea       NOT NULL,
    PRIMARY KEY (outfit_id, number),
    CONSTRAINT entry_id_once UNIQUE (outfit_id, entry_id),
    CONSTRAINT replaced_once UNIQUE (outfit_id, replaces),
    CONSTRAINT replaces_an_entry FOREIGN KEY (outfit_id, replaces) REFERENCES entry (outfit_id, entry_id),
    CONSTRAINT number_positive CHECK (number > 0),
    CONSTRAINT digest_is_sha256 CHECK (length(digest) = 32),
    CONSTRAINT kind_known CHECK (kind IN (
        'season', 'yard', 'super_kind', 'container_kind', 'room', 'tank', 'instrument', 'buyer',
        'hive_count', 'pull', 'run', 'run_supers', 'load', 'run_end', 'movement', 'stocktake',
        'wash', 'lot', 'fill', 'reading', 'calibration', 'temperature_log', 'dispatch',
        'rule_set', 'sample', 'check', 'lot_status', 'settlement',
        'acceptance', 'withdrawal')),
    CONSTRAINT replacing_has_a_reason CHECK (replaces IS NULL OR reason ~ '\S'),
    CONSTRAINT withdrawal_replaces CHECK (kind <> 'withdrawal' OR replaces IS NOT NULL),
    CONSTRAINT not_from_the_future CHECK (occurred_at <= recorded_at + interval '1 day 1 minute'),
    -- IS TRUE: what is missing is refused like what is wrong.
    CONSTRAINT season_in_order CHECK (kind <> 'season'
        OR (content #>> '{body,first}' <= content #>> '{body,last}') IS TRUE),
    CONSTRAINT super_kind_masses CHECK (kind <> 'super_kind'
        OR ((content #>> '{body,tare_g}')::bigint > 0
            AND (content #>> '{body,usual_net_g}')::bigint > 0
            AND (content #>> '{body,fullest_net_g}')::bigint >= (content #>> '{body,usual_net_g}')::bigint
            AND (content #>> '{body,frames_per_super}')::bigint > 0) IS TRUE),
    CONSTRAINT tank_capacity CHECK (kind <> 'tank'
        OR ((content #>> '{body,capacity_g}')::bigint > 0) IS TRUE),
    CONSTRAINT hives_counted CHECK (kind <> 'hive_count'
        OR ((content #>> '{body,hives}')::bigint >= 0) IS TRUE),
    CONSTRAINT run_supers_positive CHECK (kind <> 'run_supers'
        OR ((content #>> '{body,supers}')::bigint > 0) IS TRUE),
    CONSTRAINT load_has_frames CHECK (kind <> 'load'
        OR ((content #>> '{body,frames_left}')::bigint + (content #>> '{body,frames_right}')::bigint > 0) IS TRUE),
    CONSTRAINT movement_mass CHECK (kind <> 'movement'
        OR ((content #>> '{body,mass_g}')::bigint > 0
            OR (content #>> '{body,mass_g}')::bigint = 0 AND content #>> '{body,from,kind}' = 'container') IS TRUE),
    CONSTRAINT stocktake_mass CHECK (kind <> 'stocktake'
        OR ((content #>> '{body,mass_g}')::bigint >= 0) IS TRUE),
    CONSTRAINT lot_has_a_code CHECK (kind <> 'lot'
        OR (content #>> '{body,code}' ~ '\S') IS TRUE),
    CONSTRAINT fill_gross_above_tare CHECK (kind <> 'fill'
        OR ((content #>> '{body,gross_g}')::bigint > (content #>> '{body,tare_g}')::bigint
            AND (content #>> '{body,tare_g}')::bigint >= 0
            AND content #>> '{body,container}' ~ '\S') IS TRUE)
);

-- Names and codes in use: a lot's code, a container's number, a yard's name.
-- use_no counts how often a container's number was freed.
CREATE TABLE claim (
    outfit_id uuid NOT NULL REFERENCES book,
    noun      text NOT NULL,
    code      text NOT NULL,
    use_no    int  NOT NULL DEFAULT 0,
    root_id   uuid NOT NULL,
    PRIMARY KEY (outfit_id, noun, code, use_no),
    CONSTRAINT code_not_empty CHECK (code ~ '\S')
);

-- The trigger holds no logic: it only says no, whoever asks.
CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'the book is append-only: % on % is refused', TG_OP, TG_TABLE_NAME
        USING ERRCODE = 'integrity_constraint_violation',
              HINT = 'Correct an entry by a new entry that replaces it.';
END
$$;
CREATE TRIGGER append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON entry
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
CREATE TRIGGER append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON claim
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

ALTER TABLE book ENABLE ROW LEVEL SECURITY;
ALTER TABLE book FORCE ROW LEVEL SECURITY;
ALTER TABLE entry ENABLE ROW LEVEL SECURITY;
ALTER TABLE entry FORCE ROW LEVEL SECURITY;
ALTER TABLE claim ENABLE ROW LEVEL SECURITY;
ALTER TABLE claim FORCE ROW LEVEL SECURITY;
CREATE POLICY own_outfit ON book USING (outfit_id = this_outfit());
CREATE POLICY own_outfit ON entry USING (outfit_id = this_outfit());
CREATE POLICY own_outfit ON claim USING (outfit_id = this_outfit());

GRANT SELECT, UPDATE (number, digest) ON book TO pullbook_service;
GRANT SELECT, INSERT ON entry, claim TO pullbook_service;
GRANT SELECT, INSERT, UPDATE (access) ON book TO pullbook_operator;
GRANT SELECT ON entry, claim TO pullbook_operator;
