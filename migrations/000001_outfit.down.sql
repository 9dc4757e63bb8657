DROP TABLE token;
DROP TABLE person;
DROP TABLE outfit;
DROP FUNCTION this_outfit();

REVOKE SELECT ON schema_migrations FROM pullbook_service, pullbook_operator;

-- The roles go with the last database that uses them.
DO $$
BEGIN
    DROP ROLE pullbook_service;
EXCEPTION WHEN dependent_objects_still_exist OR object_in_use OR undefined_object THEN
    NULL;
END
$$;
DO $$
BEGIN
    DROP ROLE pullbook_operator;
EXCEPTION WHEN dependent_objects_still_exist OR object_in_use OR undefined_object THEN
    NULL;
END
$$;
