-- The first schema.
--
-- Why it is as it is:
--  * STRICT everywhere: a text never slips into a number. No serialised blobs.
--  * An instant is two columns: `..._ms`, milliseconds since 1970 UTC, and
--    `..._off`, minutes east of UTC where it was entered. A day is text, 2026-11-25.
--  * Nothing is deleted in ordinary work, so foreign keys restrict. Undo deletes
--    in the reverse order of making, which restricting keys allow.
--  * AUTOINCREMENT: a number that undo gave back is never given to another row,
--    so the list of changes never speaks of two rows by one number.
--  * Words that may grow (kinds of event, of step, units) are checked by the
--    program; words that will not are checked here as well.

PRAGMA application_id = 1397441872; -- 0x534B4550, 'SKEP' in ASCII

CREATE TABLE state (
    id       INTEGER PRIMARY KEY CHECK (id = 1),
    -- Grows with every write of any kind; a screen follows it.
    revision INTEGER NOT NULL CHECK (revision >= 0)
) STRICT;
INSERT INTO state (id, revision) VALUES (1, 0);

CREATE TABLE place (
    id           INTEGER PRIMARY KEY AUTOINCREMENT,
    name         TEXT    NOT NULL COLLATE NOCASE UNIQUE CHECK (name <> ''),
    dark         INTEGER NOT NULL CHECK (dark IN (0, 1)),
    usual_temp_c REAL    CHECK (usual_temp_c BETWEEN -100 AND 200)
) STRICT;

CREATE TABLE vessel (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    tag        TEXT    NOT NULL COLLATE NOCASE UNIQUE CHECK (tag <> ''),
    kind       TEXT    NOT NULL CHECK (kind <> ''),
    capacity_l REAL    NOT NULL CHECK (capacity_l > 0 AND capacity_l < 1e6),
    tare_g     REAL    CHECK (tare_g >= 0 AND tare_g < 1e9),
    place      INTEGER NOT NULL REFERENCES place (id),
    clean      INTEGER NOT NULL CHECK (clean IN (0, 1)),
    retired    INTEGER NOT NULL CHECK (retired IN (0, 1)),
    note       TEXT    NOT NULL
) STRICT;
CREATE INDEX vessel_of_place ON vessel (place);

-- Where a vessel stood: from an instant until its next row; the first row
-- counts for all time before it too. A place's temperatures reach a batch by this.
CREATE TABLE standing (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    vessel   INTEGER NOT NULL REFERENCES vessel (id),
    place    INTEGER NOT NULL REFERENCES place (id),
    from_ms  INTEGER NOT NULL,
    from_off INTEGER NOT NULL CHECK (from_off BETWEEN -1440 AND 1440)
) STRICT;
CREATE INDEX standing_of_vessel ON standing (vessel, from_ms);
CREATE INDEX standing_of_place ON standing (place);

CREATE TABLE instrument (
    id              INTEGER PRIMARY KEY AUTOINCREMENT,
    name            TEXT    NOT NULL COLLATE NOCASE UNIQUE CHECK (name <> ''),
    kind            TEXT    NOT NULL CHECK (kind <> ''),
    calibrated_at_c REAL    CHECK (calibrated_at_c BETWEEN -100 AND 200),
    off_by          REAL    NOT NULL CHECK (off_by BETWEEN -1e9 AND 1e9),
    resolution      REAL    NOT NULL CHECK (resolution > 0 AND resolution < 1e9),
    factor          REAL    NOT NULL CHECK (factor > 0 AND factor < 1e9),
    preferred       INTEGER NOT NULL CHECK (preferred IN (0, 1))
) STRICT;
CREATE UNIQUE INDEX instrument_preferred ON instrument (kind) WHERE preferred = 1;

