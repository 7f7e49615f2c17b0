-- What plugins brought and what they did wrong, by the hash of the file.

-- The manifest that a trusted file had; it stays when the trust ends, since findings of its own keys may be recorded.
CREATE TABLE plugin_manifest (
    sha256   TEXT PRIMARY KEY CHECK (length(sha256) = 64),
    manifest TEXT NOT NULL CHECK (json_valid(manifest)),
    seen_at  TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE plugin_fault (
    id     INTEGER PRIMARY KEY,
    sha256 TEXT NOT NULL CHECK (length(sha256) = 64),
    at     TEXT NOT NULL,
    kind   TEXT NOT NULL CHECK (kind <> ''),
    detail TEXT NOT NULL
) STRICT;
CREATE INDEX plugin_fault_by_hash ON plugin_fault (sha256, id);

-- Faults before the newest release of a hash do not count any more.
CREATE TABLE plugin_release (
    id     INTEGER PRIMARY KEY,
    sha256 TEXT NOT NULL CHECK (length(sha256) = 64),
    at     TEXT NOT NULL
) STRICT;
CREATE INDEX plugin_release_by_hash ON plugin_release (sha256, id);

CREATE TRIGGER plugin_fault_is_final BEFORE UPDATE ON plugin_fault BEGIN SELECT RAISE(ABORT, 'a fault is never changed'); END;
CREATE TRIGGER plugin_fault_stays BEFORE DELETE ON plugin_fault BEGIN SELECT RAISE(ABORT, 'a fault is never deleted, it is released'); END;
