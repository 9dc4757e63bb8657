-- What was recorded stays: entries are never deleted. Where there are entries of
-- the kinds that came with this version, the older one cannot be gone back to.
ALTER TABLE entry
    DROP CONSTRAINT settlement_money,
    DROP CONSTRAINT release_rests_on_something,
    DROP CONSTRAINT hold_has_a_reason,
    DROP CONSTRAINT lot_status_known,
    DROP CONSTRAINT check_has_results,
    DROP CONSTRAINT sample_was_drawn,
    DROP CONSTRAINT rule_set_dates_in_order,
    DROP CONSTRAINT rule_set_has_limits,
    DROP CONSTRAINT kind_known,
    ADD CONSTRAINT kind_known CHECK (kind IN (
        'season', 'yard', 'super_kind', 'container_kind', 'room', 'tank', 'instrument', 'buyer',
        'hive_count', 'pull', 'run', 'run_supers', 'load', 'run_end', 'movement', 'stocktake',
        'wash', 'lot', 'fill', 'reading', 'calibration', 'temperature_log', 'dispatch',
        'acceptance', 'withdrawal'));
