-- The entries of prepared blends stay, as all entries do.
CREATE OR REPLACE FUNCTION prepared_entry_can_be(kind text, content json) RETURNS boolean
    LANGUAGE plpgsql IMMUTABLE AS $$
DECLARE
    body json := content -> 'body';
BEGIN
    IF kind <> 'prepared_dispatch' THEN
        RETURN false;
    END IF;
    PERFORM public.refuse_unless(body ->> 'buyer_id' IS NOT NULL
        AND body ->> 'leaves_on' ~ '^\d{4}-\d\d-\d\d$'
        AND coalesce(json_array_length(body -> 'containers'), 0) + coalesce(json_array_length(body -> 'lots'), 0) > 0,
        'prepared_dispatch_asks_for_something');
    RETURN true;
END
$$;
