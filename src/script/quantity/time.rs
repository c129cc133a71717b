//! Durations, pace and stroke tempo from text.

use crate::diag::Code;
use crate::script::quantity::scan::{Number, Scan};
use crate::script::quantity::{Misread, Read};
use crate::units::swim::Pace;
use crate::units::time::{NANOS, Seconds, Tempo};
use std::ops::RangeInclusive;

const SECOND: u64 = NANOS as u64;
/// Units of time, longest first, in nanoseconds.
const UNITS: [(&[&str], u64); 4] = [
    (&["h", "hour", "hours"], 3600 * SECOND),
    (&["min", "mins", "minute", "minutes"], 60 * SECOND),
    (&["s", "sec", "secs", "second", "seconds"], SECOND),
    (&["ms", "millisecond", "milliseconds"], SECOND / 1000),
];
/// The words of those units: a number before one of them is a time, not a distance.
pub(super) const UNITS_OF_TIME: [&str; 12] =
    ["h", "hour", "hours", "min", "mins", "minute", "minutes", "s", "sec", "secs", "second", "seconds"];
/// The longest time that is read at all.
const LONGEST: u64 = 100 * 3600 * SECOND;

/// A duration: `15 s`, `90 s`, `1:30`, `1:02.5`, `1:10:00`, `2 min`, `1 min 30 s`, `40 ms`.
/// `what` names it in messages ("a rest").
pub fn duration(text: &str, what: &str, allowed: RangeInclusive<Seconds>) -> Read<Seconds> {
    let mut scan = Scan::new(text);
    let found = scan_duration(&mut scan, what)?;
    scan.end(what)?;
    within(text, found, what, &allowed)
}

/// The same as a part of a longer text, such as the send-off in `4 x 50 m on 1:30`.
pub(super) fn scan_duration(scan: &mut Scan<'_>, what: &str) -> Read<Seconds> {
    let start = scan.at();
    let first = scan.need(what, "1:30")?;
    duration_of(scan, start, first, what)
}

/// The duration whose first number is read.
pub(super) fn duration_of(scan: &mut Scan<'_>, start: usize, first: Number, what: &str) -> Read<Seconds> {
    let nanos = if scan.rest().starts_with(':') { clock(scan, start, first)? } else { units(scan, what, first)? };
    match i64::try_from(nanos) {
        Ok(nanos) if nanos as u64 <= LONGEST => Ok(Seconds::from_nanos(nanos)),
        _ => {
            let range = start..scan.at();
            let message = format!("`{}` is more than 100 hours", scan.shown(range.clone()));
            Err(Misread::within(Code::OutOfRange, range, message))
        }
    }
}

/// Checks a duration against its range.
pub(super) fn within(text: &str, found: Seconds, what: &str, allowed: &RangeInclusive<Seconds>) -> Read<Seconds> {
    if allowed.contains(&found) {
        return Ok(found);
    }
    let message =
        format!("{what} of {}; {} to {} is allowed", plain(found), plain(*allowed.start()), plain(*allowed.end()));
    Err(Misread::new(Code::OutOfRange, text, message))
}

/// A time in the words a script would use.
pub(super) fn plain(time: Seconds) -> String {
    let millis = time.nanos() / 1_000_000;
    match millis {
        ..1000 if millis != 0 => format!("{millis} ms"),
        ..60_000 if millis % 1000 == 0 => format!("{} s", millis / 1000),
        ..60_000 => format!("{} s", time.as_f64()),
        _ => time.to_string(),
    }
}

