//! Our own letters and digits for reading from afar: strokes of a pen on a grid of whole steps, 6 high. Corners are cut,
//! not square, so that no two characters differ in one bar alone. How thick the pen is and how large, `big` decides.

/// The steps from the top of a character to its foot.
pub const HEIGHT: u32 = 6;

/// Every character drawn: its width in steps, and its strokes, parted by spaces; each two digits are a point (across,
/// down). One point is a dot.
const GLYPHS: &[(char, u32, &str)] = &[
    ('0', 4, "103041453616050110"),
    ('1', 2, "021016 0626"),
    ('2', 4, "0110304142060646"),
    ('3', 4, "0110304142334445361605 2333"),
    ('4', 4, "36300444"),
    ('5', 4, "400002324345361605"),
    ('6', 4, "40200205163645443303"),
    ('7', 4, "00404116"),
    ('8', 4, "103041423313020110 1304051636454433"),
    ('9', 4, "06264441301001021343"),
    (':', 0, "02 04"),
    ('.', 0, "06"),
    ('-', 2, "0323"),
    ('+', 4, "0343 2125"),
    ('\'', 0, "0001"),
    (',', 1, "1506"),
    ('?', 4, "01103041422324 26"),
    ('!', 0, "0004 06"),
    ('/', 3, "3006"),
    ('A', 4, "0602204246 0444"),
    ('B', 4, "0600304142330333 3344453606"),
    ('C', 4, "4130100105163645"),
    ('D', 4, "00304245360600"),
    ('E', 3, "30000636 0323"),
    ('F', 3, "300006 0323"),
    ('G', 4, "4130100105163645 454323"),
    ('H', 4, "0006 4046 0343"),
    ('I', 0, "0006"),
    ('J', 3, "3035261605"),
    ('K', 4, "0006 4003 0346"),
    ('L', 3, "000636"),
    ('M', 4, "0600234046"),
    ('N', 4, "06004640"),
    ('O', 4, "103041453616050110"),
    ('P', 4, "060030414233 0333"),
    ('Q', 4, "103041453616050110 2446"),
    ('R', 4, "060030414233 0333 1346"),
    ('S', 4, "413010010213334445361605"),
    ('T', 4, "0040 2026"),
    ('U', 4, "000516364540"),
    ('V', 4, "0002264240"),
    ('W', 4, "0006234640"),
    ('X', 4, "0046 4006"),
    ('Y', 4, "002340 2326"),
    ('Z', 4, "00400646"),
    (' ', 2, ""),
];

/// The points of one stroke, in steps from the upper left.
pub type PenStroke = Vec<(u32, u32)>;

/// A character's width in steps and its strokes. Small letters are drawn as capitals; none where we have no drawing.
pub fn glyph(character: char) -> Option<(u32, Vec<PenStroke>)> {
    let capital = character.to_ascii_uppercase();
    let (_, width, strokes) = GLYPHS.iter().find(|(known, ..)| *known == capital)?;
    Some((*width, strokes.split_whitespace().map(points).collect()))
}

fn points(stroke: &str) -> Vec<(u32, u32)> {
    let steps: Vec<u32> = stroke.chars().filter_map(|digit| digit.to_digit(10)).collect();
    steps.chunks_exact(2).filter_map(|pair| Some((*pair.first()?, *pair.last()?))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_stroke_is_whole_and_within_its_character() {
        for (character, width, strokes) in GLYPHS {
            for stroke in strokes.split_whitespace() {
                assert!(stroke.len() % 2 == 0, "{character}: half a point in {stroke}");
                for (across, down) in points(stroke) {
                    assert!(across <= *width && down <= HEIGHT, "{character}: {stroke} leaves the grid");
                }
            }
        }
    }
}
