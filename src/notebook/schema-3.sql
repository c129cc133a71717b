-- The notebook, version 3: that the stroke held.

-- Whether it was said that nothing fell apart. Where nobody was asked it is 0, and so it is where a set fell apart.
ALTER TABLE practice ADD COLUMN held INTEGER NOT NULL DEFAULT 0 CHECK (held IN (0, 1));
