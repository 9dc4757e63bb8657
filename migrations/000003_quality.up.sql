-- What must hold for the entries about quality. False for a kind that it does
-- not know.
CREATE FUNCTION quality_entry_can_be(kind text, content json) RETURNS boolean
    LANGUAGE plpgsql IMMUTABLE AS $$
DECLARE
    body json := content -> 'body';
BEGIN
    CASE kind
    WHEN 'rule_set' THEN
        PERFORM public.refuse_unless(body ->> 'name' ~ '\S'
            AND body ->> 'citation' ~ '\S'
            AND json_array_length(body -> 'limits') > 0, 'rule_set_has_limits');
        PERFORM public.refuse_unless(body ->> 'in_force_to' IS NULL
            OR body ->> 'in_force_from' IS NULL
            OR body ->> 'in_force_from' <= body ->> 'in_force_to', 'rule_set_dates_in_order');
    WHEN 'sample' THEN
        PERFORM public.refuse_unless(json_array_length(body #> '{drawn,containers}') > 0, 'sample_was_drawn');
    WHEN 'check' THEN
        -- A check is kept with what it rested on and what it came to.
        PERFORM public.refuse_unless(body ->> 'on' ~ '^\d{4}-\d\d-\d\d$'
            AND (body #>> '{found,through_entry}')::bigint > 0
            AND json_array_length(body #> '{found,results}') > 0
            AND json_array_length(body #> '{found,results}') = json_array_length(body -> 'rule_sets'), 'check_has_results');
    WHEN 'lot_status' THEN
        PERFORM public.refuse_unless(body ->> 'status' IN ('open', 'held', 'released'), 'lot_status_known');
        PERFORM public.refuse_unless((body ->> 'status' = 'held')
            = (coalesce(body ->> 'why', '') IN ('fermentation_risk', 'fails_a_limit', 'finding_unresolved', 'recall', 'other')),
            'hold_has_a_reason');
        PERFORM public.refuse_unless(body ->> 'status' <> 'released'
            OR body ->> 'check_id' IS NOT NULL
            OR body ->> 'override' = 'true' AND body ->> 'note' ~ '\S', 'release_rests_on_something');
    WHEN 'settlement' THEN
        PERFORM public.refuse_unless((body ->> 'paid_minor')::bigint >= 0
            AND body ->> 'terms_entry' IS NOT NULL, 'settlement_money');
    ELSE
        RETURN false;
    END CASE;
    RETURN true;
END
$$;

-- It does not look back: a database that went down from a later version may hold
-- entries of that version's kinds.
ALTER TABLE entry
    DROP CONSTRAINT kind_known,
    ADD CONSTRAINT kind_known CHECK (
        book_entry_can_be(number, kind, occurred_at, recorded_at, replaces, reason, content, digest)
        OR quality_entry_can_be(kind, content)) NOT VALID;
