-- Why: a breeder may have a whole litter, or a person's name, erased for good. Another program that still
-- holds the litter in memory must hear of it, and may not write into it again.

-- A litter that was erased: its id alone, which says nothing.
CREATE TABLE erased (
    litter TEXT NOT NULL PRIMARY KEY,
    at_ms BIGINT NOT NULL
);

-- How often something was erased: what is held in memory counts as long as this is the same.
INSERT INTO counter (name, value) VALUES ('erasure', 0);
-- The last fact, and the last entry that waits, that a ZIP of everything holds: what came later may not be
-- erased yet.
INSERT INTO counter (name, value) VALUES ('written_out', 0), ('written_out_waiting', 0);
-- 1 while the database may still hold the bytes of what was erased.
INSERT INTO counter (name, value) VALUES ('unclean', 0);
