use super::breaths::{BreathTotals, breaths};
use super::focus::focus;
use super::held::{self, FellApart, HeldTotals};
use super::splits::{SplitRow, splits};
use super::trend::Trend;
use super::week::weeks;
use super::whole::Review;
use crate::notebook::PhrasePair;
use crate::notebook::entry::NotedSwimmer;
use crate::notebook::entry::{
    Impressions, LoggedPractice, LoggedRepeat, LoggedSet, Measure, Observation, SwimState, ValueSource,
};
use crate::notebook::evidence;
use crate::notebook::known::strokes_before;
use crate::notebook::lengths::LengthRuns;
use crate::notebook::sample;
use crate::swimmer::fit::compare::{CueVerdict, Cueing};
use crate::swimmer::fit::counts::Condition;
use crate::units::calendar::Day;

fn day(text: &str) -> Day {
    Day::parse(text).unwrap()
}

/// A repeat of 50 m that was planned to take 50 s.
fn repeat(number: u32, time: Option<f64>) -> LoggedRepeat {
    let timed = |value| Observation { measure: Measure::Time, length: None, value, source: ValueSource::Clock };
    LoggedRepeat {
        tempo: Some(1.2),
        predicted: Some(50.0),
        breaths: (6, 7),
        state: SwimState::Swum,
        observations: time.map(timed).into_iter().collect(),
        rehearsed: vec![("head-still".into(), 36)],
        ..sample::repeat(number, 2)
    }
}

