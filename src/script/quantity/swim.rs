//! Distances, pools and the shorthand of a swim from text.
//!
//! What comes after a swim (its rest, its second half) is read in [`rest`](crate::script::quantity::rest).

use crate::diag::{Code, crop, nearest};
use crate::script::quantity::scan::{Number, Scan};
use crate::script::quantity::time::{UNITS_OF_TIME, duration_of, scan_duration, within};
use crate::script::quantity::{Misread, Read};
use crate::script::{Far, Water};
use crate::units::swim::{Distance, PoolLength, PoolUnit};
use crate::units::time::Seconds;
use std::ops::{Range, RangeInclusive};

/// How long a send-off may be.
pub const SEND_OFF: RangeInclusive<Seconds> = Seconds::from_secs(5)..=Seconds::from_secs(6 * 3600);
/// How many repeats a swim may have.
pub const MOST_REPEATS: u64 = 1_000_000;
/// How many distances a list may have.
pub const MOST_LISTED: usize = 200;
/// How long a swim by time may be.
pub const TIMED: RangeInclusive<Seconds> = Seconds::from_secs(10)..=Seconds::from_secs(6 * 3600);

const METRES: [&str; 5] = ["m", "metre", "metres", "meter", "meters"];
const YARDS: [&str; 5] = ["yd", "yds", "yard", "yards", "y"];

/// A distance: `50 m`, `25 yd`.
pub fn distance(text: &str) -> Read<Distance> {
    let mut scan = Scan::new(text);
    let (found, _) = scan_distance(&mut scan)?;
    scan.end("a distance")?;
    Ok(found)
}

/// The length of a pool: `25 m`, `25 yd`, `50 m`.
pub fn pool(text: &str) -> Read<PoolLength> {
    if text.trim().eq_ignore_ascii_case("open water") {
        let message = "`pool` is the length of a pool; open water has none";
        return Err(Misread::new(Code::BadValue, text, message).hint("for example `25 m` or `25 yd`"));
    }
    let found = distance(text)?;
    PoolLength::new(found).ok_or_else(|| {
        let unit = found.unit().sign();
        Misread::new(Code::OutOfRange, text, format!("a pool of {found}; 10 to 100 {unit} is allowed"))
    })
}

/// `open water`, or the length of a pool.
pub fn water(text: &str) -> Read<Water> {
    const OPEN: &str = "open water";
    let found = text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    if found == OPEN {
        return Ok(Water::Open);
    }
    let begins = found.chars().next();
    if begins.is_some_and(char::is_alphabetic) {
        let message = format!("`pool` is a length or `{OPEN}`; found `{}`", crop(text.trim()));
        let fault = Misread::new(Code::BadValue, text, message);
        return Err(match nearest(&found, [OPEN]) {
            Some(near) => fault.hint(format!("did you mean `{near}`?")),
            None => fault.hint("for example `25 m`, `25 yd` or `open water`"),
        });
    }
    pool(text).map(Water::Pool)
}

/// Once around a course: a distance in metres, since open water is measured so.
pub fn lap(text: &str) -> Read<Distance> {
    let found = distance(text)?;
    if found.unit() == PoolUnit::Yard {
        let fault = Misread::new(Code::BadValue, text, format!("a lap of {found}; open water is measured in metres"));
        return Err(fault.hint(format!("about `{:.0} m`?", found.metres())));
    }
    Ok(found)
}

/// A swim in trade shorthand, each part with its bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shorthand {
    /// How many, 1 where not written; in a list, how many distances.
    pub repeats: (u32, Range<usize>),
    /// How far or how long each.
    pub far: (Far, Range<usize>),
    /// `on 1:30`
    pub send_off: Option<(Seconds, Range<usize>)>,
}

