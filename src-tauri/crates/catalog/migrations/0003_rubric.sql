-- What a catalogue changes of the numbers that score; the newest row of a place holds.
-- A place is a plugin (NULL for the weights of subsystems) and a path; a NULL value brings the plugin's own back.

CREATE TABLE rubric_change (
    id          INTEGER PRIMARY KEY,
    plugin      TEXT CHECK (plugin <> ''),
    path        TEXT NOT NULL CHECK (path <> ''),
    value       TEXT CHECK (value IS NULL OR json_valid(value)),
    reason      TEXT NOT NULL CHECK (value IS NULL OR reason <> ''),
    recorded_at TEXT NOT NULL
) STRICT;

CREATE TRIGGER rubric_change_is_final BEFORE UPDATE ON rubric_change BEGIN SELECT RAISE(ABORT, 'a change of the rubric is never changed, it is followed by another'); END;
CREATE TRIGGER rubric_change_stays BEFORE DELETE ON rubric_change BEGIN SELECT RAISE(ABORT, 'a change of the rubric is never deleted, it is followed by another'); END;