CREATE TABLE batch (
    id            INTEGER PRIMARY KEY AUTOINCREMENT,
    name          TEXT    NOT NULL CHECK (name <> ''),
    style         TEXT    NOT NULL CHECK (style <> ''),
    variety       TEXT    NOT NULL,
    stage         TEXT    NOT NULL CHECK
        (stage IN ('planned', 'fermenting', 'resting', 'ageing', 'bottled', 'closed')),
    routine       TEXT,
    yeast         TEXT,
    tolerance_abv REAL    CHECK (tolerance_abv BETWEEN 0 AND 100),
    band_low_c    REAL,
    band_high_c   REAL,
    band_min_c    REAL,
    band_max_c    REAL,
    planned_og    REAL    CHECK (planned_og BETWEEN 0.5 AND 2),
    expected_fg   REAL    CHECK (expected_fg BETWEEN 0.5 AND 2),
    volume_l      REAL    CHECK (volume_l >= 0 AND volume_l < 1e6),
    fizz          TEXT    NOT NULL CHECK (fizz <> ''),
    pitched_ms    INTEGER,
    pitched_off   INTEGER CHECK (pitched_off BETWEEN -1440 AND 1440),
    bottled_ms    INTEGER,
    bottled_off   INTEGER CHECK (bottled_off BETWEEN -1440 AND 1440),
    closed_ms     INTEGER,
    closed_off    INTEGER CHECK (closed_off BETWEEN -1440 AND 1440),
    created_ms    INTEGER NOT NULL,
    created_off   INTEGER NOT NULL CHECK (created_off BETWEEN -1440 AND 1440),
    planned_day   TEXT    CHECK (planned_day IS date(planned_day)),
    note          TEXT    NOT NULL,
    CHECK ((band_low_c IS NULL) = (band_high_c IS NULL)
       AND (band_low_c IS NULL) = (band_min_c IS NULL)
       AND (band_low_c IS NULL) = (band_max_c IS NULL)),
    CHECK ((pitched_ms IS NULL) = (pitched_off IS NULL)),
    CHECK ((bottled_ms IS NULL) = (bottled_off IS NULL)),
    CHECK ((closed_ms IS NULL) = (closed_off IS NULL)),
    -- A plan has no day 1; what is closed says when.
    CHECK (stage IN ('planned', 'closed') OR pitched_ms IS NOT NULL),
    CHECK (stage <> 'planned' OR pitched_ms IS NULL),
    CHECK ((stage = 'closed') = (closed_ms IS NOT NULL))
) STRICT;
CREATE INDEX batch_of_stage ON batch (stage);

CREATE TABLE stay (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    batch    INTEGER NOT NULL REFERENCES batch (id),
    vessel   INTEGER NOT NULL REFERENCES vessel (id),
    from_ms  INTEGER NOT NULL,
    from_off INTEGER NOT NULL CHECK (from_off BETWEEN -1440 AND 1440),
    to_ms    INTEGER,
    to_off   INTEGER CHECK (to_off BETWEEN -1440 AND 1440),
    volume_l REAL    CHECK (volume_l >= 0 AND volume_l < 1e6),
    CHECK ((to_ms IS NULL) = (to_off IS NULL)),
    CHECK (to_ms IS NULL OR to_ms >= from_ms)
) STRICT;
CREATE INDEX stay_of_batch ON stay (batch);
CREATE INDEX stay_of_vessel ON stay (vessel, from_ms);
-- One batch at a time in a vessel.
CREATE UNIQUE INDEX stay_open ON stay (vessel) WHERE to_ms IS NULL;

