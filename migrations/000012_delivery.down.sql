CREATE OR REPLACE FUNCTION operator_entry_can_be(kind text, replaces uuid, content json) RETURNS boolean
    LANGUAGE plpgsql IMMUTABLE AS $$
DECLARE
    body json := content -> 'body';
    about text[];
BEGIN
    IF kind <> 'operator' THEN
        RETURN false;
    END IF;
    about := ARRAY(SELECT json_object_keys(body));
    PERFORM public.refuse_unless(replaces IS NULL
        AND cardinality(about) = 1
        AND about[1] IN ('outfit', 'person', 'token', 'feed_key', 'tablet')
        AND body #>> ARRAY[about[1], 'id'] IS NOT NULL, 'operator_entry_tells_of_one_row');
    RETURN true;
END
$$;
DROP TABLE delivery;
