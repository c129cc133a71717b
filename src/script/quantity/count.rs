//! Counts from text: whole numbers, strokes, `every 3`.

use crate::diag::Code;
use crate::script::quantity::scan::{Number, Scan};
use crate::script::quantity::{Misread, Read, time};
use crate::script::{CallOut, Remind};
use crate::units::time::Seconds;
use std::ops::{Range, RangeInclusive};

/// How often a focus may be said again in open water: not so often that it is noise, and before it is forgotten.
const REMIND_AFTER: RangeInclusive<Seconds> = Seconds::from_secs(30)..=Seconds::from_secs(600);

/// A whole number without a unit: rounds, a seed.
pub fn whole(text: &str, what: &str, allowed: RangeInclusive<u64>) -> Read<u64> {
    let mut scan = Scan::new(text);
    // A number with more digits than any count is still a number out of range, not a strange text.
    if let (true, Ok(found)) = (text.trim().bytes().all(|byte| byte.is_ascii_digit()), text.trim().parse()) {
        return ranged(found, text, what, &allowed);
    }
    let number = scan.need(what, &allowed.start().max(&1).to_string())?;
    scan.end(what)?;
    number.whole().map_or_else(|| Err(not_whole(&number, what)), |found| ranged(found, text, what, &allowed))
}

/// A number of strokes: `12 strokes`. The word `stroke` alone is one stroke.
pub fn strokes(text: &str, what: &str, allowed: RangeInclusive<u64>) -> Read<u32> {
    let mut scan = Scan::new(text);
    let found = if scan.word(&["stroke"]).is_some() {
        1
    } else {
        let number = scan.need(what, "2 strokes")?;
        if scan.done() {
            let written = scan.shown(number.range.clone());
            let message = format!("{what} needs a unit; found `{written}`");
            return Err(Misread::within(Code::UnitMissing, number.range, message).hint(format!("`{written} strokes`?")));
        }
        if scan.word(&["strokes", "stroke"]).is_none() {
            return Err(scan.strange(what, "`strokes`"));
        }
        number.whole().ok_or_else(|| not_whole(&number, what))?
    };
    scan.end(what)?;
    ranged(found, text, what, &allowed).map(|found| found as u32)
}

/// Every how many strokes: `every 3`, `every 3 strokes`.
pub fn every(text: &str, what: &str, allowed: RangeInclusive<u64>) -> Read<u32> {
    let mut scan = Scan::new(text);
    let found = scan_every(&mut scan, what, &allowed)?;
    scan.end(what)?;
    Ok(found)
}

/// What is called: `every 100 strokes`, `lengths`, `each repeat`.
pub fn call_out(text: &str) -> Read<CallOut> {
    let mut scan = Scan::new(text);
    let found = if scan.word(&["lengths", "length"]).is_some() {
        CallOut::Lengths
    } else if scan.word(&["each"]).is_some() {
        if scan.word(&["repeat"]).is_none() {
            return Err(scan.strange("a call", "`each repeat`"));
        }
        CallOut::EachRepeat
    } else {
        let other = |fault: Misread| match fault.hint {
            Some(_) => fault,
            None => fault.hint("or `lengths`, or `each repeat`"),
        };
        return every(text, "a call of the count", 20..=1000).map(CallOut::Strokes).map_err(other);
    };
    scan.end("a call")?;
    Ok(found)
}

/// How soon a focus is said again: `every 4 lengths`, `every 90 s`, `never`.
pub fn remind(text: &str) -> Read<Remind> {
    const WHAT: &str = "a reminder of the focus";
    let mut scan = Scan::new(text);
    if scan.word(&["never"]).is_some() {
        scan.end(WHAT)?;
        return Ok(Remind::Never);
    }
    let start = scan.at();
    if scan.word(&["every"]).is_none() {
        let range = scan.range_from(start);
        let written = scan.shown(range.clone());
        let message = format!("{WHAT} reads `every 4 lengths`, `every 90 s` or `never`; found `{written}`");
        return Err(Misread::within(Code::BadValue, range, message));
    }
    let from = scan.at();
    let number = scan.need("how many lengths, or how long", "every 4 lengths")?;
    if scan.word(&["lengths", "length"]).is_none() {
        let time = time::duration_of(&mut scan, from, number, WHAT)?;
        scan.end(WHAT)?;
        return time::within(text, time, WHAT, &REMIND_AFTER).map(Remind::Time);
    }
    scan.end(WHAT)?;
    let found = number.whole().ok_or_else(|| not_whole(&number, WHAT))?;
    in_range(found, number.range, WHAT, &(1..=100)).map(|found| Remind::Lengths(found as u32))
}

/// The same as a part of a longer text, such as `every 3 right`.
pub(super) fn scan_every(scan: &mut Scan<'_>, what: &str, allowed: &RangeInclusive<u64>) -> Read<u32> {
    let start = scan.at();
    let example = format!("every {}", allowed.start().max(&3));
    if scan.word(&["every"]).is_none() {
        let range = scan.range_from(start);
        let message = format!("{what} reads `{example}`; found `{}`", scan.shown(range.clone()));
        let fault = Misread::within(Code::BadValue, range, message);
        return Err(match scan.number() {
            Some(Ok(number)) if scan.word(&["strokes", "stroke"]).is_some() || scan.done() => {
                fault.hint(format!("`every {}`?", scan.shown(number.range)))
            }
            _ => fault.hint(format!("for example `{example}`")),
        });
    }
    let number = scan.need("how many strokes", &example)?;
    let end = number.range.end;
    let end = scan.word(&["strokes", "stroke"]).map_or(end, |word| word.end);
    let found = number.whole().ok_or_else(|| not_whole(&number, what))?;
    in_range(found, start..end, what, allowed).map(|found| found as u32)
}

/// An accent's `3`, which may also read `3 strokes` or `every 3`.
pub fn nth(text: &str, what: &str, allowed: RangeInclusive<u64>) -> Read<u32> {
    let mut scan = Scan::new(text);
    scan.word(&["every"]);
    stroke_count(scan, text, what, &allowed)
}

/// A count of strokes that may go without its unit because its key says what is counted: `19`, `19 strokes`.
pub fn bare_strokes(text: &str, what: &str, allowed: RangeInclusive<u64>) -> Read<u32> {
    stroke_count(Scan::new(text), text, what, &allowed)
}

fn stroke_count(mut scan: Scan<'_>, text: &str, what: &str, allowed: &RangeInclusive<u64>) -> Read<u32> {
    let number = scan.need(what, &allowed.start().max(&3).to_string())?;
    scan.word(&["strokes", "stroke"]);
    scan.end(what)?;
    let found = number.whole().ok_or_else(|| not_whole(&number, what))?;
    ranged(found, text, what, allowed).map(|found| found as u32)
}

fn not_whole(number: &Number, what: &str) -> Misread {
    Misread::within(Code::BadValue, number.range.clone(), format!("{what} is a whole number"))
}

fn ranged(found: u64, text: &str, what: &str, allowed: &RangeInclusive<u64>) -> Read<u64> {
    in_range(found, Misread::new(Code::OutOfRange, text, "").range, what, allowed)
}

fn in_range(found: u64, range: Range<usize>, what: &str, allowed: &RangeInclusive<u64>) -> Read<u64> {
    if allowed.contains(&found) {
        return Ok(found);
    }
    let message = format!("{what} is {found}; {} to {} is allowed", allowed.start(), allowed.end());
    Err(Misread::within(Code::OutOfRange, range, message))
}
