//! Distances, pools and the shorthand of a swim from text.

use crate::diag::Code;
use crate::script::quantity::scan::{Number, Scan};
use crate::script::quantity::time::{scan_duration, within};
use crate::script::quantity::{Fault, Read};
use crate::units::swim::{Distance, PoolLength, PoolUnit};
use crate::units::time::Seconds;
use std::ops::{Range, RangeInclusive};

/// How long a send-off may be.
pub const SEND_OFF: RangeInclusive<Seconds> = Seconds::from_secs(5)..=Seconds::from_secs(6 * 3600);
/// How many repeats a swim may have.
pub const MOST_REPEATS: u64 = 1_000_000;

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
        return Err(Fault::new(Code::BadValue, text, message).hint("for example `25 m` or `25 yd`"));
    }
    let found = distance(text)?;
    PoolLength::new(found).ok_or_else(|| {
        let unit = found.unit().sign();
        Fault::new(Code::OutOfRange, text, format!("a pool of {found}; 10 to 100 {unit} is allowed"))
    })
}

/// A swim in trade shorthand, each part with its bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shorthand {
    /// How many, 1 where not written.
    pub repeats: (u32, Range<usize>),
    /// How far each.
    pub distance: (Distance, Range<usize>),
    /// `on 1:30`
    pub send_off: Option<(Seconds, Range<usize>)>,
}

/// A swim: `200 m`, `4 x 50 m`, `4x50m`, `4 x 50 m on 1:30`.
pub fn swim(text: &str) -> Read<Shorthand> {
    if let Some(at) = text.find('@') {
        let after = Scan::new(text.get(at + 1..).unwrap_or("")).rest().trim_end();
        let time = if after.is_empty() { "1:30".to_owned() } else { Scan::new(after).shown(0..after.len()) };
        return Err(Fault::within(Code::BadValue, at..at + 1, "`@` has two meanings: send-off or pace?")
            .hint(format!("write `on {time}` for the send-off, or the key `pace: {time}`")));
    }
    let mut scan = Scan::new(text);
    let start = scan.at();
    let first = scan.need("a swim", "4 x 50 m")?;
    let by = scan.word(&["x"]).is_some() || scan.sign(&['×', '*']).is_some();
    let (repeats, (distance, place)) = if by {
        let repeats = count(&first)?;
        (repeats, scan_distance(&mut scan)?)
    } else {
        (1, distance_of(&mut scan, start, first.clone())?)
    };
    if !by && scan.rest().starts_with(['x', 'X', '×', '*']) {
        let message = format!("how many comes first; found `{}`", scan.shown(scan.range_from(start)));
        return Err(Fault::within(Code::BadValue, scan.range_from(start), message).hint("for example `4 x 50 m`"));
    }
    let send_off = match scan.word(&["on"]) {
        None => None,
        Some(_) => {
            let from = scan.at();
            let time = scan_duration(&mut scan, "a send-off")?;
            let range = scan.range_from(from);
            scan.end("the send-off")?;
            let checked = within(text, time, "a send-off", &SEND_OFF);
            Some((checked.map_err(|fault| Fault { range: range.clone(), ..fault })?, range))
        }
    };
    if !scan.done() {
        let range = scan.range_from(scan.at());
        let message = format!("`{}` does not belong to a swim", scan.shown(range.clone()));
        return Err(Fault::within(Code::BadValue, range, message).hint("a swim reads `4 x 50 m` or `4 x 50 m on 1:30`"));
    }
    let repeats = (repeats, if by { first.range } else { place.clone() });
    Ok(Shorthand { repeats, distance: (distance, place), send_off })
}

fn count(number: &Number) -> Read<u32> {
    let range = number.range.clone();
    match number.whole() {
        None => Err(Fault::within(Code::BadValue, range, "how many is a whole number")),
        Some(found @ 1..=MOST_REPEATS) => Ok(found as u32),
        Some(found) => {
            let message = format!("{found} repeats; 1 to {MOST_REPEATS} are allowed");
            Err(Fault::within(Code::OutOfRange, range, message))
        }
    }
}

fn scan_distance(scan: &mut Scan<'_>) -> Read<(Distance, Range<usize>)> {
    let start = scan.at();
    let number = scan.need("a distance", "50 m")?;
    distance_of(scan, start, number)
}

/// The distance whose number is read.
fn distance_of(scan: &mut Scan<'_>, start: usize, number: Number) -> Read<(Distance, Range<usize>)> {
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
    let Some(count) = number.whole() else {
        let message = format!("a distance is a whole number of m or yd; found `{written}`");
        let fault = Fault::within(Code::BadValue, number.range, message);
        let thousands = written.contains(',') && number.decimals == 3;
        return Err(if thousands { fault.hint(format!("`{}`?", written.replace(',', ""))) } else { fault });
    };
    let found = u32::try_from(count).ok().and_then(|count| Distance::new(count, unit));
    found.map(|found| (found, range.clone())).ok_or_else(|| {
        let sign = unit.sign();
        Fault::within(Code::OutOfRange, range, format!("a distance of {count} {sign}; 1 to 100000 {sign} is allowed"))
    })
}

fn no_unit(scan: &Scan<'_>, number: &Number, written: &str, word: Range<usize>) -> Fault {
    let next = scan.shown(word.clone()).to_lowercase();
    if matches!(next.as_str(), "km" | "k") {
        let fault = Fault::within(Code::BadValue, word, "a distance is written in `m` or `yd`, not in km");
        return match number.times(1000) {
            Some(metres) => fault.hint(format!("`{metres} m`?")),
            None => fault,
        };
    }
    if matches!(next.as_str(), "s" | "min" | "h") {
        let range = number.range.start..word.end;
        return Fault::within(Code::BadValue, range, "a swim is a distance, not a time").hint("for example `4 x 50 m`");
    }
    if scan.rest().starts_with(':') {
        return Fault::within(Code::BadValue, scan.range_from(number.range.start), "a distance is no time")
            .hint("for example `50 m`");
    }
    if next.is_empty() || next == "on" {
        return Fault::within(
            Code::UnitMissing,
            number.range.clone(),
            format!("a distance needs a unit; found `{written}`"),
        )
        .hint(format!("`{written} m` or `{written} yd`?"));
    }
    scan.strange("a distance", "`m` or `yd`")
}
