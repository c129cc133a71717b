//! Every quantity by table: what is read, and the exact bytes that are blamed.

use super::breath::breathe;
use super::count::{bare_strokes, every, nth, strokes, whole};
use super::level::{decibels, hertz, lufs};
use super::rest::{rest, second_half};
use super::swim::{distance, entry, lap, pool, swim, water};
use super::time::{WrittenTempo, duration, pace, pace_step, tempo, tempo_step};
use super::*;
use crate::script::{Far, Water};
use crate::units::swim::{Distance, PoolUnit};
use crate::units::time::{Seconds, Tempo};
use Code::{BadValue, OutOfRange, UnitMissing};
use proptest::prelude::*;

/// Text, code, blamed part, and a piece of the hint.
pub(super) type Bad = (&'static str, Code, &'static str, &'static str);

pub(super) fn refuse<T: std::fmt::Debug>(read: impl Fn(&str) -> Read<T>, cases: &[Bad]) {
    for (text, code, part, hint) in cases {
        let fault = read(text).expect_err(text);
        let blamed = text.get(fault.range.clone()).unwrap();
        assert_eq!((fault.code, blamed), (*code, *part), "{text}: {fault:?}");
        assert!(fault.hint.as_deref().unwrap_or("").contains(hint), "{text}: {fault:?}");
        assert!(fault.message.chars().next().is_some_and(|c| !c.is_uppercase()) && !fault.message.ends_with('.'));
    }
}

fn seconds(text: &str) -> Read<Seconds> {
    duration(text, "a rest", Seconds::ZERO..=Seconds::from_secs(3600))
}

#[test]
fn durations() {
    for (text, millis) in [
        ("15 s", 15_000),
        ("15s", 15_000),
        ("  15 S ", 15_000),
        ("90 s", 90_000),
        ("90 sec", 90_000),
        ("1:30", 90_000),
        ("1:30 min", 90_000),
        ("0:05", 5_000),
        ("1:02.5", 62_500),
        ("1:02,5", 62_500),
        ("1:00:00", 3_600_000),
        ("2 min", 120_000),
        ("1.5 min", 90_000),
        ("1 min 30 s", 90_000),
        ("1min30s", 90_000),
        ("40 ms", 40),
        ("0 s", 0),
        ("0.000001 ms", 0),
        (".5 s", 500),
    ] {
        assert_eq!(seconds(text).map(|time| time.nanos() / 1_000_000), Ok(millis), "{text}");
    }
    assert_eq!(seconds("0.000000001 s"), Ok(Seconds::from_nanos(1)));
    refuse(
        seconds,
        &[
            ("90", UnitMissing, "90", "`1:30`"),
            ("5", UnitMissing, "5", "`5 s` or `5 min`?"),
            ("15", UnitMissing, "15", "`15 s`?"),
            ("1 min 30", UnitMissing, "30", ""),
            ("1:75", BadValue, "75", ""),
            ("1:5", BadValue, "5", "`1:05` or `1:50`?"),
            ("1:7", BadValue, "7", "`1:07`?"),
            ("1:005", BadValue, "005", ""),
            ("1.5:00", BadValue, "1.5:00", ""),
            ("1:2:3:4", BadValue, "1:2:3:4", ""),
            ("1:", BadValue, "", ""),
            ("1:30 s", BadValue, "s", ""),
            ("1'30\"", BadValue, "'30\"", ""),
            ("15 seks", BadValue, "seks", ""),
            ("15 m", BadValue, "m", ""),
            ("15 s later", BadValue, "later", ""),
            ("30 s 1 min", BadValue, "1", "`1 min 30 s`"),
            ("soon", BadValue, "soon", "`1:30`"),
            ("-5 s", BadValue, "-5 s", ""),
            ("0.0000000001 s", BadValue, "0.0000000001", ""),
            ("2:00:00", OutOfRange, "2:00:00", ""),
            ("999999999 h", OutOfRange, "999999999 h", ""),
            ("1234567890 s", OutOfRange, "1234567890", ""),
            ("1.23456789012 s", OutOfRange, "1.23456789012", ""),
            ("15 s#quick", BadValue, "#quick", "blank before"),
        ],
    );
}

#[test]
fn paces() {
    for (text, secs) in [("2:05", 125), ("1:50 /100", 110), ("1:50/100", 110), ("1:50 per 100", 110), ("95 s", 95)] {
        assert_eq!(pace(text).map(|pace| pace.per_hundred()), Ok(Seconds::from_secs(secs)), "{text}");
    }
    refuse(
        pace,
        &[
            ("125", UnitMissing, "125", "`2:05`"),
            ("1:50 /50", BadValue, "50", ""),
            ("1:50 /100 m", BadValue, "/100 m", "`/100`"),
            ("0:20", OutOfRange, "0:20", ""),
            ("11:00", OutOfRange, "11:00", ""),
            ("1:50 fast", BadValue, "fast", ""),
        ],
    );
    assert_eq!(pace_step("2.5 s"), Ok(((2_500_000_000, 1_000_000_000), false)));
    refuse(pace_step, &[("-5 s", BadValue, "-5 s", "sign"), ("0 s", OutOfRange, "0 s", "")]);
}

#[test]
fn tempos() {
    let second = |num, den| Ok(WrittenTempo { tempo: Tempo::from_ratio(num, den).unwrap(), per_minute: false });
    // Arithmetic: N strokes a minute are 60/N s each, so 50 /min is 1.2 s and 52 /min is 15/13 s.
    let minute = |num, den| Ok(WrittenTempo { tempo: Tempo::from_ratio(num, den).unwrap(), per_minute: true });
    for (text, expected) in [
        ("1.30 s", second(13, 10)),
        ("1.30s", second(13, 10)),
        ("1,30 s", second(13, 10)),
        ("1300 ms", second(13, 10)),
        ("1.0968921389 s", second(10_968_921_389, 10_000_000_000)),
        ("0.4 s", second(2, 5)),
        ("2.5 s", second(5, 2)),
        ("50 /min", minute(6, 5)),
        ("52/min", minute(15, 13)),
        ("54.7 /min", minute(600, 547)),
        ("50 / Min", minute(6, 5)),
        ("50 per minute", minute(6, 5)),
        ("50 strokes a minute", minute(6, 5)),
        ("50 strokes/min", minute(6, 5)),
        ("50 spm", minute(6, 5)),
    ] {
        assert_eq!(tempo(text), expected, "{text}");
    }
    refuse(
        tempo,
        &[
            ("1.2", UnitMissing, "1.2", "`1.2 s` a stroke, which is 50.0 /min?"),
            ("50", UnitMissing, "50", "`50 /min`, which is 1.20 s a stroke?"),
            ("7", UnitMissing, "7", "`1.30 s` a stroke, or `50 /min`?"),
            ("3 s", OutOfRange, "3 s", ""),
            ("0.39 s", OutOfRange, "0.39 s", ""),
            ("50 s", OutOfRange, "50 s", "`50 /min`?"),
            ("1.2 /min", OutOfRange, "1.2 /min", "`1.2 s`?"),
            ("0 /min", OutOfRange, "0 /min", ""),
            ("0 s", OutOfRange, "0 s", ""),
            ("1.2 m", BadValue, "m", ""),
            ("50 /h", BadValue, "/h", ""),
            ("1.2 s fast", BadValue, "fast", ""),
            ("1.2.3 s", BadValue, ".3 s", ""),
            ("quick", BadValue, "quick", "`1.30 s`"),
            ("−1.2 s", BadValue, "−1.2 s", ""),
        ],
    );
    assert_eq!(tempo_step("0.05 s"), Ok(((5, 100), false)));
    assert_eq!(tempo_step("25 ms"), Ok(((25, 1000), false)));
    assert_eq!(tempo_step("2 /min"), Ok(((2, 1), true)));
    refuse(
        tempo_step,
        &[
            ("-0.05 s", BadValue, "-0.05 s", "remove the sign"),
            ("0 s", OutOfRange, "0 s", ""),
            ("0.05", UnitMissing, "0.05", ""),
            ("200 /min", OutOfRange, "200 /min", ""),
        ],
    );
}

#[test]
fn distances() {
    for (text, count, unit) in [
        ("50 m", 50, PoolUnit::Metre),
        ("50m", 50, PoolUnit::Metre),
        ("50 M", 50, PoolUnit::Metre),
        ("50 metres", 50, PoolUnit::Metre),
        ("25 yd", 25, PoolUnit::Yard),
        ("25 yards", 25, PoolUnit::Yard),
        ("100y", 100, PoolUnit::Yard),
    ] {
        assert_eq!(distance(text).map(|found| (found.count(), found.unit())), Ok((count, unit)), "{text}");
    }
    refuse(
        distance,
        &[
            ("50", UnitMissing, "50", "`50 m` or `50 yd`?"),
            ("50.5 m", BadValue, "50.5", ""),
            ("1,500 m", BadValue, "1,500", "`1500`?"),
            ("1.5 km", BadValue, "km", "`1500 m`?"),
            ("0 m", OutOfRange, "0 m", ""),
            ("100001 m", OutOfRange, "100001 m", ""),
            ("50 ft", BadValue, "ft", ""),
            ("50 m m", BadValue, "m", ""),
        ],
    );
    assert_eq!(pool("25 yd").map(|pool| pool.unit()), Ok(PoolUnit::Yard));
    refuse(
        pool,
        &[
            ("25", UnitMissing, "25", "`25 m` or `25 yd`?"),
            ("5 m", OutOfRange, "5 m", ""),
            ("open water", BadValue, "open water", "`25 m`"),
        ],
    );
    assert_eq!(water("Open  Water"), Ok(Water::Open));
    assert!(matches!(water("50 m"), Ok(Water::Pool(pool)) if pool.distance().count() == 50));
    refuse(
        water,
        &[
            ("25", UnitMissing, "25", "`25 m` or `25 yd`?"),
            ("opn water", BadValue, "opn water", "did you mean `open water`?"),
            ("lake", BadValue, "lake", "`open water`"),
            ("150 m", OutOfRange, "150 m", ""),
        ],
    );
    assert_eq!(lap("380 m").map(Distance::count), Ok(380));
    // The yard is 0.9144 m: 400 yd are 365.76 m.
    refuse(lap, &[("400 yd", BadValue, "400 yd", "`366 m`?")]);
}

#[test]
fn swims() {
    for (text, repeats, count, send_off) in [
        ("200 m", 1, 200, None),
        ("4 x 50 m", 4, 50, None),
        ("4x50m", 4, 50, None),
        ("4 × 50 m", 4, 50, None),
        ("4 * 50 yd", 4, 50, None),
        ("4 X 50 M ON 1:30", 4, 50, Some(90)),
        ("4 x 50 m on 1:30", 4, 50, Some(90)),
        ("200 m on 4 min", 1, 200, Some(240)),
        ("8x25yd on 45 s", 8, 25, Some(45)),
    ] {
        let found = swim(text).unwrap();
        let Far::Distances(distances) = &found.far.0 else { panic!("{text}") };
        let counts: Vec<_> = distances.iter().map(|distance| distance.count()).collect();
        assert_eq!((found.repeats.0, counts.as_slice()), (repeats, [count].as_slice()), "{text}");
        assert_eq!(found.send_off.map(|(time, _)| time), send_off.map(Seconds::from_secs), "{text}");
    }
    let found = swim(" 4 x 50 m on 1:30 ").unwrap();
    assert_eq!((found.repeats.1, found.far.1, found.send_off.unwrap().1), (1..2, 5..9, 13..17));
    refuse(
        swim,
        &[
            ("4 x 50", UnitMissing, "50", "`50 m` or `50 yd`?"),
            ("4x50", UnitMissing, "50", "`50 m` or `50 yd`?"),
            ("4 x 50 on 1:30", UnitMissing, "50", "`50 m` or `50 yd`?"),
            ("200", UnitMissing, "200", "`200 m`"),
            ("4 x 50 m @ 1:30", BadValue, "@", "`on 1:30` for the send-off, or the key `pace: 1:30`"),
            ("4 x 50 m @", BadValue, "@", "`on 1:30`"),
            ("4 x 50 m on 90", UnitMissing, "90", "`1:30`"),
            ("4 x 50 m on 1:90", BadValue, "90", ""),
            ("4 x 50 m on 2 s", OutOfRange, "2 s", ""),
            ("4 x 50 m on", BadValue, "", "`1:30`"),
            ("4 x 50 m 1:30", BadValue, "1:30", "`4 x 50 m on 1:30`"),
            ("4 x 50 m rest 15 s", BadValue, "rest 15 s", ""),
            ("50 m x 4", BadValue, "50 m x 4", "`4 x 50 m`"),
            ("0 x 50 m", OutOfRange, "0", ""),
            ("1.5 x 50 m", BadValue, "1.5", ""),
            ("2000000 x 50 m", OutOfRange, "2000000", ""),
            ("5 s", OutOfRange, "5 s", ""),
            ("2 x 7 h on 1:00", OutOfRange, "7 h", ""),
            ("10 min 30", UnitMissing, "30", ""),
            ("easy", BadValue, "easy", "`4 x 50 m`"),
            ("4 x x 50 m", BadValue, "x 50 m", "`50 m`"),
        ],
    );
}

#[test]
fn swims_by_time() {
    for (text, repeats, seconds, place) in [
        ("10 min", 1, 600, 0..6),
        ("10:00", 1, 600, 0..5),
        ("3 x 90 s on 2:30", 3, 90, 4..8),
        ("2x1 min 30 s", 2, 90, 2..12),
    ] {
        let found = swim(text).unwrap();
        assert_eq!(found.far, (Far::Time(Seconds::from_secs(seconds)), place), "{text}");
        assert_eq!(found.repeats.0, repeats, "{text}");
    }
}

#[test]
fn swims_of_a_list() {
    for (text, counts, unit, place, send_off) in [
        ("[50, 100, 150] m", &[50, 100, 150][..], PoolUnit::Metre, 0..16, None),
        ("[50,100]yd", &[50, 100], PoolUnit::Yard, 0..10, None),
        (" [ 50 m , 100 m ] ", &[50, 100], PoolUnit::Metre, 1..17, None),
        ("[200] m on 4:00", &[200], PoolUnit::Metre, 0..7, Some(240)),
        ("[25 yd, 50 m]", &[25, 50], PoolUnit::Yard, 0..13, None),
    ] {
        let found = swim(text).unwrap();
        let Far::Distances(distances) = &found.far.0 else { panic!("{text}") };
        assert_eq!(distances.iter().map(|distance| distance.count()).collect::<Vec<_>>(), counts, "{text}");
        assert_eq!((distances[0].unit(), found.far.1, found.repeats.0), (unit, place, counts.len() as u32), "{text}");
        assert_eq!(found.send_off.map(|(time, _)| time), send_off.map(Seconds::from_secs), "{text}");
    }
    let long = format!("[{}50] m", "50, ".repeat(200));
    assert_eq!(swim(&long).unwrap_err().code, OutOfRange);
    refuse(
        swim,
        &[
            ("[50, 100]", UnitMissing, "50", "`[50 m, 100 m]`"),
            ("[50, 100] on 2:00", UnitMissing, "50", "`[50 m, 100 m]`"),
            ("[50 m, 100]", UnitMissing, "100", "`100 m` or `100 yd`?"),
            ("[50, 100 m] m", BadValue, "m", "`[50 m, 100 m]`"),
            ("[50, , 100] m", BadValue, "", ""),
            ("[] m", BadValue, "", "`[50, 100] m`"),
            ("[50, 0] m", OutOfRange, "0", ""),
            ("[50, 1.5] m", BadValue, "1.5", ""),
            ("[50, 100 m", BadValue, "[", ""),
            ("[50, 100] ft", UnitMissing, "50", ""),
            ("[50, 100] m x 2", BadValue, "[50, 100] m x 2", ""),
            ("2 x [50, 100] m", BadValue, "[50, 100] m", "`rounds`"),
            ("[1 min, 2 min]", BadValue, "1 min", ""),
        ],
    );
}

#[test]
fn levels() {
    let level = |text: &str| decibels(text, "the beats", -40.0..=12.0);
    for (text, db) in
        [("-6 dB", -6.0), ("−6 dB", -6.0), ("- 6dB", -6.0), ("+3 DB", 3.0), ("0 dB", 0.0), ("-1,5 dB", -1.5)]
    {
        assert_eq!(level(text).map(|level| level.db()), Ok(db), "{text}");
    }
    refuse(
        level,
        &[
            ("-6", UnitMissing, "-6", "`-6 dB`?"),
            ("-6 LUFS", BadValue, "LUFS", ""),
            ("-60 dB", OutOfRange, "-60 dB", ""),
            ("30 dB", OutOfRange, "30 dB", "`-30 dB`?"),
            ("loud", BadValue, "loud", ""),
            ("-6 dB!", BadValue, "!", ""),
        ],
    );
    let voice = |text: &str| lufs(text, "the voice", -40.0..=-8.0);
    assert_eq!(voice("-16 LUFS").map(|level| level.lufs()), Ok(-16.0));
    refuse(
        voice,
        &[
            ("-16", UnitMissing, "-16", "`-16 LUFS`?"),
            ("-16 dB", BadValue, "dB", ""),
            ("16 LUFS", OutOfRange, "16 LUFS", "`-16 LUFS`?"),
        ],
    );
    let pitch = |text: &str| hertz(text, "a pitch", 200..=4000);
    assert_eq!((pitch("900 Hz"), pitch("900hz")), (Ok(900), Ok(900)));
    refuse(
        pitch,
        &[
            ("900", UnitMissing, "900", "`900 Hz`?"),
            ("100 Hz", OutOfRange, "100 Hz", ""),
            ("900.5 Hz", BadValue, "900.5 Hz", ""),
            ("1 kHz", BadValue, "kHz", ""),
        ],
    );
}

#[test]
fn counts() {
    assert_eq!(whole("18446744073709551615", "the seed", 0..=u64::MAX), Ok(u64::MAX));
    let rounds = |text: &str| whole(text, "the number of rounds", 1..=100);
    assert_eq!(rounds(" 3 "), Ok(3));
    refuse(
        rounds,
        &[
            ("0", OutOfRange, "0", ""),
            ("101", OutOfRange, "101", ""),
            ("2.5", BadValue, "2.5", ""),
            ("3 x", BadValue, "x", ""),
            ("no", BadValue, "no", "`1`"),
            ("99999999999999999999", OutOfRange, "99999999999999999999", ""),
        ],
    );
    let change = |text: &str| strokes(text, "a change of focus", 1..=1000);
    assert_eq!((change("12 strokes"), change("stroke"), change("12Strokes")), (Ok(12), Ok(1), Ok(12)));
    refuse(
        change,
        &[
            ("12", UnitMissing, "12", "`12 strokes`?"),
            ("12 m", BadValue, "m", ""),
            ("1.5 strokes", BadValue, "1.5", ""),
            ("2000 strokes", OutOfRange, "2000 strokes", ""),
        ],
    );
    let sight = |text: &str| every(text, "sighting", 4..=100);
    assert_eq!((sight("every 8 strokes"), sight("Every 4")), (Ok(8), Ok(4)));
    refuse(
        sight,
        &[
            ("8", BadValue, "8", "`every 8`?"),
            ("8 strokes", BadValue, "8 strokes", "`every 8`?"),
            ("every 3 strokes", OutOfRange, "every 3 strokes", ""),
            ("every 8 m", BadValue, "m", ""),
            ("every", BadValue, "", "`every 4`"),
            ("often", BadValue, "often", "`every 4`"),
        ],
    );
    let target = |text: &str| bare_strokes(text, "a target", 4..=200);
    assert_eq!((target("19"), target("19 strokes")), (Ok(19), Ok(19)));
    refuse(target, &[("3", OutOfRange, "3", ""), ("every 19", BadValue, "every 19", ""), ("19 m", BadValue, "m", "")]);
    let accent = |text: &str| nth(text, "an accent's `every`", 2..=16);
    assert_eq!((accent("3"), accent("every 3"), accent("3 strokes")), (Ok(3), Ok(3), Ok(3)));
    refuse(accent, &[("1", OutOfRange, "1", ""), ("third", BadValue, "third", "`3`")]);
}

proptest! {
    #![proptest_config(crate::cases::cases(64))]

    /// No text makes a parser fall over, and what is blamed is always a part of it.
    #[test]
    fn parsers_are_total(text in "[0-9.,:xX×@*/+−a-zA-Zé🏊\\[\\] \t-]{0,40}|(every|by|\\[|per|on| |[0-9]{1,3}| m| s|,|\\]|x|right|faster){0,8}|\\PC{0,30}") {
        fn check<T>(text: &str, found: Read<T>) -> Result<(), TestCaseError> {
            if let Err(fault) = found {
                prop_assert!(text.get(fault.range.clone()).is_some(), "{fault:?}");
            }
            Ok(())
        }
        check(&text, seconds(&text))?;
        check(&text, pace(&text))?;
        check(&text, tempo(&text))?;
        check(&text, tempo_step(&text))?;
        check(&text, pace_step(&text))?;
        check(&text, pool(&text))?;
        check(&text, water(&text))?;
        check(&text, lap(&text))?;
        check(&text, entry(&text))?;
        check(&text, rest(&text))?;
        check(&text, second_half(&text))?;
        check(&text, breathe(&text))?;
        check(&text, bare_strokes(&text, "x", 1..=9))?;
        check(&text, swim(&text))?;
        check(&text, decibels(&text, "x", -40.0..=12.0))?;
        check(&text, hertz(&text, "x", 200..=4000))?;
        check(&text, whole(&text, "x", 0..=9))?;
        check(&text, strokes(&text, "x", 1..=9))?;
        check(&text, every(&text, "x", 1..=9))?;
        check(&text, nth(&text, "x", 2..=9))?;
    }

    /// A tempo keeps every digit that is written.
    #[test]
    fn tempos_are_exact(digits in 4_000_000_000_u64..=25_000_000_000) {
        let text = format!("{}.{:010} s", digits / 10_000_000_000, digits % 10_000_000_000);
        prop_assert_eq!(tempo(&text).map(|found| found.tempo).ok(), Tempo::from_ratio(digits, 10_000_000_000));
    }

    /// Whole strokes a minute and hundredths are exact both ways.
    #[test]
    fn rates_are_exact(hundredths in 2_400_u64..=15_000) {
        let text = format!("{}.{:02} /min", hundredths / 100, hundredths % 100);
        prop_assert_eq!(tempo(&text).map(|found| found.tempo).ok(), Tempo::from_ratio(6_000, hundredths));
    }

    /// `m:ss.mmm` is the sum of its parts.
    #[test]
    fn clock_times_are_sums(minutes in 0_i64..59, millis in 0_i64..60_000) {
        let text = format!("{minutes}:{:02}.{:03}", millis / 1000, millis % 1000);
        prop_assert_eq!(seconds(&text), Ok(Seconds::from_millis(minutes * 60_000 + millis)));
    }
}
