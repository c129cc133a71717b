-- The notebook, version 2: phrases that are compared.

-- Two phrases for one focus that take turns over practices, from a day on, until it is decided or stopped.
CREATE TABLE phrase_pair (
    id      INTEGER PRIMARY KEY,
    swimmer INTEGER NOT NULL REFERENCES swimmer,
    first   TEXT NOT NULL,
    second  TEXT NOT NULL CHECK (second <> first),
    begun   TEXT NOT NULL CHECK (begun GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
    ended   TEXT CHECK (ended GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]')
) STRICT;
-- One at a time.
CREATE UNIQUE INDEX phrase_pair_of_swimmer ON phrase_pair (swimmer) WHERE ended IS NULL;
