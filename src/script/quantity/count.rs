//! Counts from text: whole numbers, strokes, `every 3`.

use crate::diag::Code;
use crate::script::quantity::scan::{Number, Scan};
use crate::script::quantity::{Fault, Read};
use std::ops::RangeInclusive;

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
            return Err(Fault::within(Code::UnitMissing, number.range, message).hint(format!("`{written} strokes`?")));
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
    if scan.word(&["every"]).is_none() {
        let fault = Fault::new(
            Code::BadValue,
            text,
            format!("{what} reads `every 3`; found `{}`", scan.shown(scan.range_from(scan.at()))),
        );
        return Err(match scan.number() {
            Some(Ok(number)) if scan.done() => fault.hint(format!("`every {}`?", scan.shown(number.range))),
            _ => fault,
        });
    }
    let number = scan.need("how many strokes", "every 3")?;
    scan.word(&["strokes", "stroke"]);
    scan.end(what)?;
    let found = number.whole().ok_or_else(|| not_whole(&number, what))?;
    ranged(found, text, what, &allowed).map(|found| found as u32)
}

/// An accent's `3`, which may also read `3 strokes` or `every 3`.
pub fn nth(text: &str, what: &str, allowed: RangeInclusive<u64>) -> Read<u32> {
    let mut scan = Scan::new(text);
    scan.word(&["every"]);
    let number = scan.need(what, "3")?;
    scan.word(&["strokes", "stroke"]);
    scan.end(what)?;
    let found = number.whole().ok_or_else(|| not_whole(&number, what))?;
    ranged(found, text, what, &allowed).map(|found| found as u32)
}

fn not_whole(number: &Number, what: &str) -> Fault {
    Fault::within(Code::BadValue, number.range.clone(), format!("{what} is a whole number"))
}

fn ranged(found: u64, text: &str, what: &str, allowed: &RangeInclusive<u64>) -> Read<u64> {
    if allowed.contains(&found) {
        return Ok(found);
    }
    let message = format!("{what} is {found}; {} to {} is allowed", allowed.start(), allowed.end());
    Err(Fault::new(Code::OutOfRange, text, message))
}
