-- A checksum for every row, by which `skep check` finds a value that other
-- hands than skep's have changed: a flipped bit on a disk, an editor.
--
-- Why it is as it is:
--  * Beside the rows, not in them: a table needs no column more, and a later
--    migration that adds a column whose rows are NULL breaks no seal, since what
--    is NULL is left out of the sum. One that changes values seals anew.
--  * A change is sealed together with its lines, under the table 'change'.
--  * Samples of loggers come by the million: their hours and days bear the sum
--    of all their checksums (exclusive or, in any order).
--  * The program fills both in the same transaction, and an archive leaves the
--    seals out: they are made anew of what it holds.

CREATE TABLE seal (
    tbl    TEXT    NOT NULL,
    row_id INTEGER NOT NULL,
    sum    INTEGER NOT NULL,
    PRIMARY KEY (tbl, row_id)
) STRICT, WITHOUT ROWID;

ALTER TABLE digest ADD COLUMN proof INTEGER NOT NULL DEFAULT 0;
