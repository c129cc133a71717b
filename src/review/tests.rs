use super::breaths::{BreathTotals, breaths};
use super::focus::focus;
use super::splits::{SplitRow, splits};
use super::week::weeks;
use crate::notebook::entry::{
    Impressions, LoggedPractice, LoggedRepeat, LoggedSet, Measure, Observation, SwimState, ValueSource,
};
use crate::notebook::lengths::LengthRuns;
use crate::units::calendar::Day;

fn day(text: &str) -> Day {
    Day::parse(text).unwrap()
}

/// A repeat of 50 m that was planned to take 50 s.
fn repeat(number: u32, time: Option<f64>) -> LoggedRepeat {
    let timed = |value| Observation { measure: Measure::Time, length: None, value, source: ValueSource::Clock };
    LoggedRepeat {
        number,
        round: 1,
        metres: 50.0,
        lengths: 2,
        swim: "50 m swim".into(),
        plain: LengthRuns::of([1, 2]),
        test: false,
        tempo: Some(1.2),
        predicted: Some(50.0),
        breaths: (6, 7),
        state: SwimState::Swum,
        observations: time.map(timed).into_iter().collect(),
        rehearsed: vec![("head-still".into(), 36)],
    }
}

fn practice(on: &str, repeats: Vec<LoggedRepeat>) -> LoggedPractice {
    LoggedPractice {
        swimmer: "Ida".into(),
        script: None,
        title: "Tuesday".into(),
        day: day(on),
        begun: None,
        pool: "25 m".into(),
        minutes: Some(40.0),
        said: Impressions { effort: Some(5), ..Impressions::default() },
        record: None,
        sets: vec![LoggedSet { number: 1, title: "Range".into(), apart: Some(3), repeats }],
    }
}

#[test]
fn splits_are_held_against_the_plan() {
    let times = [Some(50.0), Some(50.0), None, Some(51.0), Some(53.0)];
    let repeats = (1..).zip(times).map(|(number, time)| repeat(number, time)).collect();
    // (51 + 53) / (50 + 50) − 1 = 4 % slower than the first two; the mean of four is 51 s.
    let row = SplitRow {
        day: day("2026-11-24"),
        set: "Range".into(),
        timed: 4,
        planned: 50.0,
        swum: 51.0,
        faded: Some(1.04 - 1.0),
        apart: Some(3),
    };
    assert_eq!(splits(&[practice("2026-11-24", repeats)]), [row]);
    // A guess is no time, and three times have no halves.
    let mut guessed = repeat(4, Some(60.0));
    guessed.observations[0].source = ValueSource::Guess;
    let three = vec![repeat(1, Some(50.0)), repeat(2, Some(50.0)), repeat(3, Some(53.0)), guessed];
    let rows = splits(&[practice("2026-11-24", three)]);
    assert_eq!((rows[0].timed, rows[0].swum, rows[0].faded), (3, 51.0, None));
    assert_eq!(splits(&[practice("2026-11-24", vec![repeat(1, None)])]), []);
}

#[test]
fn a_championship_is_split_as_published() {
    // 1500 m in 50 m splits, a championship's published result: halves of 465.82 and 470.71 s.
    let published = [
        28.14, 30.61, 30.58, 30.72, 31.16, 31.76, 31.50, 31.42, 31.31, 31.50, 31.33, 31.36, 31.47, 31.43, 31.53, 31.51,
        31.62, 31.53, 31.88, 31.30, 31.60, 31.65, 31.62, 31.74, 31.48, 31.73, 31.34, 31.24, 31.00, 29.47,
    ];
    let repeats = (1..).zip(published).map(|(number, time)| repeat(number, Some(time))).collect();
    let row = splits(&[practice("2026-11-24", repeats)]).remove(0);
    assert!((row.swum * 30.0 - 936.53).abs() < 1e-9, "{row:?}");
    assert!((row.faded.unwrap() - (470.71 / 465.82 - 1.0)).abs() < 1e-9, "{row:?}");
}

#[test]
fn a_focus_left_for_a_fortnight_is_known() {
    let mut soft = repeat(1, None);
    soft.rehearsed = vec![("soft-hand".into(), 10), ("head-still".into(), 20)];
    let mut missed = repeat(2, None);
    missed.state = SwimState::Missed;
    let practices = [
        practice("2026-10-01", vec![soft.clone()]),
        practice("2026-11-15", vec![soft, missed]),
        practice("2026-11-24", vec![repeat(1, None), repeat(2, None)]),
    ];
    // 15 November is a Sunday, in the week before that of the 16th.
    let rows = focus(&practices, day("2026-11-29"), 3);
    let seen: Vec<_> = rows.iter().map(|row| (&row.phrase[..], &row.weeks[..], row.practices, row.days)).collect();
    assert_eq!(seen, [("head-still", &[20, 0, 72][..], 3, 5), ("soft-hand", &[10, 0, 0][..], 2, 14)]);
    assert_eq!(rows.iter().map(super::focus::FocusRow::is_untouched).collect::<Vec<_>>(), [false, true]);
}

#[test]
fn breaths_are_those_tapped_where_they_were() {
    let mut tapped = repeat(2, None);
    tapped.observations =
        vec![Observation { measure: Measure::BreathsLeft, length: None, value: 20.0, source: ValueSource::Tapped }];
    let totals = breaths(&[practice("2026-11-24", vec![repeat(1, None), tapped])]);
    assert_eq!(totals, BreathTotals { left: 26, right: 7 });
    assert_eq!((totals.share_left(), BreathTotals::default().share_left()), (Some(26.0 / 33.0), None));
}

#[test]
fn weeks_begin_on_monday_and_none_is_left_out() {
    let mut unrated = practice("2026-11-29", vec![repeat(1, None)]);
    unrated.minutes = None;
    let practices =
        [practice("2026-11-08", vec![]), practice("2026-11-23", vec![repeat(1, None), repeat(2, None)]), unrated];
    let rows = weeks(&practices, day("2026-11-29"), 3);
    let seen: Vec<_> =
        rows.iter().map(|row| (row.monday.to_string(), row.practices, row.metres, row.load(), row.unrated)).collect();
    // 5 × 40 minutes (session RPE, Foster 2001); the practice of 8 November is before the first week.
    assert_eq!(
        seen,
        [
            ("2026-11-09".into(), 0, 0.0, 0.0, 0),
            ("2026-11-16".into(), 0, 0.0, 0.0, 0),
            ("2026-11-23".to_owned(), 2, 150.0, 200.0, 1)
        ]
    );
    assert_eq!(rows[2].loads, [200.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]);
}
