REVOKE UPDATE (blend_weights) ON outfit FROM pullbook_service, pullbook_operator;
ALTER TABLE outfit DROP COLUMN blend_weights;