fn practice(on: &str, repeats: Vec<LoggedRepeat>) -> LoggedPractice {
    LoggedPractice {
        day: day(on),
        minutes: Some(40.0),
        said: Impressions { effort: Some(5), ..Impressions::default() },
        ..sample::practice(vec![LoggedSet { number: 1, title: "Range".into(), apart: Some(3), repeats }])
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
        held: Some(false),
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
fn the_stroke_held_where_somebody_said_so() {
    let of = |on: &str, apart: Option<u32>, held: bool| {
        let mut practice = practice(on, vec![repeat(1, Some(50.0))]);
        (practice.sets[0].apart, practice.said.held) = (apart, held);
        practice
    };
    let practices = [of("2026-11-20", Some(1), false), of("2026-11-22", None, true), of("2026-11-24", None, false)];
    let rows: Vec<_> = splits(&practices).iter().map(|row| row.held).collect();
    // Of the last nobody said anything.
    assert_eq!(rows, [Some(false), Some(true), None]);
    let last = FellApart { day: day("2026-11-20"), set: "Range".into(), repeat: 1 };
    assert_eq!(held::held(&practices), HeldTotals { told: 2, held: 1, last: Some(last) });
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

fn counted(tempo: f64, count: f64) -> LoggedRepeat {
    let observed = Observation { measure: Measure::Count, length: Some(2), value: count, source: ValueSource::Counted };
    LoggedRepeat { tempo: Some(tempo), observations: vec![observed], ..repeat(1, None) }
}

/// A practice of one repeat at each tempo, whose counts lie `more` above a line.
fn ladder(on: &str, more: f64) -> LoggedPractice {
    // Whole strokes whose scatter about the line is that of rounding, the same each day.
    let lines = [(1.40, 18.0), (1.30, 19.0), (1.20, 19.0), (1.10, 20.0), (1.00, 22.0), (0.95, 24.0)];
    let repeats =
        (1..).zip(lines).map(|(number, (tempo, count))| LoggedRepeat { number, ..counted(tempo, count + more) });
    practice(on, repeats.collect())
}

fn review(practices: &[LoggedPractice], today: &str) -> Review {
    Review::of("Ida", practices, &strokes_before(&NotedSwimmer { name: "Ida".into(), profile: None }), day(today), 4)
}

#[test]
fn two_strokes_fewer_are_better_and_half_a_one_is_not() {
    let days = ["2026-10-06", "2026-10-13", "2026-10-20", "2026-11-10", "2026-11-17", "2026-11-24"];
    let season = |now: f64| -> Vec<LoggedPractice> {
        days.iter().enumerate().map(|(index, day)| ladder(day, if index < 3 { 2.0 } else { now })).collect()
    };
    let trend = |now: f64| review(&season(now), "2026-11-29").counts.remove(0).trend();
    assert_eq!([trend(0.0), trend(2.0), trend(4.0)], [Trend::Better, Trend::Same, Trend::Worse]);
    let counts = review(&season(0.0), "2026-11-29").counts.remove(0);
    let change = counts.change.unwrap();
    assert!((change.mean + 2.0).abs() < 0.3 && change.low < -2.0 && change.high > -2.0 - 0.3, "{change:?}");
    assert_eq!((counts.counts, counts.rows.len()), ([36, 18], 6));
    let slowest = &counts.rows[0];
    assert_eq!(
        (slowest.tempo.to_string(), slowest.counts, slowest.best),
        ("1.40 s".into(), 6, Some((18.0, day("2026-11-10"))))
    );
    // Then it was two strokes more, and 80 % of lengths lie about the line.
    assert!(slowest.then.unwrap() > slowest.now.count + 1.0, "{slowest:?}");
    assert!(slowest.now.low < slowest.now.count && slowest.now.count < slowest.now.high);
    // Held within a stroke to between 1.30 and 1.05 s: 18 relaxed, 19 at 1.20 s, 20 at 1.10 s, with rounding.
    let quickest = counts.quickest.unwrap().tempo.as_f64();
    assert!((1.05..=1.30).contains(&quickest), "{quickest}");
}

#[test]
fn without_enough_nobody_can_tell() {
    let one = review(&[ladder("2026-11-24", 0.0)], "2026-11-29").counts.remove(0);
    assert_eq!((one.change, one.trend(), one.rows[0].then), (None, Trend::Unclear, None));
    assert_eq!(review(&[], "2026-11-29").counts, []);
    assert_eq!(review(&[practice("2026-11-24", vec![repeat(1, None)])], "2026-11-29").counts, []);
}

#[test]
fn only_what_is_proven_counts() {
    let mut guess = counted(1.2, 19.0);
    guess.observations[0].source = ValueSource::Guess;
    let mut drill = counted(1.2, 19.0);
    drill.plain = LengthRuns::of([1]);
    let mut no_speed = counted(1.2, 19.0);
    no_speed.tempo = None;
    let mut whole = counted(1.2, 40.0);
    whole.observations[0].length = None;
    let mut timed = counted(1.2, 19.0);
    timed.observations.push(Observation {
        measure: Measure::Time,
        length: None,
        value: 56.0,
        source: ValueSource::Clock,
    });
    let repeats =
        (1..).zip([guess, drill, no_speed, whole, timed]).map(|(number, repeat)| LoggedRepeat { number, ..repeat });
    let counts = evidence::counts(&[practice("2026-11-24", repeats.collect())], day("2026-11-29"));
    let seen: Vec<_> = counts.iter().map(|noted| (noted.count.count(), noted.tempo, noted.count.days_ago())).collect();
    // The strokes of a whole repeat are shared out among its lengths.
    assert_eq!(seen, [(20.0, Some(1.2), 5.0), (19.0, Some(1.2), 5.0)]);
    assert_eq!([counts[0].count.condition(), counts[1].count.condition()], [Condition::EndOfSet, Condition::EndOfSet]);
    let open = LoggedPractice { pool: "open water".into(), ..practice("2026-11-24", vec![counted(1.2, 19.0)]) };
    assert_eq!(evidence::counts(&[open], day("2026-11-29")), []);
}

#[test]
fn tests_of_three_months_make_a_critical_speed() {
    let test = |number, metres, seconds| {
        let observed = Observation { measure: Measure::Time, length: None, value: seconds, source: ValueSource::Clock };
        let lengths = (metres / 25.0) as u32;
        LoggedRepeat {
            metres,
            lengths,
            plain: LengthRuns::of(1..=lengths),
            test: true,
            observations: vec![observed],
            ..repeat(number, None)
        }
    };
    // Definition, Wakayoshi 1992: 200 m in 2:20 and 400 m in 5:00 make 1.25 m/s and 25 m. A slower 200 and an old 400 are left out.
    let practices = [
        practice("2026-08-01", vec![test(1, 400.0, 290.0)]),
        practice("2026-11-10", vec![test(1, 200.0, 140.0), test(2, 400.0, 300.0)]),
        practice("2026-11-24", vec![test(1, 200.0, 144.0)]),
    ];
    let critical = review(&practices, "2026-11-29").critical.unwrap();
    assert!((critical.speed - 1.25).abs() < 1e-12 && (critical.reserve - 25.0).abs() < 1e-9, "{critical:?}");
}

#[test]
fn a_length_has_a_speed_where_count_and_time_are_known() {
    let mut timed = counted(1.2, 20.0);
    timed.observations.push(Observation {
        measure: Measure::Time,
        length: Some(2),
        value: 28.0,
        source: ValueSource::Clock,
    });
    let review = review(&[practice("2026-11-24", vec![timed, counted(1.1, 20.0)])], "2026-11-29");
    let [row] = &review.speeds[..] else { panic!("{:?}", review.speeds) };
    // 25 m in 28 s, 25 m in 20 strokes; stroke index: speed × distance per stroke (Costill 1985, from memory).
    assert!((row.speed - 25.0 / 28.0).abs() < 1e-12 && (row.index() - 25.0 / 28.0 * 1.25).abs() < 1e-12, "{row:?}");
}

#[test]
fn sides_are_compared_at_like_tempo() {
    let side = |number: u32, left: bool, count: f64| LoggedRepeat {
        number,
        breaths: if left { (7, 0) } else { (0, 7) },
        ..counted(1.2, count)
    };
    let repeats =
        (1..=8).map(|number| side(number, number % 2 == 0, 19.0 + f64::from(2 * (number % 2)) + f64::from(number / 5)));
    let one_day = review(&[practice("2026-11-24", repeats.clone().collect())], "2026-11-29").sides.unwrap();
    // One day with both is one observation: it proves nothing, however many counts it has.
    assert_eq!((one_day.counts, one_day.found.practices), ([4, 4], (1, 1)));
    assert!(matches!(one_day.found.verdict, CueVerdict::CannotTell { .. }), "{one_day:?}");
    // Ten days do: two strokes fewer to the left, at one tempo; the end of the set is the same for both.
    let days: Vec<_> = (10..20).map(|day| practice(&format!("2026-11-{day}"), repeats.clone().collect())).collect();
    let sides = review(&days, "2026-11-29").sides.unwrap();
    assert_eq!(sides.found.verdict, CueVerdict::Lower(Cueing::First), "{sides:?}");
    assert!((sides.found.difference.unwrap() + 2.0).abs() < 0.3 && sides.found.high < 0.0, "{sides:?}");
}

#[test]
fn one_of_two_phrases_is_found_to_hold_the_count() {
    let pair = PhrasePair { first: "long-reach".into(), second: "soft-hand".into(), begun: day("2026-10-05") };
    let with = |phrase: &str, count: f64| LoggedRepeat { rehearsed: vec![(phrase.into(), 30)], ..counted(1.2, count) };
    let day = |index: i32| pair.begun.plus_days(3 * index).unwrap().to_string();
    // They take turns from day to day; the first has a stroke and a half fewer, and every day a form of its own.
    let season = |difference: f64| -> Vec<LoggedPractice> {
        let form = [0.0, 1.0, 0.0, 0.0, 1.0, 1.0];
        let swum = |index: i32| {
            let (phrase, more) = if index % 2 == 0 { ("long-reach", 0.0) } else { ("soft-hand", difference) };
            let count = 19.0 + more + form[index as usize / 2 % 6];
            practice(&day(index), vec![with(phrase, count), LoggedRepeat { number: 2, ..with(phrase, count) }])
        };
        (0..18).map(swum).collect()
    };
    let before = strokes_before(&NotedSwimmer { name: "Ida".into(), profile: None });
    let words = |difference: f64| {
        let today = Day::parse("2026-11-29").unwrap();
        Review::comparing("Ida", &season(difference), &before, today, 8, Some(pair.clone())).words.unwrap().1
    };
    let found = words(2.0);
    assert_eq!((found.counts, found.found.practices), ([18, 18], (9, 9)));
    assert_eq!(found.found.verdict, CueVerdict::Lower(Cueing::First), "{found:?}");
    assert!(!matches!(words(0.0).found.verdict, CueVerdict::Lower(_)));
    assert!(review(&season(2.0), "2026-11-29").words.is_none(), "nothing is compared unasked");
}
