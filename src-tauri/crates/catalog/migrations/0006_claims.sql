-- Sentences that were put to the test, what came of it each time, and which were taken back.

CREATE TABLE claim (
    id        INTEGER PRIMARY KEY,
    statement TEXT NOT NULL CHECK (statement <> ''),
    wording   TEXT NOT NULL,
    author    TEXT NOT NULL,
    made_at   TEXT NOT NULL,
    -- The claim whose place it takes; that one stays to be read.
    replaces  INTEGER UNIQUE REFERENCES claim (id)
) STRICT;

-- One judgement. `answer` is what was answered, as JSON; the rest is what it rested on.
CREATE TABLE claim_verdict (
    id            INTEGER PRIMARY KEY,
    claim_id      INTEGER NOT NULL REFERENCES claim (id),
    judged_at     TEXT NOT NULL,
    as_of         TEXT NOT NULL,
    verdict       TEXT NOT NULL CHECK (verdict IN ('supported', 'not supported', 'contradicted', 'too few data', 'depends on inferred findings')),
    answer        TEXT NOT NULL CHECK (json_valid(answer)),
    rubric        TEXT NOT NULL,
    plugins       TEXT NOT NULL CHECK (json_valid(plugins)),
    seed          INTEGER NOT NULL,
    -- The last action of the journal and the last change of the rubric that it knew; 0 for none.
    last_action   INTEGER NOT NULL,
    last_rubric   INTEGER NOT NULL,
    -- What changed it, as a JSON list of sentences; empty for the first verdict.
    causes        TEXT NOT NULL CHECK (json_valid(causes))
) STRICT;
CREATE INDEX claim_verdict_by_claim ON claim_verdict (claim_id, id);

CREATE TABLE claim_withdrawn (
    claim_id     INTEGER PRIMARY KEY REFERENCES claim (id),
    withdrawn_at TEXT NOT NULL,
    reason       TEXT NOT NULL
) STRICT;

CREATE TRIGGER claim_is_final BEFORE UPDATE ON claim BEGIN SELECT RAISE(ABORT, 'a claim is never changed, another takes its place'); END;
CREATE TRIGGER claim_stays BEFORE DELETE ON claim BEGIN SELECT RAISE(ABORT, 'a claim is never deleted, it is withdrawn'); END;
CREATE TRIGGER claim_verdict_is_final BEFORE UPDATE ON claim_verdict BEGIN SELECT RAISE(ABORT, 'a verdict is never changed, it is followed by another'); END;
CREATE TRIGGER claim_verdict_stays BEFORE DELETE ON claim_verdict BEGIN SELECT RAISE(ABORT, 'a verdict is never deleted, it is followed by another'); END;
CREATE TRIGGER claim_withdrawn_is_final BEFORE UPDATE ON claim_withdrawn BEGIN SELECT RAISE(ABORT, 'a claim that was withdrawn stays so'); END;
CREATE TRIGGER claim_withdrawn_stays BEFORE DELETE ON claim_withdrawn BEGIN SELECT RAISE(ABORT, 'a claim that was withdrawn stays so'); END;