/// A swim: `200 m`, `4 x 50 m`, `4x50m`, `4 x 50 m on 1:30`, `10 min`, `[50, 100, 150] m`, `[50 m, 100 m]`; the last two
/// in quotes, where they are not a list of YAML.
pub fn swim(text: &str) -> Read<Shorthand> {
    if let Some(at) = text.find('@') {
        let after = Scan::new(text.get(at + 1..).unwrap_or("")).rest().trim_end();
        let time = if after.is_empty() { "1:30".to_owned() } else { Scan::new(after).shown(0..after.len()) };
        return Err(Misread::within(Code::BadValue, at..at + 1, "`@` has two meanings: send-off or pace?")
            .hint(format!("write `on {time}` for the send-off, or the key `pace: {time}`")));
    }
    let mut scan = Scan::new(text);
    let start = scan.at();
    let (repeats, far) = if scan.rest().starts_with('[') {
        let (distances, place) = listed(&mut scan, text)?;
        ((distances.len() as u32, place.clone()), (Far::Distances(distances), place))
    } else {
        repeated(&mut scan, text)?
    };
    let send_off = match scan.word(&["on"]) {
        None => None,
        Some(_) => {
            let from = scan.at();
            let time = scan_duration(&mut scan, "a send-off")?;
            let range = scan.range_from(from);
            scan.end("the send-off")?;
            let checked = within(text, time, "a send-off", &SEND_OFF);
            Some((checked.map_err(|fault| Misread { range: range.clone(), ..fault })?, range))
        }
    };
    if !scan.done() {
        let range = scan.range_from(scan.at());
        if scan.rest().starts_with(['x', 'X', '×', '*']) {
            let message = format!("how many comes first; found `{}`", scan.shown(scan.range_from(start)));
            let fault = Misread::within(Code::BadValue, scan.range_from(start), message);
            return Err(fault.hint("for example `4 x 50 m`"));
        }
        let message = format!("`{}` does not belong to a swim", scan.shown(range.clone()));
        return Err(
            Misread::within(Code::BadValue, range, message).hint("a swim reads `4 x 50 m` or `4 x 50 m on 1:30`")
        );
    }
    Ok(Shorthand { repeats, far, send_off })
}

/// A value and its bytes.
type WithBytes<T> = (T, Range<usize>);

/// `4 x 50 m`, `50 m`, `2 x 3 min`, `10 min`: how many, and how far or how long each.
fn repeated(scan: &mut Scan<'_>, text: &str) -> Read<(WithBytes<u32>, WithBytes<Far>)> {
    let mut start = scan.at();
    let first = scan.need("a swim", "4 x 50 m")?;
    let times = if scan.word(&["x"]).is_some() || scan.sign(&['×', '*']).is_some() {
        start = scan.at();
        if scan.rest().starts_with('[') {
            let fault = Misread::within(Code::BadValue, scan.range_from(start), "a list is swum once, and has no `x`");
            return Err(fault.hint("to swim it several times, give the set `rounds`"));
        }
        Some((count(&first)?, first.range.clone()))
    } else {
        None
    };
    let number = match times {
        Some(_) => scan.need("a distance", "50 m")?,
        None => first,
    };
    let word = scan.shown(scan.peek_word()).to_lowercase();
    let (far, place) = if scan.rest().starts_with(':') || UNITS_OF_TIME.contains(&word.as_str()) {
        let time = duration_of(scan, start, number, "a swim")?;
        let place = start..text.get(..scan.at()).unwrap_or("").trim_end().len();
        let checked =
            within(text, time, "a swim", &TIMED).map_err(|fault| Misread { range: place.clone(), ..fault })?;
        (Far::Time(checked), place)
    } else {
        let (distance, place) = distance_of(scan, start, number)?;
        (Far::Distances(vec![distance]), place)
    };
    Ok((times.unwrap_or((1, place.clone())), (far, place)))
}

/// `[50, 100, 150] m` or `[50 m, 100 m]`: at least one distance, and the bytes of all of it.
fn listed(scan: &mut Scan<'_>, text: &str) -> Read<WithBytes<Vec<Distance>>> {
    let start = scan.at();
    let Some(len) = scan.rest().find(']') else {
        let fault = Misread::within(Code::BadValue, start..start + 1, "`[` is not closed");
        return Err(fault.hint("for example `[50 m, 100 m]`"));
    };
    let close = start + len;
    scan.skip_to(close + 1);
    let word = scan.peek_word();
    let after = scan.word(&METRES).map(|_| PoolUnit::Metre).or_else(|| scan.word(&YARDS).map(|_| PoolUnit::Yard));
    let end = if after.is_some() { word.end } else { close + 1 };
    let (mut distances, mut from) = (Vec::new(), start + 1);
    for part in text.get(start + 1..close).unwrap_or("").split(',') {
        let read = match after {
            Some(unit) => bare_distance(part, unit),
            None => entry(part),
        };
        distances.push(read.map_err(|fault| fault.moved(from))?);
        from += part.len() + 1;
    }
    if distances.len() > MOST_LISTED {
        let message = format!("a list of {} distances; at most {MOST_LISTED} are allowed", distances.len());
        return Err(Misread::within(Code::OutOfRange, start..end, message));
    }
    Ok((distances, start..end))
}

