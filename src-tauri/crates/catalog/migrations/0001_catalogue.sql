-- Facts are append-only: a correction is a new row that names the row it supersedes.
-- Numbers are SI; the text as typed stands beside them. Days are ISO 8601 text, moments UTC.

CREATE TABLE info (
    key   TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE product (
    id      INTEGER PRIMARY KEY,
    key     TEXT NOT NULL UNIQUE,
    maker   TEXT NOT NULL,
    model   TEXT NOT NULL,
    kind    TEXT NOT NULL CHECK (kind IN ('stand-mount', 'floor-standing')),
    ways    INTEGER NOT NULL CHECK (ways BETWEEN 1 AND 4),
    powered INTEGER NOT NULL CHECK (powered IN (0, 1)),
    year    INTEGER NOT NULL,
    note    TEXT NOT NULL
) STRICT;

CREATE TABLE specimen (
    id         INTEGER PRIMARY KEY,
    product_id INTEGER NOT NULL REFERENCES product (id),
    label      TEXT NOT NULL,
    acquired   TEXT NOT NULL CHECK (acquired IN ('retail', 'lent', 'gift', 'second hand')),
    serial     TEXT NOT NULL,
    UNIQUE (product_id, label)
) STRICT;

CREATE TABLE teardown (
    id          INTEGER PRIMARY KEY,
    specimen_id INTEGER NOT NULL REFERENCES specimen (id),
    day         TEXT NOT NULL,
    note        TEXT NOT NULL,
    UNIQUE (specimen_id, day)
) STRICT;

-- A finding without a teardown is a statement of the maker.
CREATE TABLE finding (
    id              INTEGER PRIMARY KEY,
    product_id      INTEGER NOT NULL REFERENCES product (id),
    teardown_id     INTEGER REFERENCES teardown (id),
    part            TEXT NOT NULL,
    key             TEXT NOT NULL,
    typed           TEXT NOT NULL,
    unit            TEXT NOT NULL,
    kind            TEXT NOT NULL CHECK (kind IN ('number', 'numbers', 'choice', 'count', 'flag', 'text', 'gap')),
    si              REAL,
    std_uncertainty REAL CHECK (std_uncertainty IS NULL OR std_uncertainty >= 0),
    word            TEXT,
    evidence        TEXT NOT NULL CHECK (evidence IN ('measured', 'inspected', 'marked', 'claimed', 'inferred')),
    note            TEXT NOT NULL,
    day             TEXT NOT NULL,
    recorded_at     TEXT NOT NULL,
    supersedes      INTEGER UNIQUE REFERENCES finding (id),
    CHECK ((kind IN ('number', 'count', 'flag')) = (si IS NOT NULL)),
    CHECK ((kind IN ('numbers', 'choice', 'text', 'gap')) = (word IS NOT NULL)),
    CHECK (kind <> 'numbers' OR json_valid(word)),
    CHECK (teardown_id IS NOT NULL OR evidence = 'claimed')
) STRICT;
CREATE INDEX finding_by_place ON finding (product_id, part, key);

CREATE TABLE price (
    id           INTEGER PRIMARY KEY,
    product_id   INTEGER NOT NULL REFERENCES product (id),
    amount_minor INTEGER NOT NULL CHECK (amount_minor > 0),
    currency     TEXT NOT NULL,
    basis        TEXT NOT NULL CHECK (basis IN ('each', 'pair', 'set')),
    count        INTEGER NOT NULL CHECK (count >= 1),
    day          TEXT NOT NULL,
    kind         TEXT NOT NULL CHECK (kind IN ('list', 'street', 'sale')),
    seller       TEXT NOT NULL CHECK (seller IN ('maker', 'authorised', 'marketplace', 'used')),
    shop         TEXT NOT NULL,
    note         TEXT NOT NULL,
    recorded_at  TEXT NOT NULL,
    supersedes   INTEGER UNIQUE REFERENCES price (id)
) STRICT;
CREATE INDEX price_by_product ON price (product_id);

CREATE TABLE network (
    id          INTEGER PRIMARY KEY,
    teardown_id INTEGER NOT NULL REFERENCES teardown (id),
    recorded_at TEXT NOT NULL,
    supersedes  INTEGER UNIQUE REFERENCES network (id)
) STRICT;
CREATE INDEX network_by_teardown ON network (teardown_id);

CREATE TABLE element (
    network_id INTEGER NOT NULL REFERENCES network (id),
    position   INTEGER NOT NULL,
    name       TEXT NOT NULL,
    kind       TEXT NOT NULL CHECK (kind IN ('resistor', 'capacitor', 'inductor', 'driver')),
    node_from  TEXT NOT NULL,
    node_to    TEXT NOT NULL,
    typed      TEXT NOT NULL,
    value_si   REAL,
    loss_typed TEXT NOT NULL,
    loss_ohm   REAL,
    tolerance  REAL,
    part       TEXT,
    note       TEXT NOT NULL,
    PRIMARY KEY (network_id, position),
    UNIQUE (network_id, name),
    CHECK ((kind = 'driver') = (part IS NOT NULL)),
    CHECK ((kind = 'driver') = (value_si IS NULL))
) STRICT, WITHOUT ROWID;

CREATE TABLE sweep (
    id          INTEGER PRIMARY KEY,
    teardown_id INTEGER NOT NULL REFERENCES teardown (id),
    part        TEXT NOT NULL,
    points      TEXT NOT NULL CHECK (json_valid(points)),
    note        TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    supersedes  INTEGER UNIQUE REFERENCES sweep (id)
) STRICT;
CREATE INDEX sweep_by_teardown ON sweep (teardown_id);

CREATE TABLE plugin_trust (
    sha256     TEXT PRIMARY KEY CHECK (length(sha256) = 64),
    path       TEXT NOT NULL,
    decided_at TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TRIGGER finding_is_final BEFORE UPDATE ON finding BEGIN SELECT RAISE(ABORT, 'a finding is never changed, it is superseded'); END;
CREATE TRIGGER finding_stays BEFORE DELETE ON finding BEGIN SELECT RAISE(ABORT, 'a finding is never deleted, it is superseded'); END;
CREATE TRIGGER price_is_final BEFORE UPDATE ON price BEGIN SELECT RAISE(ABORT, 'a price is never changed, it is superseded'); END;
CREATE TRIGGER price_stays BEFORE DELETE ON price BEGIN SELECT RAISE(ABORT, 'a price is never deleted, it is superseded'); END;
CREATE TRIGGER network_is_final BEFORE UPDATE ON network BEGIN SELECT RAISE(ABORT, 'a network is never changed, it is superseded'); END;
CREATE TRIGGER network_stays BEFORE DELETE ON network BEGIN SELECT RAISE(ABORT, 'a network is never deleted, it is superseded'); END;
CREATE TRIGGER element_is_final BEFORE UPDATE ON element BEGIN SELECT RAISE(ABORT, 'a network is never changed, it is superseded'); END;
CREATE TRIGGER element_stays BEFORE DELETE ON element BEGIN SELECT RAISE(ABORT, 'a network is never deleted, it is superseded'); END;
CREATE TRIGGER sweep_is_final BEFORE UPDATE ON sweep BEGIN SELECT RAISE(ABORT, 'a sweep is never changed, it is superseded'); END;
CREATE TRIGGER sweep_stays BEFORE DELETE ON sweep BEGIN SELECT RAISE(ABORT, 'a sweep is never deleted, it is superseded'); END;
