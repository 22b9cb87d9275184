-- What is learned of a batch once it has ended.
--
-- Why it is as it is:
--  * Ended batches grow in number and no longer change. What the engine learns
--    of one is worked out once and kept here, so that a morning does not read
--    ten years of readings. It is derived: a row can go at any time and is
--    worked out again when it is next wanted.
--  * Triggers take a row away when anything changes that it was worked out from,
--    on whatever way the change comes: a deed, undo, an import, a logger. None
--    of them looks at more than the rows that it takes away.
--  * No foreign key: it must never hold anything else back.

CREATE TABLE lesson (
    batch       INTEGER PRIMARY KEY,
    -- The end of the ferment: what was read later is no part of it.
    until_ms    INTEGER NOT NULL,
    -- The version of skep whose sums it was worked out by.
    made_by     TEXT    NOT NULL,
    -- Empty where nothing can be learned of it.
    og          REAL,
    fg          REAL,
    days        REAL,
    celsius     REAL,
    stuck       INTEGER CHECK (stuck IN (0, 1)),
    style       TEXT    NOT NULL,
    yeast       TEXT,
    place       TEXT,
    expected_fg REAL,
    CHECK ((og IS NULL) = (fg IS NULL) AND (og IS NULL) = (days IS NULL)
        AND (og IS NULL) = (stuck IS NULL))
) STRICT;
CREATE INDEX lesson_until ON lesson (until_ms);

CREATE TRIGGER lesson_reading_new AFTER INSERT ON reading BEGIN
    DELETE FROM lesson WHERE until_ms >= NEW.at_ms;
END;
CREATE TRIGGER lesson_reading_set AFTER UPDATE ON reading BEGIN
    DELETE FROM lesson WHERE until_ms >= min(OLD.at_ms, NEW.at_ms);
END;
CREATE TRIGGER lesson_reading_gone AFTER DELETE ON reading BEGIN
    DELETE FROM lesson WHERE until_ms >= OLD.at_ms;
END;

CREATE TRIGGER lesson_batch_set AFTER UPDATE ON batch BEGIN
    DELETE FROM lesson WHERE batch = OLD.id;
END;
CREATE TRIGGER lesson_batch_gone AFTER DELETE ON batch BEGIN
    DELETE FROM lesson WHERE batch = OLD.id;
END;

CREATE TRIGGER lesson_stay_new AFTER INSERT ON stay BEGIN
    DELETE FROM lesson WHERE batch = NEW.batch;
END;
CREATE TRIGGER lesson_stay_set AFTER UPDATE ON stay BEGIN
    DELETE FROM lesson WHERE batch IN (OLD.batch, NEW.batch);
END;
CREATE TRIGGER lesson_stay_gone AFTER DELETE ON stay BEGIN
    DELETE FROM lesson WHERE batch = OLD.batch;
END;

-- Rare, and hard to say for which batches: all are worked out again.
CREATE TRIGGER lesson_standing_new AFTER INSERT ON standing BEGIN DELETE FROM lesson; END;
CREATE TRIGGER lesson_standing_set AFTER UPDATE ON standing BEGIN DELETE FROM lesson; END;
CREATE TRIGGER lesson_standing_gone AFTER DELETE ON standing BEGIN DELETE FROM lesson; END;
CREATE TRIGGER lesson_vessel_moved AFTER UPDATE OF place ON vessel BEGIN DELETE FROM lesson; END;
CREATE TRIGGER lesson_place_set AFTER UPDATE ON place BEGIN DELETE FROM lesson; END;
CREATE TRIGGER lesson_instrument_new AFTER INSERT ON instrument BEGIN DELETE FROM lesson; END;
CREATE TRIGGER lesson_instrument_set AFTER UPDATE ON instrument BEGIN DELETE FROM lesson; END;
CREATE TRIGGER lesson_instrument_gone AFTER DELETE ON instrument BEGIN DELETE FROM lesson; END;

-- A logger that reports of the past, by the day.
CREATE TRIGGER lesson_digest_new AFTER INSERT ON digest WHEN NEW.span_ms = 86400000 BEGIN
    DELETE FROM lesson WHERE until_ms >= NEW.from_ms;
END;
CREATE TRIGGER lesson_digest_set AFTER UPDATE ON digest WHEN NEW.span_ms = 86400000 BEGIN
    DELETE FROM lesson WHERE until_ms >= NEW.from_ms;
END;
CREATE TRIGGER lesson_digest_gone AFTER DELETE ON digest WHEN OLD.span_ms = 86400000 BEGIN
    DELETE FROM lesson WHERE until_ms >= OLD.from_ms;
END;
