-- The rack as version 1 had it; later versions change it step by step. Areas are whole hundredths of a square millimetre, so that sums are exact; other sizes are mm.
CREATE TABLE rack (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    id TEXT NOT NULL,
    next_number INTEGER NOT NULL
) STRICT;

-- Everything that was ever done, in order. The five areas are what it moved: what came in is on the rack, in windows,
-- in the cullet bin or thrown away.
CREATE TABLE operations (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    kind TEXT NOT NULL CHECK (kind IN ('add', 'import', 'correct', 'throw away', 'hold', 'release', 'book', 'take back')),
    at INTEGER NOT NULL,
    who TEXT NOT NULL,
    plan TEXT,
    note TEXT NOT NULL,
    came_in INTEGER NOT NULL DEFAULT 0,
    on_rack INTEGER NOT NULL DEFAULT 0,
    used INTEGER NOT NULL DEFAULT 0,
    cullet INTEGER NOT NULL DEFAULT 0,
    thrown_away INTEGER NOT NULL DEFAULT 0,
    CHECK (came_in = on_rack + used + cullet + thrown_away)
) STRICT;
CREATE TRIGGER history_stays BEFORE DELETE ON operations BEGIN SELECT RAISE(ABORT, 'history is never taken out'); END;
CREATE TRIGGER history_is_kept BEFORE UPDATE ON operations BEGIN SELECT RAISE(ABORT, 'history is never changed'); END;

-- Every sheet and offcut that ever was, each with its tag for good.
CREATE TABLE items (
    id INTEGER PRIMARY KEY,
    tag TEXT NOT NULL UNIQUE COLLATE NOCASE,
    bare TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('sheet', 'offcut')),
    glass TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('to buy', 'on the rack', 'used', 'thrown away', 'withdrawn')),
    outline BLOB NOT NULL,
    width REAL NOT NULL,
    height REAL NOT NULL,
    area INTEGER NOT NULL CHECK (area >= 0),
    grain_deg REAL NOT NULL,
    scored_face TEXT CHECK (scored_face IN ('show', 'back')),
    lot TEXT,
    flaws BLOB NOT NULL,
    place TEXT NOT NULL,
    price REAL,
    came_from TEXT,
    entered INTEGER NOT NULL REFERENCES operations (id)
) STRICT;
CREATE INDEX items_bare ON items (bare);
CREATE INDEX items_on_rack ON items (glass) WHERE state = 'on the rack';
CREATE INDEX items_to_buy ON items (glass) WHERE state = 'to buy';
CREATE TRIGGER tags_stay BEFORE DELETE ON items BEGIN SELECT RAISE(ABORT, 'a tag is never taken out'); END;
CREATE TRIGGER tags_are_kept BEFORE UPDATE OF id, tag, entered ON items
WHEN OLD.id <> NEW.id OR OLD.tag <> NEW.tag OR OLD.entered <> NEW.entered
BEGIN SELECT RAISE(ABORT, 'a tag is never changed'); END;

-- What each operation did to which glass, and how it was before.
CREATE TABLE changes (
    operation INTEGER NOT NULL REFERENCES operations (id),
    item INTEGER NOT NULL REFERENCES items (id),
    what TEXT NOT NULL,
    PRIMARY KEY (item, operation)
) STRICT, WITHOUT ROWID;
CREATE INDEX changes_by_operation ON changes (operation);

-- Glass promised to a plan; each one once.
CREATE TABLE holds (
    item INTEGER PRIMARY KEY REFERENCES items (id),
    plan TEXT NOT NULL,
    operation INTEGER NOT NULL REFERENCES operations (id)
) STRICT;
CREATE INDEX holds_by_plan ON holds (plan);

-- Plans that were cut; each one once unless it was taken back.
CREATE TABLE bookings (
    id INTEGER PRIMARY KEY REFERENCES operations (id),
    plan TEXT NOT NULL,
    undone INTEGER REFERENCES operations (id)
) STRICT;
CREATE UNIQUE INDEX booked_once ON bookings (plan) WHERE undone IS NULL;

-- Which glass went into which booking; each one once.
CREATE TABLE uses (
    item INTEGER PRIMARY KEY REFERENCES items (id),
    booking INTEGER NOT NULL REFERENCES bookings (id),
    sheet INTEGER NOT NULL,
    bought INTEGER NOT NULL CHECK (bought IN (0, 1)),
    held INTEGER NOT NULL CHECK (held IN (0, 1))
) STRICT;
CREATE INDEX uses_by_booking ON uses (booking);

-- Offcuts that a booking brought back.
CREATE TABLE returns (
    item INTEGER PRIMARY KEY REFERENCES items (id),
    booking INTEGER NOT NULL REFERENCES bookings (id),
    sheet INTEGER NOT NULL
) STRICT;
CREATE INDEX returns_by_booking ON returns (booking);