/// `1:30`, `1:02.5`, `1:10:00`; the part before the first colon is read.
fn clock(scan: &mut Scan<'_>, start: usize, first: Number) -> Read<u64> {
    let mut parts = vec![first];
    while scan.sign(&[':']).is_some() {
        parts.push(scan.need("the part after a colon", "1:30")?);
    }
    let range = start..parts.last().map_or(start, |part| part.range.end);
    let shown = scan.shown(range.clone());
    // "1:30 min" is common and can mean nothing else.
    scan.word(&["min", "mins", "minutes"]);
    let (last, before) = match parts.as_slice() {
        [minutes, seconds] => (seconds, vec![minutes]),
        [hours, minutes, seconds] => (seconds, vec![minutes, hours]),
        _ => return Err(Misread::within(Code::BadValue, range, format!("`{shown}` has too many colons"))),
    };
    if before.iter().any(|part| part.decimals > 0) {
        let message = format!("`{shown}` has decimals before a colon; only seconds have them");
        return Err(Misread::within(Code::BadValue, range, message));
    }
    let mut nanos = 0_u64;
    for (index, part) in parts.iter().rev().enumerate() {
        let topmost = index + 1 == parts.len();
        if !topmost && part.leading != 2 {
            let message = format!("`{}` in `{shown}` needs two digits", scan.shown(part.range.clone()));
            let fault = Misread::within(Code::BadValue, part.range.clone(), message);
            let (before, digit) = (scan.shown(start..part.range.start), scan.shown(part.range.clone()));
            return Err(match part.whole().filter(|_| part.leading == 1 && index == 0) {
                Some(_) if digit.as_str() < "6" => fault.hint(format!("`{before}0{digit}` or `{before}{digit}0`?")),
                Some(_) => fault.hint(format!("`{before}0{digit}`?")),
                None => fault,
            });
        }
        if !topmost && part.digits >= 60 * part.den() {
            let message = format!("`{}` in `{shown}` is not below 60", scan.shown(part.range.clone()));
            return Err(Misread::within(Code::BadValue, part.range.clone(), message));
        }
        let per = [SECOND, 60 * SECOND, 3600 * SECOND].get(index).copied().unwrap_or(SECOND);
        nanos = nanos.saturating_add(exact(part, per, last)?);
    }
    Ok(nanos)
}

/// `15 s`, `2 min`, `1 min 30 s`; the first number is read.
fn units(scan: &mut Scan<'_>, what: &str, first: Number) -> Read<u64> {
    let (mut number, mut nanos, mut largest) = (first, 0_u64, usize::MAX);
    loop {
        let unit = UNITS.iter().enumerate().find_map(|(index, (words, per))| scan.word(words).map(|_| (index, *per)));
        let Some((index, per)) = unit else {
            let units = "`s`, `min`, `ms` or as `1:30`";
            return Err(if scan.done() { bare(scan, &number, what) } else { scan.strange(what, units) });
        };
        nanos = nanos.saturating_add(exact(&number, per, &number)?);
        let falls = largest == usize::MAX || index > largest;
        if !falls {
            let message = format!("{what} names its units from long to short, each once");
            return Err(Misread::within(Code::BadValue, number.range, message).hint("for example `1 min 30 s`"));
        }
        largest = index;
        match scan.number() {
            Some(next) => number = next?,
            None => return Ok(nanos),
        }
    }
}

/// A number without a unit, with the readings that come to mind.
fn bare(scan: &Scan<'_>, number: &Number, what: &str) -> Misread {
    let written = scan.shown(number.range.clone());
    let fault =
        Misread::within(Code::UnitMissing, number.range.clone(), format!("{what} needs a unit; found `{written}`"));
    match number.whole() {
        Some(whole @ 60..=5999) => {
            fault.hint(format!("`{written} s`, which is `{}`?", Seconds::from_secs(whole as i64)))
        }
        Some(1..=10) => fault.hint(format!("`{written} s` or `{written} min`?")),
        _ => fault.hint(format!("`{written} s`?")),
    }
}

/// A number of `per` nanoseconds, exactly.
fn exact(number: &Number, per: u64, blame: &Number) -> Read<u64> {
    number.times(per).ok_or_else(|| {
        Misread::within(Code::BadValue, blame.range.clone(), "times are read to the nanosecond, not finer")
    })
}

/// Pace per 100 of the pool's unit: `2:05`, `1:50 /100`, `95 s`.
pub fn pace(text: &str) -> Read<Pace> {
    let mut scan = Scan::new(text);
    let what = "a pace";
    let time = scan_duration(&mut scan, what)?;
    let per = scan.at();
    if scan.sign(&['/']).is_some() || scan.word(&["per"]).is_some() {
        let number = scan.need("what a pace is for", "/100")?;
        if number.whole() != Some(100) {
            let message = format!("a pace is for 100; found `{}`", scan.shown(number.range.clone()));
            return Err(Misread::within(Code::BadValue, number.range, message));
        }
        if !scan.done() {
            let range = scan.range_from(per);
            let message = format!("`{}`: a pace is always for 100 of the pool's unit", scan.shown(range.clone()));
            return Err(Misread::within(Code::BadValue, range, message).hint("write `/100`, or nothing"));
        }
    }
    scan.end(what)?;
    Pace::new(time).ok_or_else(|| {
        let message = format!("a pace of {}; 0:30 to 10:00 per 100 is allowed", plain(time));
        Misread::new(Code::OutOfRange, text, message)
    })
}

