-- Photos. The picture is a file beside the catalogue, named by its SHA-256; a row says what it shows.

CREATE TABLE photo (
    id          INTEGER PRIMARY KEY,
    product_id  INTEGER NOT NULL REFERENCES product (id),
    -- Without a teardown it shows the product, whichever specimen.
    teardown_id INTEGER REFERENCES teardown (id),
    part        TEXT,
    -- The finding that it shows; empty for the part as such.
    key         TEXT NOT NULL,
    sha256      TEXT NOT NULL CHECK (length(sha256) = 64 AND sha256 NOT GLOB '*[^0-9a-f]*'),
    format      TEXT NOT NULL CHECK (format IN ('jpg', 'png')),
    width       INTEGER NOT NULL CHECK (width > 0),
    height      INTEGER NOT NULL CHECK (height > 0),
    bytes       INTEGER NOT NULL CHECK (bytes > 0),
    caption     TEXT NOT NULL,
    -- What the file said besides its picture, and was taken out; a JSON list of words.
    removed     TEXT NOT NULL CHECK (json_valid(removed)),
    recorded_at TEXT NOT NULL,
    supersedes  INTEGER UNIQUE REFERENCES photo (id),
    CHECK ((teardown_id IS NULL) = (part IS NULL)),
    CHECK (part IS NOT NULL OR key = '')
) STRICT;
CREATE INDEX photo_by_product ON photo (product_id, sha256);

CREATE TRIGGER photo_is_final BEFORE UPDATE ON photo BEGIN SELECT RAISE(ABORT, 'a photo is never changed, it is superseded'); END;
CREATE TRIGGER photo_stays BEFORE DELETE ON photo BEGIN SELECT RAISE(ABORT, 'a photo is never deleted, it is superseded'); END;

-- The journal names photos, too. A CHECK cannot be widened in place.
CREATE TABLE change_8 (
    set_id     INTEGER NOT NULL REFERENCES change_set (id),
    position   INTEGER NOT NULL,
    product_id INTEGER NOT NULL REFERENCES product (id),
    what       TEXT NOT NULL CHECK (what IN ('finding', 'price', 'network', 'sweep', 'photo')),
    before_row INTEGER,
    after_row  INTEGER,
    PRIMARY KEY (set_id, position),
    CHECK (before_row IS NOT NULL OR after_row IS NOT NULL)
) STRICT, WITHOUT ROWID;
INSERT INTO change_8 SELECT set_id, position, product_id, what, before_row, after_row FROM change;
DROP TABLE change;
ALTER TABLE change_8 RENAME TO change;
CREATE INDEX change_by_product ON change (product_id, set_id);
CREATE TRIGGER change_is_final BEFORE UPDATE ON change BEGIN SELECT RAISE(ABORT, 'what was done is never changed, it is undone'); END;
CREATE TRIGGER change_stays BEFORE DELETE ON change BEGIN SELECT RAISE(ABORT, 'what was done is never deleted, it is undone'); END;

CREATE TABLE withdrawn_8 (
    what   TEXT NOT NULL CHECK (what IN ('finding', 'price', 'network', 'sweep', 'photo')),
    row_id INTEGER NOT NULL,
    set_id INTEGER NOT NULL REFERENCES change_set (id),
    PRIMARY KEY (what, row_id)
) STRICT, WITHOUT ROWID;
INSERT INTO withdrawn_8 SELECT what, row_id, set_id FROM withdrawn;
DROP TABLE withdrawn;
ALTER TABLE withdrawn_8 RENAME TO withdrawn;
