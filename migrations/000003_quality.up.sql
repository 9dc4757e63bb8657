ALTER TABLE entry
    DROP CONSTRAINT kind_known,
    ADD CONSTRAINT kind_known CHECK (kind IN (
        'season', 'yard', 'super_kind', 'container_kind', 'room', 'tank', 'instrument', 'buyer', 'rule_set',
        'hive_count', 'pull', 'run', 'run_supers', 'load', 'run_end', 'movement', 'stocktake',
        'wash', 'lot', 'fill', 'sample', 'reading', 'calibration', 'temperature_log', 'check', 'lot_status',
        'dispatch', 'settlement', 'acceptance', 'withdrawal')),
    ADD CONSTRAINT rule_set_has_limits CHECK (kind <> 'rule_set'
        OR content #>> '{body,name}' ~ '\S'
        AND content #>> '{body,citation}' ~ '\S'
        AND json_array_length(content #> '{body,limits}') > 0),
    ADD CONSTRAINT rule_set_dates_in_order CHECK (kind <> 'rule_set'
        OR content #>> '{body,in_force_to}' IS NULL
        OR content #>> '{body,in_force_from}' IS NULL
        OR content #>> '{body,in_force_from}' <= content #>> '{body,in_force_to}'),
    ADD CONSTRAINT sample_was_drawn CHECK (kind <> 'sample'
        OR coalesce(json_array_length(content #> '{body,drawn,containers}'), 0) > 0),
    -- A check is kept with what it rested on and what it came to.
    ADD CONSTRAINT check_has_results CHECK (kind <> 'check'
        OR content #>> '{body,on}' ~ '^\d{4}-\d\d-\d\d$'
        AND coalesce((content #>> '{body,found,through_entry}')::bigint, 0) > 0
        AND coalesce(json_array_length(content #> '{body,found,results}'), 0) > 0
        AND json_array_length(content #> '{body,found,results}') = json_array_length(content #> '{body,rule_sets}')),
    ADD CONSTRAINT lot_status_known CHECK (kind <> 'lot_status'
        OR coalesce(content #>> '{body,status}', '') IN ('open', 'held', 'released')),
    ADD CONSTRAINT hold_has_a_reason CHECK (kind <> 'lot_status'
        OR (content #>> '{body,status}' = 'held')
         = (coalesce(content #>> '{body,why}', '') IN ('fermentation_risk', 'fails_a_limit', 'finding_unresolved', 'recall', 'other'))),
    ADD CONSTRAINT release_rests_on_something CHECK (kind <> 'lot_status'
        OR content #>> '{body,status}' <> 'released'
        OR content #>> '{body,check_id}' IS NOT NULL
        OR content #>> '{body,override}' = 'true' AND content #>> '{body,note}' ~ '\S'),
    ADD CONSTRAINT settlement_money CHECK (kind <> 'settlement'
        OR (content #>> '{body,paid_minor}')::bigint >= 0
        AND content #>> '{body,terms_entry}' IS NOT NULL);
