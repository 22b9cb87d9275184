-- What was poured in: its gravity and alcohol at that time, so that the sums
-- after it know what became of the gravity. Unknown for what was written before.

ALTER TABLE event ADD COLUMN gravity     REAL CHECK (gravity BETWEEN 0.5 AND 2);
ALTER TABLE event ADD COLUMN alcohol_abv REAL CHECK (alcohol_abv BETWEEN 0 AND 100);

-- What is learned of a batch hangs on what was poured in, too.
DELETE FROM lesson;
CREATE TRIGGER lesson_event_new AFTER INSERT ON event BEGIN
    DELETE FROM lesson WHERE batch = NEW.batch;
END;
CREATE TRIGGER lesson_event_set AFTER UPDATE ON event BEGIN
    DELETE FROM lesson WHERE batch IN (OLD.batch, NEW.batch);
END;
CREATE TRIGGER lesson_event_gone AFTER DELETE ON event BEGIN
    DELETE FROM lesson WHERE batch = OLD.batch;
END;

-- The register of empty bottles: what the note of a thing in the pantry told in
-- words until now. The program reads those notes once, in the same transaction.
-- A row has a size here or nothing at all; no class means that it is not known.
-- At most one of the two ratings; without one the trade's ceiling counts.

ALTER TABLE pantry ADD COLUMN bottle_l        REAL CHECK (bottle_l > 0 AND bottle_l < 1e6);
ALTER TABLE pantry ADD COLUMN bottle_class    TEXT CHECK (bottle_class <> '');
ALTER TABLE pantry ADD COLUMN bottle_volumes  REAL CHECK (bottle_volumes BETWEEN 0 AND 150);
ALTER TABLE pantry ADD COLUMN bottle_bar      REAL CHECK (bottle_bar BETWEEN 0 AND 60);
ALTER TABLE pantry ADD COLUMN bottle_filled   INTEGER CHECK (bottle_filled >= 0);
ALTER TABLE pantry ADD COLUMN bottle_rejected INTEGER CHECK (bottle_rejected >= 0);
ALTER TABLE pantry ADD COLUMN bottle_clear    INTEGER CHECK (bottle_clear IN (0, 1));
