//! The quantities of a lane: the gap, the share of a set that somebody swims, how a lane's send-offs differ.

use super::scan::Scan;
use super::time::{duration, scan_duration};
use super::{Misread, Read};
use crate::diag::Code;
use crate::script::lane::{SendOffShift, SwimShare};
use crate::units::time::Seconds;
use std::ops::RangeInclusive;

/// How far apart swimmers of a lane may leave. Below 3 s the countdown of the next one begins before the one in front has
/// gone, and at 1 m/s the hands of the one behind are level with the feet in front. Our bounds, no source.
pub const GAPS: RangeInclusive<Seconds> = Seconds::from_secs(3)..=Seconds::from_secs(60);
/// The most parts that a share of a set may have: `7 of 8`, `7/8`.
const MOST_PARTS: u32 = 8;

/// `gap`: from one swimmer's go to the next one's.
pub fn gap(text: &str) -> Read<Seconds> {
    let hint = "5 s or 10 s are usual; closer than 3 s nobody can tell whose go it is";
    duration(text, "a gap", GAPS).map_err(|fault| if fault.hint.is_none() { fault.hint(hint) } else { fault })
}

/// How much longer a lane stands to regroup.
const PAUSES: RangeInclusive<Seconds> = Seconds::from_secs(10)..=Seconds::from_secs(300);
/// After how many repeats.
const REGROUPS: RangeInclusive<u64> = 2..=100;

/// `every` of a regroup: `4 repeats`.
pub fn regroup_every(text: &str) -> Read<u32> {
    let mut scan = Scan::new(text);
    let (what, example) = ("the repeats up to a regroup", "4 repeats");
    let found = scan.need(what, example)?.whole();
    if scan.word(&["repeats", "repeat"]).is_none() {
        return Err(scan.strange(what, "`repeats`").hint(format!("for example `{example}`")));
    }
    scan.end(what)?;
    let fits = found.filter(|found| REGROUPS.contains(found)).and_then(|found| u32::try_from(found).ok());
    fits.ok_or_else(|| {
        let message = format!("{what} are a whole number from {} to {}", REGROUPS.start(), REGROUPS.end());
        Misread::new(Code::OutOfRange, text, message).hint(format!("for example `{example}`"))
    })
}

/// `for` of a regroup: `45 s`.
pub fn regroup_pause(text: &str) -> Read<Seconds> {
    duration(text, "the time of a regroup", PAUSES)
}

/// `swims`: `3 of 4`.
pub fn swims(text: &str) -> Read<SwimShare> {
    let mut scan = Scan::new(text);
    let (what, example) = ("the part of the repeats", "3 of 4");
    let swum = scan.need(what, example)?.whole();
    if scan.word(&["of"]).is_none() {
        return Err(scan.strange(what, "`of`").hint(format!("for example `{example}`")));
    }
    let of = scan.need(what, example)?.whole();
    scan.end(what)?;
    let (swum, of) = share(text, what, swum.zip(of), example)?;
    Ok(SwimShare::Repeats { swum, of })
}

/// `distance`: `3/4`. Metres are refused: repeats of several lengths would each need their own.
pub fn distance(text: &str) -> Read<SwimShare> {
    let mut scan = Scan::new(text);
    let (what, example) = ("the part of the distance", "3/4");
    let parts = scan.need(what, example)?.whole();
    if scan.sign(&['/']).is_none() {
        let hint = "for example `3/4`: of 200 m it makes 150 m, and it fits sets of other distances too";
        return Err(scan.strange(what, "`/`").hint(hint));
    }
    let of = scan.need(what, example)?.whole();
    scan.end(what)?;
    let (parts, of) = share(text, what, parts.zip(of), example)?;
    Ok(SwimShare::Distance { parts, of })
}

/// A share that is neither nothing nor all.
fn share(text: &str, what: &str, found: Option<(u64, u64)>, example: &str) -> Read<(u32, u32)> {
    let fits = found.filter(|(part, of)| (1..*of).contains(part) && (2..=u64::from(MOST_PARTS)).contains(of));
    fits.and_then(|(part, of)| Some((u32::try_from(part).ok()?, u32::try_from(of).ok()?))).ok_or_else(|| {
        let message = format!("{what} is less than all of it, in at most {MOST_PARTS} parts");
        Misread::new(Code::OutOfRange, text, message).hint(format!("for example `{example}`; leave it out for all"))
    })
}

/// `send-off` of a lane: `10 s more per 100`, `5 s less per 100`.
pub fn shift(text: &str) -> Read<SendOffShift> {
    let mut scan = Scan::new(text);
    let (what, example) = ("the send-off of a lane", "10 s more per 100");
    let time = scan_duration(&mut scan, what)?;
    let more = scan.word(&["more"]).is_some();
    if !more && scan.word(&["less"]).is_none() {
        let hint = "for example `10 s more per 100`: a set has the send-off, a lane says how its own differs";
        return Err(scan.strange(what, "`more` or `less`").hint(hint));
    }
    let hundred = scan.word(&["per"]).and_then(|_| scan.number()).transpose()?.and_then(|number| number.whole());
    if hundred != Some(100) {
        let message = format!("{what} is given per 100 of the pool's unit");
        return Err(Misread::new(Code::BadValue, text, message).hint(format!("for example `{example}`")));
    }
    scan.end(what)?;
    let allowed = Seconds::from_secs(1)..=Seconds::from_secs(120);
    if !allowed.contains(&time) {
        let message = format!("{what} differs by {} s; 1 s to 2:00 per 100 is allowed", time.as_f64());
        return Err(Misread::new(Code::OutOfRange, text, message));
    }
    Ok(SendOffShift(if more { time } else { Seconds::ZERO - time }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_read_and_others_refused() {
        assert_eq!(swims("3 of 4"), Ok(SwimShare::Repeats { swum: 3, of: 4 }));
        assert_eq!(distance(" 2/3 "), Ok(SwimShare::Distance { parts: 2, of: 3 }));
        for (text, code) in [("4 of 4", Code::OutOfRange), ("0 of 4", Code::OutOfRange), ("8 of 9", Code::OutOfRange)] {
            assert_eq!(swims(text).unwrap_err().code, code, "{text}");
        }
        for (text, code) in [("150 m", Code::BadValue), ("3/3", Code::OutOfRange), ("3/4 m", Code::BadValue)] {
            assert_eq!(distance(text).unwrap_err().code, code, "{text}");
        }
        for text in ["3/4", "3", "3 of", "three of four", "1.5 of 4"] {
            assert!(swims(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_lane_says_how_its_send_off_differs() {
        assert_eq!(shift("10 s more per 100"), Ok(SendOffShift(Seconds::from_secs(10))));
        assert_eq!(shift("5s less per 100"), Ok(SendOffShift(Seconds::from_secs(-5))));
        for text in
            ["1:30", "10 s more", "10 more per 100", "10 s more per 50", "0 s more per 100", "3:00 more per 100"]
        {
            assert!(shift(text).is_err(), "{text}");
        }
    }

    #[test]
    fn gaps_have_bounds() {
        assert_eq!(gap("5 s"), Ok(Seconds::from_secs(5)));
        for text in ["2.9 s", "61 s", "5"] {
            assert!(gap(text).is_err(), "{text}");
        }
    }
}
