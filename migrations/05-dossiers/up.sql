-- Dossiers of batches in bottles, each in one piece.
--
-- Why it is as it is:
--  * Bottles ask for something for months, and each morning read hundreds of rows
--    of each batch that no longer change. They are put together once and kept here.
--    Like a lesson this is derived: a row can go at any time and is put together
--    again. It is no part of an archive.
--  * It hangs on what the lesson of its batch hangs on, and goes with it; steps and
--    bottles, which no lesson looks at, take it away as well.
--  * The bytes bear a proof; without a right one they are not believed.

CREATE TABLE dossier (
    batch   INTEGER PRIMARY KEY,
    -- The number of the sums and of the program's own records.
    made_by TEXT    NOT NULL,
    whole   BLOB    NOT NULL
) STRICT;

CREATE TRIGGER dossier_lesson_gone AFTER DELETE ON lesson BEGIN
    DELETE FROM dossier WHERE batch = OLD.batch;
END;

CREATE TRIGGER dossier_step_new AFTER INSERT ON step BEGIN
    DELETE FROM dossier WHERE batch = NEW.batch;
END;
CREATE TRIGGER dossier_step_set AFTER UPDATE ON step BEGIN
    DELETE FROM dossier WHERE batch IN (OLD.batch, NEW.batch);
END;
CREATE TRIGGER dossier_step_gone AFTER DELETE ON step BEGIN
    DELETE FROM dossier WHERE batch = OLD.batch;
END;

CREATE TRIGGER dossier_lot_new AFTER INSERT ON lot BEGIN
    DELETE FROM dossier WHERE batch = NEW.batch;
END;
CREATE TRIGGER dossier_lot_set AFTER UPDATE ON lot BEGIN
    DELETE FROM dossier WHERE batch IN (OLD.batch, NEW.batch);
END;
CREATE TRIGGER dossier_lot_gone AFTER DELETE ON lot BEGIN
    DELETE FROM dossier WHERE batch = OLD.batch;
END;

-- Which bottles have something to do, without looking at all that was done.
CREATE INDEX step_open ON step (batch) WHERE status = 'open';

-- Another name or unit of a logger: rare, and hard to say for which batches.
CREATE TRIGGER dossier_stream_set AFTER UPDATE ON stream BEGIN DELETE FROM dossier; END;
