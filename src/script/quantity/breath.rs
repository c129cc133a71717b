//! Breathing patterns from text. Whether one is safe over its distance is judged where the distance is known.

use crate::diag::{Code, crop, nearest};
use crate::script::Breathe;
use crate::script::quantity::count::scan_every;
use crate::script::quantity::scan::Scan;
use crate::script::quantity::{Misread, Read};
use crate::units::swim::Side;

const WHAT: &str = "a breathing pattern";

/// `every 3`, `every 3 right`, `by length`, `by repeat`.
pub fn breathe(text: &str) -> Read<Breathe> {
    let mut scan = Scan::new(text);
    if scan.word(&["by"]).is_some() {
        let start = scan.at();
        let found = if scan.word(&["length"]).is_some() {
            Breathe::ByLength
        } else if scan.word(&["repeat"]).is_some() {
            Breathe::ByRepeat
        } else {
            let range = scan.range_from(start);
            let found = scan.shown(range.clone());
            let message = format!("breathing changes sides `by length` or `by repeat`; found `{found}`");
            let fault = Misread::within(Code::BadValue, range, message);
            return Err(match nearest(&found, ["length", "repeat"]) {
                Some(near) => fault.hint(format!("did you mean `by {near}`?")),
                None => fault,
            });
        };
        scan.end(WHAT)?;
        return Ok(found);
    }
    if let Some(side) = side(&mut scan) {
        let fault =
            Misread::new(Code::BadValue, text, format!("{WHAT} says every how many strokes; found a side alone"));
        return Err(fault.hint(format!("`every 2 {}`, or both sides: `{{ right: 20, left: 20 }}`", side.word())));
    }
    if scan.rest().chars().next().is_some_and(char::is_alphabetic) && scan.clone().word(&["every"]).is_none() {
        let message = format!(
            "{WHAT} reads `every 3`, `every 3 right`, `by length`, `by repeat` or `{{ right: 20, left: 20 }}`; \
             found `{}`",
            crop(text.trim())
        );
        return Err(Misread::new(Code::BadValue, text, message).hint("`every 3` takes the sides in turn"));
    }
    let every = scan_every(&mut scan, WHAT, &(1..=20))?;
    if scan.done() {
        return Ok(Breathe::Every(every, None));
    }
    let start = scan.at();
    let Some(first) = side(&mut scan) else {
        let range = scan.range_from(start);
        let found = scan.shown(range.clone());
        let message = format!("the first breath goes `right` or `left`; found `{found}`");
        let fault = Misread::within(Code::BadValue, range, message);
        return Err(match nearest(&found, ["right", "left"]) {
            Some(near) => fault.hint(format!("did you mean `{near}`?")),
            None => fault,
        });
    };
    scan.end(WHAT)?;
    Ok(Breathe::Every(every, Some(first)))
}

fn side(scan: &mut Scan<'_>) -> Option<Side> {
    [Side::Right, Side::Left].into_iter().find(|side| scan.word(&[side.word()]).is_some())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::quantity::tests::refuse;
    use Code::{BadValue, OutOfRange};

    #[test]
    fn breathing() {
        for (text, expected) in [
            ("every 3", Breathe::Every(3, None)),
            ("every 3 right", Breathe::Every(3, Some(Side::Right))),
            ("Every 2 strokes LEFT", Breathe::Every(2, Some(Side::Left))),
            ("by length", Breathe::ByLength),
            ("by  repeat", Breathe::ByRepeat),
        ] {
            assert_eq!(breathe(text), Ok(expected), "{text}");
        }
        refuse(
            breathe,
            &[
                ("3", BadValue, "3", "`every 3`?"),
                ("3 strokes", BadValue, "3 strokes", "`every 3`?"),
                ("every", BadValue, "", "`every 3`"),
                ("every 0", OutOfRange, "every 0", ""),
                ("every 21", OutOfRange, "every 21", ""),
                ("every 21 right", OutOfRange, "every 21", ""),
                ("every 2.5", BadValue, "2.5", ""),
                ("every 3 rihgt", BadValue, "rihgt", "did you mean `right`?"),
                ("every 3 up", BadValue, "up", ""),
                ("every 3 right and left", BadValue, "and left", ""),
                ("left", BadValue, "left", "`every 2 left`"),
                ("by lenght", BadValue, "lenght", "did you mean `by length`?"),
                ("by hand", BadValue, "hand", ""),
                ("by length 2", BadValue, "2", ""),
                ("bilateral", BadValue, "bilateral", "`every 3`"),
            ],
        );
    }
}
