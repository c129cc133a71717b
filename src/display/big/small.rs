//! The same letters and digits at their smallest, five dots high: drawn dot by dot, since strokes would run together.

/// Every character: its rows of dots from the top, `#` where there is one.
const SMALL: &[(char, &str)] = &[
    ('0', ".##. #..# #..# #..# .##."),
    ('1', ".#. ##. .#. .#. ###"),
    ('2', "###. ...# .##. #... ####"),
    ('3', "###. ...# .##. ...# ###."),
    ('4', "#..# #..# #### ...# ...#"),
    ('5', "#### #... ###. ...# ###."),
    ('6', ".##. #... ###. #..# .##."),
    ('7', "#### ...# ..#. .#.. .#.."),
    ('8', ".##. #..# .##. #..# .##."),
    ('9', ".##. #..# .### ...# .##."),
    (':', ". # . # ."),
    ('.', ". . . . #"),
    ('-', "... ... ### ... ..."),
    ('+', "... .#. ### .#. ..."),
    ('\'', "# # . . ."),
    (',', ".. .. .. .# #."),
    ('?', "##. ..# .#. ... .#."),
    ('!', "# # # . #"),
    ('/', "..# ..# .#. #.. #.."),
    ('A', ".##. #..# #### #..# #..#"),
    ('B', "###. #..# ###. #..# ###."),
    ('C', ".### #... #... #... .###"),
    ('D', "###. #..# #..# #..# ###."),
    ('E', "#### #... ###. #... ####"),
    ('F', "#### #... ###. #... #..."),
    ('G', ".### #... #.## #..# .###"),
    ('H', "#..# #..# #### #..# #..#"),
    ('I', "# # # # #"),
    ('J', "..## ...# ...# #..# .##."),
    ('K', "#..# #.#. ##.. #.#. #..#"),
    ('L', "#.. #.. #.. #.. ###"),
    ('M', "#...# ##.## #.#.# #...# #...#"),
    ('N', "#..# ##.# #.## #..# #..#"),
    ('O', ".##. #..# #..# #..# .##."),
    ('P', "###. #..# ###. #... #..."),
    ('Q', ".##. #..# #..# #.#. .#.#"),
    ('R', "###. #..# ###. #.#. #..#"),
    ('S', ".### #... .##. ...# ###."),
    ('T', "### .#. .#. .#. .#."),
    ('U', "#..# #..# #..# #..# .##."),
    ('V', "#...# #...# .#.#. .#.#. ..#.."),
    ('W', "#...# #...# #.#.# ##.## #...#"),
    ('X', "#..# #..# .##. #..# #..#"),
    ('Y', "#.# #.# .#. .#. .#."),
    ('Z', "#### ..#. .#.. #... ####"),
    (' ', ".. .. .. .. .."),
];

/// A character's rows of dots. Small letters are drawn as capitals; none where we have no drawing.
pub fn small(character: char) -> Option<Vec<&'static str>> {
    let capital = character.to_ascii_uppercase();
    SMALL.iter().find(|(known, _)| *known == capital).map(|(_, rows)| rows.split(' ').collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::display::big::glyphs::glyph;

    #[test]
    fn every_character_has_five_rows_of_one_width_and_a_large_form() {
        for (character, _) in SMALL {
            let rows = small(*character).unwrap();
            assert!(rows.len() == 5 && rows.iter().all(|row| row.len() == rows[0].len()), "{character}");
            assert!(rows.iter().all(|row| row.bytes().all(|dot| b".#".contains(&dot))), "{character}");
            assert!(glyph(*character).is_some(), "{character}");
        }
        assert!(small('b') == small('B') && small('ß').is_none());
    }
}