CREATE TABLE reading (
    id                INTEGER PRIMARY KEY AUTOINCREMENT,
    vessel            INTEGER REFERENCES vessel (id),
    place             INTEGER REFERENCES place (id),
    at_ms             INTEGER NOT NULL,
    at_off            INTEGER NOT NULL CHECK (at_off BETWEEN -1440 AND 1440),
    kind              TEXT    NOT NULL CHECK (kind <> ''),
    value             REAL    NOT NULL CHECK (value BETWEEN -1e9 AND 1e9),
    unit              TEXT    NOT NULL CHECK (unit <> ''),
    sample_temp       REAL    CHECK (sample_temp BETWEEN -1e9 AND 1e9),
    sample_temp_unit  TEXT,
    instrument        INTEGER REFERENCES instrument (id),
    source            TEXT    NOT NULL,
    doubted           INTEGER NOT NULL CHECK (doubted IN (0, 1)),
    note              TEXT    NOT NULL,
    entered_ms        INTEGER NOT NULL,
    entered_off       INTEGER NOT NULL CHECK (entered_off BETWEEN -1440 AND 1440),
    -- Taken off the list by the maker; the row stays for the ledger.
    removed_ms        INTEGER,
    removed_off       INTEGER CHECK (removed_off BETWEEN -1440 AND 1440),
    CHECK ((vessel IS NULL) <> (place IS NULL)),
    CHECK (place IS NULL OR kind = 'temperature'),
    CHECK ((sample_temp IS NULL) = (sample_temp_unit IS NULL)),
    CHECK ((removed_ms IS NULL) = (removed_off IS NULL))
) STRICT;
CREATE INDEX reading_of_vessel ON reading (vessel, at_ms) WHERE vessel IS NOT NULL;
CREATE INDEX reading_of_place ON reading (place, at_ms) WHERE place IS NOT NULL;
CREATE INDEX reading_of_instrument ON reading (instrument) WHERE instrument IS NOT NULL;

CREATE TABLE step (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    batch       INTEGER NOT NULL REFERENCES batch (id),
    key         TEXT    NOT NULL CHECK (key <> ''),
    title       TEXT    NOT NULL CHECK (title <> ''),
    kind        TEXT    NOT NULL CHECK (kind <> ''),
    -- When it may be done: which of these count is said by `opens`.
    opens       TEXT    NOT NULL CHECK
        (opens IN ('day', 'sugar-gone', 'finished', 'after', 'stable')),
    opens_day   INTEGER, -- the day; or the latest, or the earliest day
    opens_share REAL    CHECK (opens_share BETWEEN 0 AND 1),
    opens_days  INTEGER, -- days after something
    opens_step  TEXT,    -- key of the step it hangs on
    due_window  INTEGER NOT NULL,
    slack       INTEGER NOT NULL,
    late        TEXT    NOT NULL CHECK (late IN ('never', 'sugar-gone', 'day', 'days-after-due')),
    late_share  REAL    CHECK (late_share BETWEEN 0 AND 1),
    late_abv    REAL    CHECK (late_abv BETWEEN 0 AND 100),
    late_days   INTEGER,
    why         TEXT    NOT NULL,
    harm        TEXT    NOT NULL,
    weight      INTEGER NOT NULL CHECK (weight BETWEEN 0 AND 3),
    amount      TEXT    NOT NULL,
    countdown_s INTEGER CHECK (countdown_s >= 0),
    sequence    INTEGER NOT NULL,
    status      TEXT    NOT NULL CHECK (status IN ('open', 'done', 'skipped')),
    status_ms   INTEGER,
    status_off  INTEGER CHECK (status_off BETWEEN -1440 AND 1440),
    reason      TEXT,
    moved_to    TEXT    CHECK (moved_to IS date(moved_to)),
    UNIQUE (batch, key),
    CHECK ((status = 'open') = (status_ms IS NULL)),
    CHECK ((status_ms IS NULL) = (status_off IS NULL)),
    CHECK ((status = 'skipped') = (reason IS NOT NULL))
) STRICT;

CREATE TABLE event (
    id        INTEGER PRIMARY KEY AUTOINCREMENT,
    batch     INTEGER NOT NULL REFERENCES batch (id),
    vessel    INTEGER REFERENCES vessel (id),
    step      INTEGER REFERENCES step (id),
    at_ms     INTEGER NOT NULL,
    at_off    INTEGER NOT NULL CHECK (at_off BETWEEN -1440 AND 1440),
    kind      TEXT    NOT NULL CHECK (kind <> ''),
    substance TEXT    NOT NULL,
    mass_g    REAL    CHECK (mass_g >= 0 AND mass_g < 1e9),
    volume_l  REAL    CHECK (volume_l >= 0 AND volume_l < 1e6),
    note      TEXT    NOT NULL
) STRICT;
CREATE INDEX event_of_batch ON event (batch, at_ms);
CREATE INDEX event_of_vessel ON event (vessel) WHERE vessel IS NOT NULL;
CREATE INDEX event_of_step ON event (step) WHERE step IS NOT NULL;

