-- Why: the book keeps every fact for ever. A row is written once and never changed, so that
-- what was known at any time can be shown. Only the common dialect of SQLite and PostgreSQL:
-- times are milliseconds since 1970 in UTC, ids are text, '' stands for none.

CREATE TABLE fact (
    id TEXT NOT NULL PRIMARY KEY,
    -- The place in the book, given in the order of commits.
    seq BIGINT NOT NULL UNIQUE,
    litter TEXT NOT NULL,
    kind TEXT NOT NULL,
    pup TEXT NOT NULL,
    -- JSON object with the keys of the kind, as typed.
    body TEXT NOT NULL,
    -- Milligrams, microlitres or thousandths of a degree, for programs that read the table.
    amount BIGINT,
    occurred_ms BIGINT NOT NULL,
    zone TEXT NOT NULL,
    carer TEXT NOT NULL,
    device TEXT NOT NULL,
    supersedes TEXT NOT NULL,
    voids TEXT NOT NULL,
    received_ms BIGINT NOT NULL,
    client_seq BIGINT,
    client_wall_ms BIGINT,
    is_time_uncertain BIGINT NOT NULL,
    is_late BIGINT NOT NULL
);

CREATE UNIQUE INDEX fact_of_litter ON fact (litter, seq);
CREATE INDEX fact_of_kind ON fact (kind, seq);

-- One row for each number that is counted up inside the transaction that uses it: two writers
-- wait for each other, so a lower place is never committed after a higher one.
CREATE TABLE counter (
    name TEXT NOT NULL PRIMARY KEY,
    value BIGINT NOT NULL
);

INSERT INTO counter (name, value) VALUES ('fact', 0);
