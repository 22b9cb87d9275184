-- Planning: what a planned batch is made of, the checklist of its day, what was
-- taken out of the pantry, days away, sizes of places.
--
-- Why it is as it is:
--  * A plan is one row for each batch, its parts and nutrients rows of their
--    own, in order. A row that a changed plan no longer has is marked dropped:
--    nothing is deleted, so undo brings it back.
--  * A tick is one row for each line of a batch's checklist; taken off again
--    it has no instant.
--  * The amount that is left stands in `pantry`; a draw says where the rest went.

CREATE TABLE plan (
    id              INTEGER PRIMARY KEY AUTOINCREMENT,
    batch           INTEGER NOT NULL UNIQUE REFERENCES batch (id),
    -- The vessel it is for, by its tag and size: it may not be in the household.
    vessel_tag      TEXT,
    vessel_kind     TEXT,
    vessel_l        REAL    CHECK (vessel_l > 0 AND vessel_l < 1e6),
    volume_l        REAL    NOT NULL CHECK (volume_l > 0 AND volume_l < 1e6),
    aim             TEXT    NOT NULL CHECK (aim IN ('original', 'alcohol', 'sweetness')),
    aim_at          REAL    NOT NULL CHECK (aim_at BETWEEN 0 AND 100),
    lock_volume     INTEGER NOT NULL CHECK (lock_volume IN (0, 1)),
    lock_aim        INTEGER NOT NULL CHECK (lock_aim IN (0, 1)),
    filler          TEXT    NOT NULL CHECK (filler IN ('water', 'first')),
    portions        INTEGER NOT NULL CHECK (portions BETWEEN 0 AND 100),
    bottle_l        REAL    NOT NULL CHECK (bottle_l > 0 AND bottle_l < 1e6),
    bottle_loss     REAL    NOT NULL CHECK (bottle_loss BETWEEN 0 AND 1),
    bottle_price    REAL    CHECK (bottle_price >= 0 AND bottle_price < 1e9),
    yeast_title     TEXT    NOT NULL,
    yeast_source    TEXT    NOT NULL,
    attenuation     REAL    CHECK (attenuation BETWEEN 0 AND 200),
    demand          TEXT    NOT NULL CHECK (demand <> ''),
    feast_on        TEXT    CHECK (feast_on IS date(feast_on)),
    CHECK ((vessel_tag IS NULL) = (vessel_l IS NULL)),
    CHECK ((vessel_tag IS NULL) = (vessel_kind IS NULL))
) STRICT;

CREATE TABLE plan_part (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    batch      INTEGER NOT NULL REFERENCES batch (id),
    seq        INTEGER NOT NULL,
    key        TEXT    NOT NULL,
    name       TEXT    NOT NULL CHECK (name <> ''),
    kind       TEXT    NOT NULL CHECK (kind <> ''),
    mass_g     REAL    NOT NULL CHECK (mass_g >= 0 AND mass_g < 1e9),
    solids     REAL    NOT NULL CHECK (solids BETWEEN 0 AND 1),
    sugar      REAL    NOT NULL CHECK (sugar BETWEEN 0 AND 1),
    insoluble  REAL    NOT NULL CHECK (insoluble BETWEEN 0 AND 1),
    nitrogen   REAL    NOT NULL CHECK (nitrogen BETWEEN 0 AND 1e6),
    price      REAL    CHECK (price >= 0 AND price < 1e9),
    locked     INTEGER NOT NULL CHECK (locked IN (0, 1)),
    dropped    INTEGER NOT NULL CHECK (dropped IN (0, 1)),
    UNIQUE (batch, seq)
) STRICT;

CREATE TABLE plan_food (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    batch      INTEGER NOT NULL REFERENCES batch (id),
    seq        INTEGER NOT NULL,
    name       TEXT    NOT NULL CHECK (name <> ''),
    class      TEXT    NOT NULL CHECK (class <> ''),
    nitrogen   REAL    CHECK (nitrogen BETWEEN 0 AND 1e6),
    most_g_l   REAL    CHECK (most_g_l BETWEEN 0 AND 1e6),
    price      REAL    CHECK (price >= 0 AND price < 1e9),
    dropped    INTEGER NOT NULL CHECK (dropped IN (0, 1)),
    UNIQUE (batch, seq)
) STRICT;

CREATE TABLE tick (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    batch    INTEGER NOT NULL REFERENCES batch (id),
    line     TEXT    NOT NULL CHECK (line <> ''),
    at_ms    INTEGER,
    at_off   INTEGER CHECK (at_off BETWEEN -1440 AND 1440),
    mass_g   REAL    CHECK (mass_g >= 0 AND mass_g < 1e9),
    volume_l REAL    CHECK (volume_l >= 0 AND volume_l < 1e6),
    note     TEXT    NOT NULL,
    UNIQUE (batch, line),
    CHECK ((at_ms IS NULL) = (at_off IS NULL))
) STRICT;

CREATE TABLE pantry_draw (
    id     INTEGER PRIMARY KEY AUTOINCREMENT,
    item   INTEGER NOT NULL REFERENCES pantry (id),
    amount REAL    NOT NULL CHECK (amount > 0 AND amount < 1e9),
    batch  INTEGER REFERENCES batch (id),
    step   INTEGER REFERENCES step (id),
    at_ms  INTEGER NOT NULL,
    at_off INTEGER NOT NULL CHECK (at_off BETWEEN -1440 AND 1440),
    why    TEXT    NOT NULL
) STRICT;
CREATE INDEX pantry_draw_of_item ON pantry_draw (item, at_ms);
CREATE INDEX pantry_draw_of_batch ON pantry_draw (batch) WHERE batch IS NOT NULL;
CREATE INDEX pantry_draw_of_step ON pantry_draw (step) WHERE step IS NOT NULL;

CREATE TABLE away (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    from_day TEXT    NOT NULL CHECK (from_day IS date(from_day)),
    to_day   TEXT    NOT NULL CHECK (to_day IS date(to_day)),
    note     TEXT    NOT NULL,
    dropped  INTEGER NOT NULL CHECK (dropped IN (0, 1)),
    CHECK (to_day >= from_day)
) STRICT;

CREATE TABLE room (
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    place   INTEGER NOT NULL UNIQUE REFERENCES place (id),
    size    REAL    NOT NULL CHECK (size > 0 AND size < 1e6) -- cubic metres
) STRICT;
