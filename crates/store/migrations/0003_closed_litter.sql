-- Why: a litter whose last pup has left no longer changes, and its thousands of facts need not
-- be put together again to list it. Only a copy: it is thrown away when its litter has a newer
-- fact or the program another version.

CREATE TABLE closed_litter (
    litter TEXT NOT NULL PRIMARY KEY,
    last_seq BIGINT NOT NULL,
    program_version TEXT NOT NULL,
    summary TEXT NOT NULL
);
