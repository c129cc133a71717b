use super::*;
use crate::notebook::entry::LoggedSet;
use crate::notebook::sample;
use proptest::prelude::*;

fn repeat(number: u32, metres: f64, tempo: Option<f64>) -> LoggedRepeat {
    LoggedRepeat { tempo, ..sample::repeat(number, (metres / 25.0) as u32) }
}

/// Four sets: 2 x 50 m without a tempo, 3 x 50 m quicker each time of which the last is counted, 400 m against the clock, and
/// 2 x 50 m at one tempo.
fn outline() -> Outline {
    let set = |number: u32, repeats: Vec<LoggedRepeat>| LoggedSet { number, title: "Set".into(), apart: None, repeats };
    let tempos = [1.3, 1.2, 1.1];
    let sets = vec![
        set(1, vec![repeat(1, 50.0, None), repeat(2, 50.0, None)]),
        set(2, (1..).zip(tempos).map(|(number, tempo)| repeat(number, 50.0, Some(tempo))).collect()),
        set(3, vec![repeat(1, 400.0, None)]),
        set(4, vec![repeat(1, 50.0, Some(1.0)), repeat(2, 50.0, Some(1.0))]),
    ];
    let asked = |repeat| AskedLength { swim: AskedSwim { set: 2, repeat }, length: 2 };
    let practice = sample::practice(sets);
    Outline { practice, counts: vec![asked(1), asked(3)], times: vec![AskedSwim { set: 3, repeat: 1 }] }
}

fn swims(numbers: &[(u32, u32)]) -> Vec<AskedSwim> {
    numbers.iter().map(|(set, repeat)| AskedSwim { set: *set, repeat: *repeat }).collect()
}

#[test]
fn what_was_left_out_is_places() {
    let outline = outline();
    let missed = |text: &str| missed(text, &outline);
    assert_eq!(missed("no"), Ok(vec![]));
    assert_eq!(missed("2.3"), Ok(swims(&[(2, 3)])));
    assert_eq!(missed("2.2-3 1"), Ok(swims(&[(1, 1), (1, 2), (2, 2), (2, 3)])));
    assert_eq!(missed("from 2.3"), Ok(swims(&[(2, 3), (3, 1), (4, 1), (4, 2)])));
    assert_eq!(missed("set 1 repeat 2; 1.2, from 4"), Ok(swims(&[(1, 2), (4, 1), (4, 2)])));
    for (text, found) in [
        ("5", "there is no set 5: the practice has 4 sets"),
        ("2.4", "there is no repeat 4 of set 2: it has 3 repeats"),
        ("2.2-9999999999", "write 3.2-4"),
        ("2.2-4000000000", "there is no repeat 4000000000"),
        ("1-2", "write each set by itself"),
        ("2.1.1", "is one length"),
        ("some", "is no place"),
    ] {
        let wrong = missed(text).unwrap_err().to_string();
        assert!(wrong.contains(found), "{text}: {wrong}");
    }
}

/// Each value as measure, place, length, value, source.
fn shown(values: &[SaidValue]) -> Vec<String> {
    let one = |SaidValue { swim, measure, length, value }: &SaidValue| {
        let length = length.map_or_else(String::new, |length| format!(" length {length}"));
        let value = value.map_or_else(|| "none".to_owned(), |(value, source)| format!("{value} {source}"));
        format!("{measure} {swim}{length} {value}")
    };
    values.iter().map(one).collect()
}

#[test]
fn counts_have_places_and_tempos() {
    let outline = outline();
    let count = |text: &str| count(text, &outline, ValueSource::Counted).map(|values| shown(&values));
    let one = |text: &str| Ok(vec![text.to_owned()]);
    // The script has the last length counted; without a word of it the last length it is.
    assert_eq!(count("2.3=18"), one("count 2.3 length 2 18 counted"));
    assert_eq!(count("2.2.1=19"), one("count 2.2 length 1 19 counted"));
    assert_eq!(count("4=20?"), one("count 4.2 length 2 20 guess"));
    let both =
        |tempo| Ok(vec!["count 2.1 length 2 18 counted".to_owned(), format!("tempo 2.1 length 2 {tempo} counted")]);
    assert_eq!(count("2.1=18at1.15"), both("1.15"));
    assert_eq!(count("2.1 = 18 at 1,15 s"), both("1.15"));
    assert_eq!(count("2.1=18 at 50 /min"), both("1.2"));
    for (text, found) in [
        ("18", "write 2.3=18"),
        ("2=18", "say which, as 2.3=18"),
        ("3.1.17=18", "3.1 has 16 lengths"),
        ("2.3=18.5", "is no count"),
        ("2.3=180", "180 strokes in one length: 4 to 75 is allowed"),
        ("2.3=18at3", "a tempo of 3: 0.4 to 2.5 seconds a stroke"),
        ("9=18", "there is no set 9"),
    ] {
        let wrong = count(text).unwrap_err().to_string();
        assert!(wrong.contains(found), "{text}: {wrong}");
    }
}

