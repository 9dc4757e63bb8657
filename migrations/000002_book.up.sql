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

-- The rules that hold for every entry, in one function: PostgreSQL reads the text
-- of each CHECK anew in each statement that inserts, so that twenty of them cost
-- four times what storing the entry does. Each rule keeps its name in the error.
-- (It is called by its full name, because a restore looks functions up in no schema.)
CREATE FUNCTION refuse_unless(holds boolean, rule text) RETURNS void
    LANGUAGE plpgsql IMMUTABLE AS $$
BEGIN
    IF holds IS NOT TRUE THEN
        RAISE EXCEPTION 'the entry breaks the rule %', rule
            USING ERRCODE = 'check_violation', CONSTRAINT = rule, TABLE = 'entry';
    END IF;
END
$$;

-- False for a kind that it does not know.
CREATE FUNCTION book_entry_can_be(number bigint, kind text, occurred_at timestamptz, recorded_at timestamptz,
                                  replaces uuid, reason text, content json, digest bytea) RETURNS boolean
    LANGUAGE plpgsql IMMUTABLE AS $$
DECLARE
    body json;
BEGIN
    IF number <= 0 THEN
        PERFORM public.refuse_unless(false, 'number_positive');
    END IF;
    IF length(digest) <> 32 THEN
        PERFORM public.refuse_unless(false, 'digest_is_sha256');
    END IF;
    IF replaces IS NOT NULL THEN
        PERFORM public.refuse_unless(reason ~ '\S', 'replacing_has_a_reason');
    END IF;
    IF occurred_at > recorded_at + interval '1 day 1 minute' THEN
        PERFORM public.refuse_unless(false, 'not_from_the_future');
    END IF;
    IF kind IN ('reading', 'yard', 'container_kind', 'room', 'instrument', 'buyer', 'pull', 'run', 'run_end', 'wash',
                'calibration', 'temperature_log', 'dispatch', 'acceptance') THEN
        RETURN true; -- what their content must be, only the service can say
    END IF;
    body := content -> 'body';
    CASE kind
    WHEN 'season' THEN
        PERFORM public.refuse_unless(body ->> 'first' <= body ->> 'last', 'season_in_order');
    WHEN 'super_kind' THEN
        PERFORM public.refuse_unless((body ->> 'tare_g')::bigint > 0
            AND (body ->> 'usual_net_g')::bigint > 0
            AND (body ->> 'fullest_net_g')::bigint >= (body ->> 'usual_net_g')::bigint
            AND (body ->> 'frames_per_super')::bigint > 0, 'super_kind_masses');
    WHEN 'tank' THEN
        PERFORM public.refuse_unless((body ->> 'capacity_g')::bigint > 0, 'tank_capacity');
    WHEN 'hive_count' THEN
        PERFORM public.refuse_unless((body ->> 'hives')::bigint >= 0, 'hives_counted');
    WHEN 'run_supers' THEN
        PERFORM public.refuse_unless((body ->> 'supers')::bigint > 0, 'run_supers_positive');
    WHEN 'load' THEN
        PERFORM public.refuse_unless((body ->> 'frames_left')::bigint + (body ->> 'frames_right')::bigint > 0, 'load_has_frames');
    WHEN 'movement' THEN
        PERFORM public.refuse_unless((body ->> 'mass_g')::bigint > 0
            OR (body ->> 'mass_g')::bigint = 0 AND body #>> '{from,kind}' = 'container', 'movement_mass');
    WHEN 'stocktake' THEN
        PERFORM public.refuse_unless((body ->> 'mass_g')::bigint >= 0, 'stocktake_mass');
    WHEN 'lot' THEN
        PERFORM public.refuse_unless(body ->> 'code' ~ '\S', 'lot_has_a_code');
    WHEN 'fill' THEN
        PERFORM public.refuse_unless((body ->> 'tare_g')::bigint >= 0
            AND (body ->> 'gross_g')::bigint > (body ->> 'tare_g')::bigint
            AND body ->> 'container' ~ '\S', 'fill_gross_above_tare');
    WHEN 'withdrawal' THEN
        PERFORM public.refuse_unless(replaces IS NOT NULL, 'withdrawal_replaces');
    ELSE
        RETURN false;
    END CASE;
    RETURN true;
END
$$;

-- Everything that was ever recorded. content is what the entry says, as compact
-- JSON whose bytes the digest covers; masses in it are whole grams.
CREATE TABLE entry (
    -- From the row of book that gave the entry its number, in the one statement
    -- that stores it; a foreign key would look that row up a second time.
    outfit_id   uuid        NOT NULL,
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
    CONSTRAINT kind_known CHECK (book_entry_can_be(number, kind, occurred_at, recorded_at, replaces, reason, content, digest))
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
