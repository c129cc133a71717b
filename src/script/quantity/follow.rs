//! Values that follow whoever swims: `usual - 0.05 s`, `brisk + 2 s`, `predicted + 1`. What they come to is not known here.

use crate::diag::Code;
use crate::script::quantity::scan::Scan;
use crate::script::quantity::{Misread, Read, count, time};
use crate::script::{PaceBase, StrokeTarget, UsualTempo, Written};
use crate::units::swim::Pace;
use crate::units::time::{Seconds, Tempo};

/// The signs before an offset; the last two are what keyboards and word processors make of a minus.
const SIGNS: [char; 4] = ['+', '-', '−', '–'];
/// The most strokes that a target may lie from the predicted count.
const FURTHEST: u64 = 20;

/// A tempo, and whether it was written in strokes a minute; one that follows the swimmer is in seconds.
pub fn tempo(text: &str) -> Read<(Written<Tempo, UsualTempo>, bool)> {
    if let Some(found) = following(text, &[("usual", UsualTempo)], "tempo", "- 0.05 s") {
        return found.map(|written| (written, false));
    }
    time::tempo(text).map(|written| (Written::Fixed(written.tempo), written.per_minute))
}

/// A pace per 100.
pub fn pace(text: &str) -> Read<Written<Pace, PaceBase>> {
    following(text, &PaceBase::ALL, "pace", "+ 2 s").unwrap_or_else(|| time::pace(text).map(Written::Fixed))
}

/// A target of strokes in one length: `19`, `predicted`, `predicted + 1`.
pub fn stroke_target(text: &str) -> Read<StrokeTarget> {
    let mut scan = Scan::new(text);
    if scan.word(&["predicted"]).is_none() {
        let what = "a target of strokes in one length";
        return count::bare_strokes(text, what, 4..=200).map(StrokeTarget::Fixed);
    }
    let what = "what is added to the predicted count";
    let Some(less) = sign(&mut scan, "predicted", "+ 1")? else { return Ok(StrokeTarget::Predicted(0)) };
    let at = scan.at();
    let plus = count::bare_strokes(scan.rest(), what, 0..=FURTHEST).map_err(|fault| fault.moved(at))?;
    // At most 20, so that it has a sign.
    let plus = plus as i32;
    Ok(StrokeTarget::Predicted(if less { -plus } else { plus }))
}

/// A base, alone or with a time more or less; `None` where the text does not begin with one of the bases. `what` has the
/// bases, `example` is a time that could follow one.
fn following<T, B: Copy>(
    text: &str,
    bases: &[(&'static str, B)],
    what: &str,
    example: &str,
) -> Option<Read<Written<T, B>>> {
    let mut scan = Scan::new(text);
    let (word, base) = bases.iter().copied().find(|(word, _)| scan.word(&[word]).is_some())?;
    let mut offset = || {
        let Some(less) = sign(&mut scan, word, example)? else {
            return Ok(Seconds::ZERO);
        };
        let what = format!("what is added to the {word} {what}");
        let at = scan.at();
        let plus = time::duration(scan.rest(), &what, Seconds::ZERO..=Seconds::from_secs(300));
        let plus = plus.map_err(|fault| fault.moved(at))?;
        Ok(if less { Seconds::ZERO - plus } else { plus })
    };
    Some(offset().map(|plus| Written::Following { base, plus }))
}

/// Whether what follows a base is taken away; `None` where nothing follows it.
fn sign(scan: &mut Scan<'_>, word: &str, example: &str) -> Read<Option<bool>> {
    if scan.done() {
        return Ok(None);
    }
    let start = scan.at();
    match scan.sign(&SIGNS) {
        Some(sign) => Ok(Some(sign != '+')),
        None => {
            let range = scan.range_from(start);
            let message = format!("after `{word}` comes `+` or `-`; found `{}`", scan.shown(range.clone()));
            Err(Misread::within(Code::BadValue, range, message).hint(format!("for example `{word} {example}`")))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::Effort;

    #[test]
    fn bases_and_what_is_added() {
        let usual = |millis| Written::Following { base: UsualTempo, plus: Seconds::from_millis(millis) };
        for (text, millis) in [
            ("usual", 0),
            ("Usual - 0.05 s", -50),
            ("usual-50 ms", -50),
            ("usual + 0.1 s", 100),
            ("usual − 0,2 s", -200),
        ] {
            assert_eq!(tempo(text), Ok((usual(millis), false)), "{text}");
        }
        let from = |base, secs| Ok(Written::Following { base, plus: Seconds::from_secs(secs) });
        assert_eq!(pace("brisk + 2 s"), from(PaceBase::Effort(Effort::Brisk), 2));
        assert_eq!(pace("critical - 3 s"), from(PaceBase::Critical, -3));
        assert_eq!(pace("2:05"), Ok(Written::Fixed(Pace::new(Seconds::from_secs(125)).unwrap())));
        assert_eq!(stroke_target("predicted"), Ok(StrokeTarget::Predicted(0)));
        assert_eq!(stroke_target("predicted - 2 strokes"), Ok(StrokeTarget::Predicted(-2)));
        assert_eq!(stroke_target("19"), Ok(StrokeTarget::Fixed(19)));
    }

    #[test]
    fn mistakes_mark_their_bytes() {
        for (text, code, range) in [
            ("usual - 0.05", Code::UnitMissing, 8..12),
            ("usual 0.05 s", Code::BadValue, 6..12),
            ("usual - ", Code::BadValue, 8..8),
        ] {
            let fault = tempo(text).unwrap_err();
            assert_eq!((fault.code, fault.range), (code, range), "{text}: {}", fault.message);
        }
        assert_eq!(pace("fast + 6 min").unwrap_err().code, Code::OutOfRange);
        assert_eq!(stroke_target("predicted + 21").unwrap_err().code, Code::OutOfRange);
        assert!(pace("build + 2 s").is_err());
    }
}
