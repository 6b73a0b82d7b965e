-- Why: who may come in over the home network, and what was done about it. None of this is a fact
-- of a litter, so none of it takes part in the fold. No secret stands here as it is: a token as its
-- SHA-256, a password or PIN as an argon2id hash. Times are milliseconds since 1970 in UTC; 0 stands
-- for "not yet", '' for none.

-- A person of the household, with what that person may do.
CREATE TABLE person (
    name TEXT NOT NULL PRIMARY KEY,
    role TEXT NOT NULL,
    added_ms BIGINT NOT NULL
);

-- The password of the household (owner 'household') or the PIN of a person (owner 'pin NAME').
CREATE TABLE secret (
    owner TEXT NOT NULL PRIMARY KEY,
    hash TEXT NOT NULL,
    -- Tries since the last right one, counted before each is looked at.
    tries BIGINT NOT NULL,
    closed_until_ms BIGINT NOT NULL,
    set_ms BIGINT NOT NULL
);

-- A phone or computer that was let in.
CREATE TABLE device (
    id TEXT NOT NULL PRIMARY KEY,
    token_hash TEXT NOT NULL UNIQUE,
    label TEXT NOT NULL,
    -- The most that it may do without a further secret.
    role TEXT NOT NULL,
    -- Who holds it now.
    carer TEXT NOT NULL,
    added_ms BIGINT NOT NULL,
    seen_ms BIGINT NOT NULL,
    ends_ms BIGINT NOT NULL,
    signed_out_ms BIGINT NOT NULL
);

-- What lets a phone in once ('phone'), or shows one litter's page for the vet ('vet').
CREATE TABLE link (
    id TEXT NOT NULL PRIMARY KEY,
    token_hash TEXT NOT NULL UNIQUE,
    what TEXT NOT NULL,
    name TEXT NOT NULL,
    role TEXT NOT NULL,
    litter TEXT NOT NULL,
    made_ms BIGINT NOT NULL,
    ends_ms BIGINT NOT NULL,
    used_ms BIGINT NOT NULL,
    ended_ms BIGINT NOT NULL
);

-- Written once, never changed: sign-ins, sign-outs, links, changed roles, refusals.
CREATE TABLE audit (
    seq BIGINT NOT NULL PRIMARY KEY,
    at_ms BIGINT NOT NULL,
    device TEXT NOT NULL,
    carer TEXT NOT NULL,
    address TEXT NOT NULL,
    what TEXT NOT NULL,
    detail TEXT NOT NULL
);

INSERT INTO counter (name, value) VALUES ('audit', 0);
