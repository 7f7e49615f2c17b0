-- How a part of the network is made, and its printed rating.
-- Rows of before keep what their note says; the next import of the file supersedes them.

ALTER TABLE element ADD COLUMN construction TEXT NOT NULL DEFAULT '';
ALTER TABLE element ADD COLUMN rating_typed TEXT NOT NULL DEFAULT '';
ALTER TABLE element ADD COLUMN rating_si REAL;
