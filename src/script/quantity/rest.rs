//! What surrounds a swim in time: the rest after it, and how its second half differs.

use crate::diag::Code;
use crate::script::Rest;
use crate::script::quantity::scan::Scan;
use crate::script::quantity::swim::scan_distance;
use crate::script::quantity::time::{duration, plain, scan_duration, within};
use crate::script::quantity::{Misread, Read};
use crate::units::time::Seconds;

const LONGEST: Seconds = Seconds::from_secs(3600);
/// How much the halves of a repeat may differ.
const HALVES: (Seconds, Seconds) = (Seconds::from_millis(100), Seconds::from_secs(300));

/// The rest after a repeat: `15 s`, `0 s` (a join), `10 s per 50 m`.
pub fn rest(text: &str) -> Read<Rest> {
    let mut scan = Scan::new(text);
    let time = scan_duration(&mut scan, "a rest")?;
    let per = scan.sign(&['/']).is_some() || scan.word(&["per", "for"]).is_some();
    if per {
        scan.word(&["every", "each"]);
        let (per, _) = scan_distance(&mut scan)?;
        scan.end("a rest")?;
        let time = within(text, time, "a rest per distance", &(Seconds::from_millis(100)..=LONGEST))?;
        return Ok(Rest::PerDistance { time, per });
    }
    scan.end("a rest")?;
    within(text, time, "a rest", &(Seconds::ZERO..=LONGEST)).map(Rest::Fixed)
}

/// A rest of its own between swims, never none at all: `1:00`. `what` names it in messages.
pub fn standing(text: &str, what: &str) -> Read<Seconds> {
    duration(text, what, Seconds::from_secs(1)..=LONGEST)
}

/// How much less time the second half takes: `2 s faster`; negative for `3 s slower`.
pub fn second_half(text: &str) -> Read<Seconds> {
    const WHAT: &str = "the second half";
    let mut scan = Scan::new(text);
    if scan.sign(&['-', '−', '+']).is_some() {
        let fault = Misread::new(Code::BadValue, text, format!("{WHAT} has no sign: a word says which way it goes"));
        return Err(fault.hint("`2 s faster` or `2 s slower`"));
    }
    if let Some(way) = scan.word(&["faster", "slower"]) {
        let message = format!("{WHAT} is how much and which way; found `{}`", scan.shown(way));
        return Err(Misread::new(Code::BadValue, text, message).hint("for example `2 s faster`"));
    }
    let time = scan_duration(&mut scan, WHAT)?;
    let way = scan.at();
    let faster = scan.word(&["faster"]).is_some();
    if !faster && scan.word(&["slower"]).is_none() {
        let range = scan.range_from(way);
        let found = scan.shown(range.clone());
        let message = if found.is_empty() {
            format!("{WHAT} needs `faster` or `slower`")
        } else {
            format!("{WHAT} is `faster` or `slower`; found `{found}`")
        };
        let fault = if found.is_empty() {
            Misread::new(Code::BadValue, text, message)
        } else {
            Misread::within(Code::BadValue, range, message)
        };
        let written = scan.shown(0..text.get(..way).unwrap_or("").trim_end().len());
        return Err(fault.hint(format!("`{written} faster` or `{written} slower`?")));
    }
    scan.end(WHAT)?;
    if !(HALVES.0..=HALVES.1).contains(&time) {
        let message =
            format!("{WHAT} differs by {}; {} to {} is allowed", plain(time), plain(HALVES.0), plain(HALVES.1));
        return Err(Misread::new(Code::OutOfRange, text, message));
    }
    Ok(if faster { time } else { Seconds::ZERO - time })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::quantity::tests::refuse;
    use crate::units::swim::{Distance, PoolUnit};
    use Code::{BadValue, OutOfRange, UnitMissing};

    #[test]
    fn rests() {
        let metres = |count| Distance::new(count, PoolUnit::Metre).unwrap();
        for (text, expected) in [
            ("15 s", Rest::Fixed(Seconds::from_secs(15))),
            ("0 s", Rest::Fixed(Seconds::ZERO)),
            ("1:00", Rest::Fixed(Seconds::from_secs(60))),
            ("10 s per 50 m", Rest::PerDistance { time: Seconds::from_secs(10), per: metres(50) }),
            ("10s/50m", Rest::PerDistance { time: Seconds::from_secs(10), per: metres(50) }),
            ("1 min for every 100 m", Rest::PerDistance { time: Seconds::from_secs(60), per: metres(100) }),
        ] {
            assert_eq!(rest(text), Ok(expected), "{text}");
        }
        refuse(
            rest,
            &[
                ("10", UnitMissing, "10", "`10 s` or `10 min`?"),
                ("10 s per 50", UnitMissing, "50", "`50 m` or `50 yd`?"),
                ("10 s per length", BadValue, "length", "`50 m`"),
                ("10 s per", BadValue, "", "`50 m`"),
                ("0 s per 50 m", OutOfRange, "0 s per 50 m", ""),
                ("61 min", OutOfRange, "61 min", ""),
                ("10 s every 50 m", BadValue, "every 50 m", ""),
                ("10 s per 50 m swum", BadValue, "swum", ""),
            ],
        );
        let between = |text: &str| standing(text, "a standing rest");
        assert_eq!(between("1:00"), Ok(Seconds::from_secs(60)));
        refuse(between, &[("0 s", OutOfRange, "0 s", ""), ("1 s per 50 m", BadValue, "per 50 m", "")]);
    }

    #[test]
    fn second_halves() {
        for (text, millis) in
            [("2 s faster", 2_000), ("3 s slower", -3_000), ("1.5s Faster", 1_500), ("0:05 faster", 5_000)]
        {
            assert_eq!(second_half(text), Ok(Seconds::from_millis(millis)), "{text}");
        }
        refuse(
            second_half,
            &[
                ("2 s", BadValue, "2 s", "`2 s faster` or `2 s slower`?"),
                ("2 faster", BadValue, "faster", ""),
                ("faster", BadValue, "faster", "`2 s faster`"),
                ("2 s quicker", BadValue, "quicker", "`2 s faster`"),
                ("-2 s", BadValue, "-2 s", "`2 s faster`"),
                ("0 s faster", OutOfRange, "0 s faster", ""),
                ("6 min faster", OutOfRange, "6 min faster", ""),
                ("2 s faster please", BadValue, "please", ""),
            ],
        );
    }
}