/// An entry of a list whose every distance has its unit.
pub fn entry(text: &str) -> Read<Distance> {
    distance(text).map_err(|fault| match fault.code {
        Code::UnitMissing => {
            let hint = fault.hint.clone().unwrap_or_default();
            fault.hint(format!("{hint} Each has its own: `[50 m, 100 m]`").trim().to_owned())
        }
        _ => fault,
    })
}

/// A number whose unit stands after the list.
fn bare_distance(text: &str, unit: PoolUnit) -> Read<Distance> {
    let mut scan = Scan::new(text);
    let number = scan.need("a distance", "[50, 100] m")?;
    if !scan.done() {
        let range = scan.range_from(scan.at());
        let message = format!("`{}` inside a list that has its unit at the end", scan.shown(range.clone()));
        return Err(Misread::within(Code::BadValue, range, message).hint("write `[50, 100] m` or `[50 m, 100 m]`"));
    }
    let range = number.range.clone();
    in_unit(&scan, number, unit, range)
}

fn count(number: &Number) -> Read<u32> {
    let range = number.range.clone();
    match number.whole() {
        None => Err(Misread::within(Code::BadValue, range, "how many is a whole number")),
        Some(found @ 1..=MOST_REPEATS) => Ok(found as u32),
        Some(found) => {
            let message = format!("{found} repeats; 1 to {MOST_REPEATS} are allowed");
            Err(Misread::within(Code::OutOfRange, range, message))
        }
    }
}

pub(super) fn scan_distance(scan: &mut Scan<'_>) -> Read<WithBytes<Distance>> {
    let start = scan.at();
    let number = scan.need("a distance", "50 m")?;
    distance_of(scan, start, number)
}

/// The distance whose number is read.
fn distance_of(scan: &mut Scan<'_>, start: usize, number: Number) -> Read<WithBytes<Distance>> {
    let written = scan.shown(number.range.clone());
    let word = scan.peek_word();
    let unit = if scan.word(&METRES).is_some() {
        PoolUnit::Metre
    } else if scan.word(&YARDS).is_some() {
        PoolUnit::Yard
    } else {
        return Err(no_unit(scan, &number, &written, word));
    };
    let range = start..word.end;
    in_unit(scan, number, unit, range.clone()).map(|found| (found, range))
}

/// A number as a distance of a unit; `range` holds both.
fn in_unit(scan: &Scan<'_>, number: Number, unit: PoolUnit, range: Range<usize>) -> Read<Distance> {
    let written = scan.shown(number.range.clone());
    let Some(count) = number.whole() else {
        let message = format!("a distance is a whole number of m or yd; found `{written}`");
        let fault = Misread::within(Code::BadValue, number.range, message);
        let thousands = written.contains(',') && number.decimals == 3;
        return Err(if thousands { fault.hint(format!("`{}`?", written.replace(',', ""))) } else { fault });
    };
    let found = u32::try_from(count).ok().and_then(|count| Distance::new(count, unit));
    found.ok_or_else(|| {
        let sign = unit.sign();
        Misread::within(Code::OutOfRange, range, format!("a distance of {count} {sign}; 1 to 100000 {sign} is allowed"))
    })
}

fn no_unit(scan: &Scan<'_>, number: &Number, written: &str, word: Range<usize>) -> Misread {
    let next = scan.shown(word.clone()).to_lowercase();
    if matches!(next.as_str(), "km" | "k") {
        let fault = Misread::within(Code::BadValue, word, "a distance is written in `m` or `yd`, not in km");
        return match number.times(1000) {
            Some(metres) => fault.hint(format!("`{metres} m`?")),
            None => fault,
        };
    }
    if UNITS_OF_TIME.contains(&next.as_str()) {
        let range = number.range.start..word.end;
        return Misread::within(Code::BadValue, range, "a distance is no time").hint("for example `50 m`");
    }
    if scan.rest().starts_with(':') {
        return Misread::within(Code::BadValue, scan.range_from(number.range.start), "a distance is no time")
            .hint("for example `50 m`");
    }
    if next.is_empty() || next == "on" {
        return Misread::within(
            Code::UnitMissing,
            number.range.clone(),
            format!("a distance needs a unit; found `{written}`"),
        )
        .hint(format!("`{written} m` or `{written} yd`?"));
    }
    scan.strange("a distance", "`m` or `yd`")
}
