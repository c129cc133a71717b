-- The notebook, version 1. Every later version is a file of its own with what changes.

CREATE TABLE swimmer (
    id      INTEGER PRIMARY KEY,
    name    TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (length(name) BETWEEN 1 AND 60),
    -- The profile's YAML as it was given, if one was.
    profile TEXT
) STRICT;

-- Each text once, however often it is swum.
CREATE TABLE script (
    sha256  TEXT PRIMARY KEY CHECK (length(sha256) = 64),
    name    TEXT NOT NULL,
    text    TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE practice (
    id      INTEGER PRIMARY KEY,
    swimmer INTEGER NOT NULL REFERENCES swimmer,
    script  TEXT REFERENCES script,
    title   TEXT NOT NULL,
    day     TEXT NOT NULL CHECK (day GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
    begun   TEXT CHECK (begun GLOB '[0-2][0-9]:[0-5][0-9]'),
    pool    TEXT NOT NULL,
    minutes REAL CHECK (minutes > 0 AND minutes < 1440),
    feel    INTEGER CHECK (feel BETWEEN 1 AND 5),
    effort  INTEGER CHECK (effort BETWEEN 0 AND 10),
    pain    TEXT,
    note    TEXT,
    -- SHA-256 of the session record that it was taken from.
    record  TEXT,
    UNIQUE (swimmer, record)
) STRICT;
CREATE INDEX practice_of_swimmer ON practice (swimmer, day);

CREATE TABLE swum_set (
    id       INTEGER PRIMARY KEY,
    practice INTEGER NOT NULL REFERENCES practice ON DELETE CASCADE,
    number   INTEGER NOT NULL CHECK (number >= 1),
    title    TEXT NOT NULL,
    -- The repeat from which it fell apart.
    apart    INTEGER CHECK (apart >= 1),
    UNIQUE (practice, number)
) STRICT;

CREATE TABLE repeat (
    id        INTEGER PRIMARY KEY,
    swum_set  INTEGER NOT NULL REFERENCES swum_set ON DELETE CASCADE,
    number    INTEGER NOT NULL CHECK (number >= 1),
    round     INTEGER NOT NULL CHECK (round >= 1),
    metres    REAL NOT NULL CHECK (metres > 0),
    -- 0 in open water.
    lengths   INTEGER NOT NULL CHECK (lengths >= 0),
    swim      TEXT NOT NULL,
    -- The lengths whose strokes say something of the whole stroke (crawl, without gear, no drill): '1-4', '2, 4' or ''.
    plain     TEXT NOT NULL,
    test      INTEGER NOT NULL CHECK (test IN (0, 1)),
    -- Seconds per stroke that were asked for, and seconds that were predicted.
    tempo     REAL CHECK (tempo BETWEEN 0.4 AND 2.5),
    predicted REAL CHECK (predicted > 0),
    left_breaths  INTEGER NOT NULL CHECK (left_breaths >= 0),
    right_breaths INTEGER NOT NULL CHECK (right_breaths >= 0),
    state     TEXT NOT NULL CHECK (state IN ('unknown', 'swum', 'missed', 'skipped', 'unheard')),
    UNIQUE (swum_set, number)
) STRICT;

CREATE TABLE observation (
    id      INTEGER PRIMARY KEY,
    repeat  INTEGER NOT NULL REFERENCES repeat ON DELETE CASCADE,
    -- Strokes, seconds per stroke, seconds, breaths.
    measure TEXT NOT NULL CHECK (measure IN ('count', 'tempo', 'time', 'breaths-left', 'breaths-right')),
    -- Of which length of the repeat, from 1; of the whole repeat where it is not there.
    length  INTEGER CHECK (length >= 1),
    value   REAL NOT NULL CHECK (value >= 0),
    source  TEXT NOT NULL CHECK (source IN ('counted', 'clock', 'tapped', 'coach', 'guess'))
) STRICT;
CREATE INDEX observation_of_repeat ON observation (repeat);

-- How many counted strokes of a repeat a focus phrase was in force for.
CREATE TABLE rehearsed (
    repeat  INTEGER NOT NULL REFERENCES repeat ON DELETE CASCADE,
    phrase  TEXT NOT NULL,
    strokes INTEGER NOT NULL CHECK (strokes >= 0),
    PRIMARY KEY (repeat, phrase)
) STRICT, WITHOUT ROWID;
