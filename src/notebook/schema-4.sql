-- The notebook, version 4: names are alike in upper and lower case in every alphabet.

-- The name as it is looked for, which the program makes: SQLite by itself knows upper and lower case of the English letters alone.
ALTER TABLE swimmer ADD COLUMN folded TEXT;
CREATE UNIQUE INDEX swimmer_folded ON swimmer (folded);