/// A stroke tempo and the unit it was written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WrittenTempo {
    /// The exact tempo.
    pub tempo: Tempo,
    /// Written as strokes a minute, not as seconds a stroke.
    pub per_minute: bool,
}

/// Stroke tempo: `1.30 s`, `1300 ms`, `50 /min`, `50 per min`, `50 strokes a minute`.
pub fn tempo(text: &str) -> Read<WrittenTempo> {
    let mut scan = Scan::new(text);
    let number = scan.need("a tempo", "1.30 s")?;
    let (per_minute, per) = tempo_unit(&mut scan, &number)?;
    scan.end("a tempo")?;
    let found = if per_minute {
        Tempo::from_rate(number.digits, number.den())
    } else {
        number.den().checked_mul(per).and_then(|den| Tempo::from_ratio(number.digits, den))
    };
    found.map(|tempo| WrittenTempo { tempo, per_minute }).ok_or_else(|| {
        let allowed = if per_minute { "24 to 150 /min" } else { "0.4 to 2.5 s" };
        let message = format!("a tempo of `{}`; {allowed} is allowed", scan.shown(scan.range_from(number.range.start)));
        let fault = Misread::new(Code::OutOfRange, text, message);
        let value = number.as_f64() / per as f64;
        match (per_minute, value) {
            (true, 0.4..=2.5) => fault.hint(format!("`{value} s`?")),
            (false, 24.0..=150.0) => fault.hint(format!("`{value} /min`?")),
            _ => fault,
        }
    })
}

/// A step of tempo: a ratio of the unit written, and whether that is strokes a minute.
pub fn tempo_step(text: &str) -> Read<((u64, u64), bool)> {
    unsigned(text)?;
    let mut scan = Scan::new(text);
    let number = scan.need("a step", "0.05 s")?;
    let (per_minute, per) = tempo_unit(&mut scan, &number)?;
    scan.end("a step")?;
    let den = number.den().saturating_mul(per);
    if number.digits == 0 || number.digits > 126 * den {
        let message = format!("a step of `{}`; it must be above 0 and inside the range", scan.shown(0..text.len()));
        return Err(Misread::new(Code::OutOfRange, text, message));
    }
    Ok(((number.digits, den), per_minute))
}

/// A step of pace, as a ratio of seconds.
pub fn pace_step(text: &str) -> Read<((u64, u64), bool)> {
    unsigned(text)?;
    let allowed = Seconds::from_nanos(1)..=Seconds::from_secs(570);
    duration(text, "a step", allowed).map(|step| ((step.nanos().unsigned_abs(), SECOND), false))
}

fn unsigned(text: &str) -> Read<()> {
    if !text.trim_start().starts_with(['-', '+', '−']) {
        return Ok(());
    }
    Err(Misread::new(Code::BadValue, text, "a step has no sign: `from` and `to` say which way it goes")
        .hint("remove the sign"))
}

/// The unit after a tempo's number: whether it is per minute, and how many units make a second.
fn tempo_unit(scan: &mut Scan<'_>, number: &Number) -> Read<(bool, u64)> {
    if scan.word(&["s", "sec", "secs", "second", "seconds"]).is_some() {
        return Ok((false, 1));
    }
    if scan.word(&["ms"]).is_some() {
        return Ok((false, 1000));
    }
    if scan.word(&["spm"]).is_some() {
        return Ok((true, 1));
    }
    let mut ahead = scan.clone();
    ahead.word(&["strokes", "stroke"]);
    if (ahead.sign(&['/']).is_some() || ahead.word(&["per", "a"]).is_some()) && ahead.word(&["min", "minute"]).is_some()
    {
        *scan = ahead;
        return Ok((true, 1));
    }
    if !scan.done() {
        return Err(scan.strange("a tempo", "`s` (seconds a stroke) or `/min` (strokes a minute)"));
    }
    let (written, value) = (scan.shown(number.range.clone()), number.as_f64());
    let readings = match value {
        0.4..=2.5 => format!("`{written} s` a stroke, which is {:.1} /min?", 60.0 / value),
        24.0..=150.0 => format!("`{written} /min`, which is {:.2} s a stroke?", 60.0 / value),
        _ => "`1.30 s` a stroke, or `50 /min`?".to_owned(),
    };
    let message = format!("a tempo needs a unit; found `{written}`");
    Err(Misread::within(Code::UnitMissing, number.range.clone(), message).hint(readings))
}
