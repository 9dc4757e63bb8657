-- What must hold for what a manager prepared: a dispatch to be loaded, or a blend to be poured.
-- False for a kind that it does not know.
CREATE OR REPLACE FUNCTION prepared_entry_can_be(kind text, content json) RETURNS boolean
    LANGUAGE plpgsql IMMUTABLE AS $$
DECLARE
    body json := content -> 'body';
BEGIN
    CASE kind
    WHEN 'prepared_dispatch' THEN
        PERFORM public.refuse_unless(body ->> 'buyer_id' IS NOT NULL
            AND body ->> 'leaves_on' ~ '^\d{4}-\d\d-\d\d$'
            AND coalesce(json_array_length(body -> 'containers'), 0) + coalesce(json_array_length(body -> 'lots'), 0) > 0,
            'prepared_dispatch_asks_for_something');
    WHEN 'prepared_blend' THEN
        PERFORM public.refuse_unless(body ->> 'tank_id' IS NOT NULL
            AND coalesce(json_array_length(body -> 'takes'), 0) > 0,
            'prepared_blend_is_of_something');
    ELSE
        RETURN false;
    END CASE;
    RETURN true;
END
$$;
