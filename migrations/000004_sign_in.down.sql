REVOKE UPDATE (access) ON book FROM pullbook_service;
REVOKE UPDATE (revoked_at) ON token FROM pullbook_service;
REVOKE UPDATE (left_at, role) ON person FROM pullbook_service;
REVOKE UPDATE (role) ON person FROM pullbook_operator;
REVOKE INSERT ON person, token FROM pullbook_service;
DROP POLICY sign_in_names ON outfit;
DROP TABLE session;
DROP TABLE tablet;
ALTER TABLE person
    DROP COLUMN password_hash,
    DROP COLUMN unlock_hash,
    DROP COLUMN session_generation;
