-- What changed, in the order in which it changed. A set is what one action did; it is undone as a whole.
-- Facts recorded before this step have no entry; their chains of `supersedes` tell what they replaced.

CREATE TABLE change_set (
    id      INTEGER PRIMARY KEY,
    at      TEXT NOT NULL,
    action  TEXT NOT NULL CHECK (action IN ('import', 'record', 'undo', 'redo')),
    reason  TEXT NOT NULL,
    reverts INTEGER UNIQUE REFERENCES change_set (id),
    CHECK ((action IN ('undo', 'redo')) = (reverts IS NOT NULL))
) STRICT;

-- A fact that held and the one that holds since, as rows of the table of that name; NULL where there is none.
CREATE TABLE change (
    set_id     INTEGER NOT NULL REFERENCES change_set (id),
    position   INTEGER NOT NULL,
    product_id INTEGER NOT NULL REFERENCES product (id),
    what       TEXT NOT NULL CHECK (what IN ('finding', 'price', 'network', 'sweep')),
    before_row INTEGER,
    after_row  INTEGER,
    PRIMARY KEY (set_id, position),
    CHECK (before_row IS NOT NULL OR after_row IS NOT NULL)
) STRICT, WITHOUT ROWID;
CREATE INDEX change_by_product ON change (product_id, set_id);

-- A fact that holds no more although no later one says otherwise: its place is empty again.
CREATE TABLE withdrawn (
    what   TEXT NOT NULL CHECK (what IN ('finding', 'price', 'network', 'sweep')),
    row_id INTEGER NOT NULL,
    set_id INTEGER NOT NULL REFERENCES change_set (id),
    PRIMARY KEY (what, row_id)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER change_set_is_final BEFORE UPDATE ON change_set BEGIN SELECT RAISE(ABORT, 'what was done is never changed, it is undone'); END;
CREATE TRIGGER change_set_stays BEFORE DELETE ON change_set BEGIN SELECT RAISE(ABORT, 'what was done is never deleted, it is undone'); END;
CREATE TRIGGER change_is_final BEFORE UPDATE ON change BEGIN SELECT RAISE(ABORT, 'what was done is never changed, it is undone'); END;
CREATE TRIGGER change_stays BEFORE DELETE ON change BEGIN SELECT RAISE(ABORT, 'what was done is never deleted, it is undone'); END;
