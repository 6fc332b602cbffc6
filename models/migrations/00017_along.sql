-- What is taken along beside a single step in hand, and hands that are asked for
-- while the step stays in hand.

-- +goose Up
-- More kinds of tap and of trouble; 00012_runs.sql tells of this way. The index
-- below counts the schema's version.
PRAGMA writable_schema = ON;
UPDATE sqlite_schema SET sql = replace(replace(replace(sql,
    '''help'', ''manage'', ''set'',', '''help'', ''manage'', ''gather'', ''set'','),
    '(share > 0) = (kind = ''start'' AND act <> '''')', '(share > 0) = (kind IN (''start'', ''gather'') AND act <> '''') AND (kind <> ''gather'' OR share > 0)'),
    '''missing'', ''help'', ''estimate'')', '''missing'', ''help'', ''hand'', ''estimate'')')
WHERE type = 'table' AND name = 'taps';
PRAGMA writable_schema = RESET;

-- Which steps came into one run is looked up by it.
DROP INDEX taps_by_act;
CREATE INDEX taps_by_act ON taps (act, kind) WHERE act <> '';