CREATE TABLE lot (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    batch       INTEGER NOT NULL REFERENCES batch (id),
    class       TEXT    NOT NULL CHECK (class <> ''),
    size_l      REAL    NOT NULL CHECK (size_l > 0 AND size_l < 1e6),
    count       INTEGER NOT NULL CHECK (count > 0),
    clear_glass INTEGER NOT NULL CHECK (clear_glass IN (0, 1)),
    place       INTEGER NOT NULL REFERENCES place (id),
    bottled_ms  INTEGER NOT NULL,
    bottled_off INTEGER NOT NULL CHECK (bottled_off BETWEEN -1440 AND 1440),
    ready_from  TEXT    CHECK (ready_from IS date(ready_from)),
    drink_by    TEXT    CHECK (drink_by IS date(drink_by)),
    note        TEXT    NOT NULL
) STRICT;
CREATE INDEX lot_of_batch ON lot (batch);
CREATE INDEX lot_of_place ON lot (place);

CREATE TABLE draw (
    id     INTEGER PRIMARY KEY AUTOINCREMENT,
    lot    INTEGER NOT NULL REFERENCES lot (id),
    count  INTEGER NOT NULL CHECK (count <> 0),
    kind   TEXT    NOT NULL CHECK (kind <> ''),
    at_ms  INTEGER NOT NULL,
    at_off INTEGER NOT NULL CHECK (at_off BETWEEN -1440 AND 1440),
    whom   TEXT    NOT NULL,
    note   TEXT    NOT NULL,
    CHECK (count > 0 OR kind = 'counted')
) STRICT;
CREATE INDEX draw_of_lot ON draw (lot, at_ms);

CREATE TABLE tasting (
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    batch   INTEGER NOT NULL REFERENCES batch (id),
    lot     INTEGER REFERENCES lot (id),
    at_ms   INTEGER NOT NULL,
    at_off  INTEGER NOT NULL CHECK (at_off BETWEEN -1440 AND 1440),
    smell   INTEGER NOT NULL CHECK (smell BETWEEN 1 AND 5),
    taste   INTEGER NOT NULL CHECK (taste BETWEEN 1 AND 5),
    balance INTEGER NOT NULL CHECK (balance BETWEEN 1 AND 5),
    body    INTEGER NOT NULL CHECK (body BETWEEN 1 AND 5),
    finish  INTEGER NOT NULL CHECK (finish BETWEEN 1 AND 5),
    words   TEXT    NOT NULL
) STRICT;
CREATE INDEX tasting_of_batch ON tasting (batch, at_ms);
CREATE INDEX tasting_of_lot ON tasting (lot) WHERE lot IS NOT NULL;

CREATE TABLE pantry (
    id            INTEGER PRIMARY KEY AUTOINCREMENT,
    kind          TEXT    NOT NULL CHECK (kind <> ''),
    name          TEXT    NOT NULL CHECK (name <> ''),
    amount        REAL    NOT NULL CHECK (amount >= 0 AND amount < 1e9),
    unit          TEXT    NOT NULL CHECK (unit IN ('g', 'mL', 'pieces')),
    lot           TEXT    NOT NULL,
    best_before   TEXT    CHECK (best_before IS date(best_before)),
    price         REAL    CHECK (price >= 0 AND price < 1e9),
    keep_at_least REAL    CHECK (keep_at_least >= 0 AND keep_at_least < 1e9),
    note          TEXT    NOT NULL
) STRICT;

-- One row once the maker has chosen; none before.
CREATE TABLE settings (
    id               INTEGER PRIMARY KEY CHECK (id = 1),
    units            TEXT    NOT NULL CHECK (units IN ('us', 'metric')),
    gravity          TEXT    NOT NULL CHECK (gravity IN ('SG', 'Plato')),
    stall_prior      REAL    NOT NULL CHECK (stall_prior > 0 AND stall_prior < 1),
    reading_gap_days INTEGER NOT NULL CHECK (reading_gap_days BETWEEN 1 AND 365),
    adults           INTEGER NOT NULL CHECK (adults BETWEEN 1 AND 100)
) STRICT;