#[test]
fn times_are_those_of_a_clock() {
    let outline = outline();
    let time = |text: &str| time(text, &outline, ValueSource::Clock).map(|value| shown(&[value]).concat());
    let one = |text: &str| Ok(text.to_owned());
    assert_eq!(time("3=5:52"), one("time 3.1 352 clock"));
    assert_eq!(time("3=5:52.5?"), one("time 3.1 352.5 guess"));
    assert_eq!(time("3=no"), one("time 3.1 none"));
    assert_eq!(time("1.2=58,4"), one("time 1.2 58.4 clock"));
    assert_eq!(time("1.2.1=28.9 s"), one("time 1.2 length 1 28.9 clock"));
    for (text, found) in [
        ("3=5.52", "`5.52` for 400 m: 2:00 to 1:00:00 is allowed"),
        ("3=nan", "2:00 to 1:00:00 is allowed"),
        ("1=58", "set 1 has 2 repeats: say which, as 1.2=58"),
        ("58", "write 4=5:52"),
        ("1.2.3=28", "1.2 has 2 lengths"),
    ] {
        let wrong = time(text).unwrap_err().to_string();
        assert!(wrong.contains(found), "{text}: {wrong}");
    }
}

#[test]
fn the_rest_has_ranges() {
    let outline = outline();
    assert_eq!(apart("2.2, 4", &outline), Ok(swims(&[(2, 2), (4, 1)])));
    assert_eq!(apart("none", &outline), Ok(vec![]));
    assert!(apart("2.2 2.3", &outline).unwrap_err().to_string().contains("set 2 is named twice"));
    assert_eq!((feel("5"), effort("0"), minutes("42,5 min")), (Ok(5), Ok(0), Ok(42.5)));
    for wrong in ["0", "6", "x", "-1", "4.5"] {
        assert!(feel(wrong).is_err(), "{wrong}");
    }
    assert!(effort("11").unwrap_err().to_string().contains("0 to 10"));
    assert!(minutes("0").is_err() && minutes("1440").is_err() && minutes("NaN").is_err());
    assert_eq!((pain("No"), pain(" left shoulder ")), (Ok(String::new()), Ok("left shoulder".to_owned())));
    assert!(text(&"x".repeat(LONGEST_TEXT + 1)).is_err());
}

/// What fingers may type: anything, and what is nearly right.
fn typed() -> impl Strategy<Value = String> {
    prop_oneof![
        "\\PC{0,16}",
        "[0-9.=:?, atsfrom-]{0,14}",
        "[1-4](\\.[1-3])?=[0-9]{1,3}(\\?|at1\\.[0-9]{1,2}|:[0-9]{2})?"
    ]
}

proptest! {
    #![proptest_config(crate::cases::cases(200))]

    #[test]
    fn whatever_is_typed_is_taken_or_refused(text in typed()) {
        let outline = outline();
        let mut answers = crate::notebook::answers::Answers {
            missed: missed(&text, &outline).ok(),
            apart: apart(&text, &outline).ok(),
            feel: feel(&text).ok(),
            effort: effort(&text).ok(),
            minutes: minutes(&text).ok(),
            ..Default::default()
        };
        answers.values.extend(count(&text, &outline, ValueSource::Counted).into_iter().flatten());
        answers.values.extend(time(&text, &outline, ValueSource::Clock));
        for said in &answers.values {
            prop_assert!(said.value.is_none_or(|(value, _)| said.measure.range().contains(&value)), "{said:?}");
        }
        // Each of them fits the practice by itself.
        let mut practice = outline.practice.clone();
        prop_assert!(answers.apply(&mut practice).is_ok());
    }
}
