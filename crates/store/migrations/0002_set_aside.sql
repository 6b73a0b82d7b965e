-- Why: an entry that the book cannot take (its id is there with other content, it is not well
-- formed, its time is in the future) must not be lost: a person looks at it and decides.

CREATE TABLE set_aside (
    seq BIGINT NOT NULL PRIMARY KEY,
    fact_id TEXT NOT NULL,
    litter TEXT NOT NULL,
    -- The whole entry as it came, as JSON.
    entry TEXT NOT NULL,
    why TEXT NOT NULL,
    received_ms BIGINT NOT NULL,
    -- What became of it: '' while it waits.
    settled TEXT NOT NULL
);

INSERT INTO counter (name, value) VALUES ('set_aside', 0);
