-- What was published, with all it was made of: an edition is given out again as these bytes, by any later program.

CREATE TABLE edition (
    number     INTEGER PRIMARY KEY CHECK (number >= 1),
    made_at    TEXT NOT NULL,
    as_of      TEXT NOT NULL,
    title      TEXT NOT NULL,
    -- Editions of the same band, kind and title are held against each other.
    series     TEXT NOT NULL CHECK (series <> ''),
    request    TEXT NOT NULL CHECK (json_valid(request)),
    -- The catalogue as it was, in the exchange format.
    inputs     TEXT NOT NULL CHECK (json_valid(inputs)),
    results    TEXT NOT NULL CHECK (json_valid(results))
) STRICT;

CREATE TABLE edition_file (
    edition  INTEGER NOT NULL REFERENCES edition (number),
    position INTEGER NOT NULL,
    name     TEXT NOT NULL CHECK (name <> ''),
    sha256   TEXT NOT NULL CHECK (length(sha256) = 64),
    content  BLOB NOT NULL,
    PRIMARY KEY (edition, position),
    UNIQUE (edition, name)
) STRICT;

CREATE TRIGGER edition_is_final BEFORE UPDATE ON edition BEGIN SELECT RAISE(ABORT, 'an edition is never changed, it is followed by another'); END;
CREATE TRIGGER edition_stays BEFORE DELETE ON edition BEGIN SELECT RAISE(ABORT, 'an edition is never deleted, it is followed by another'); END;
CREATE TRIGGER edition_file_is_final BEFORE UPDATE ON edition_file BEGIN SELECT RAISE(ABORT, 'an edition is never changed, it is followed by another'); END;
CREATE TRIGGER edition_file_stays BEFORE DELETE ON edition_file BEGIN SELECT RAISE(ABORT, 'an edition is never deleted, it is followed by another'); END;