-- Every write of the tables above is one change with a name, and its lines:
-- which column of which row was what before and became what. Undo and redo walk
-- these, the ledger tells history by them. Lines are written in the same
-- transaction as the data and never changed. A later schema that renames a
-- table or a column renames it in `change_line` too.
CREATE TABLE change (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    name       TEXT    NOT NULL,
    at_ms      INTEGER NOT NULL,
    at_off     INTEGER NOT NULL CHECK (at_off BETWEEN -1440 AND 1440),
    batch      INTEGER, -- no key: the batch may have been undone
    state      TEXT    NOT NULL CHECK (state IN ('done', 'undone', 'dropped')),
    undone_ms  INTEGER,
    undone_off INTEGER CHECK (undone_off BETWEEN -1440 AND 1440),
    CHECK ((undone_ms IS NULL) = (undone_off IS NULL)),
    CHECK (state = 'done' OR undone_ms IS NOT NULL)
) STRICT;
CREATE INDEX change_of_state ON change (state, id);
CREATE INDEX change_of_batch ON change (batch, id) WHERE batch IS NOT NULL;

CREATE TABLE change_line (
    change  INTEGER NOT NULL REFERENCES change (id),
    seq     INTEGER NOT NULL,
    what    TEXT    NOT NULL CHECK (what IN ('add', 'set')),
    tbl     TEXT    NOT NULL,
    row_id  INTEGER NOT NULL,
    col     TEXT    NOT NULL,
    old     ANY,
    new     ANY,
    PRIMARY KEY (change, seq)
) STRICT, WITHOUT ROWID;
CREATE INDEX change_line_of_row ON change_line (tbl, row_id);
-- Readings that were mended from one vessel to another stay in the first one's ledger.
CREATE INDEX change_line_moved ON change_line (old)
    WHERE what = 'set' AND tbl = 'reading' AND col = 'vessel';

-- Dense data of loggers, apart from what a maker reads. A stream is one
-- quantity that one source reports of one vessel or place. Samples are not
-- part of undo: they come by the minute, and a source can send them again.
CREATE TABLE stream (
    id     INTEGER PRIMARY KEY,
    source TEXT    NOT NULL CHECK (source <> ''),
    kind   TEXT    NOT NULL CHECK (kind <> ''),
    unit   TEXT    NOT NULL CHECK (unit <> ''),
    vessel INTEGER REFERENCES vessel (id),
    place  INTEGER REFERENCES place (id),
    CHECK ((vessel IS NULL) <> (place IS NULL)),
    CHECK (place IS NULL OR kind = 'temperature')
) STRICT;
CREATE UNIQUE INDEX stream_of_vessel ON stream (vessel, source, kind, unit) WHERE vessel IS NOT NULL;
CREATE UNIQUE INDEX stream_of_place ON stream (place, source, kind, unit) WHERE place IS NOT NULL;
CREATE INDEX stream_of_source ON stream (source, kind);

CREATE TABLE sample (
    stream INTEGER NOT NULL REFERENCES stream (id),
    at_ms  INTEGER NOT NULL,
    at_off INTEGER NOT NULL,
    value  REAL    NOT NULL CHECK (value BETWEEN -1e9 AND 1e9),
    PRIMARY KEY (stream, at_ms)
) STRICT, WITHOUT ROWID;

-- What the samples of an hour or a day come to, kept up as they arrive, so
-- that the morning never reads millions of rows.
CREATE TABLE digest (
    stream   INTEGER NOT NULL REFERENCES stream (id),
    span_ms  INTEGER NOT NULL CHECK (span_ms > 0),
    from_ms  INTEGER NOT NULL,
    count    INTEGER NOT NULL CHECK (count > 0),
    late_ms  INTEGER NOT NULL, -- sum of (at_ms - from_ms)
    at_off   INTEGER NOT NULL,
    total    REAL    NOT NULL,
    low      REAL    NOT NULL,
    high     REAL    NOT NULL,
    PRIMARY KEY (stream, span_ms, from_ms)
) STRICT, WITHOUT ROWID;
