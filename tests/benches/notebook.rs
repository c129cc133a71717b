//! A squad of 200 swimmers over five years, half a million rows: how long it takes to review one of them, and all.

#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout, reason = "a benchmark that cannot go on stops")]

use lengthwise::notebook::entry::{
    Impressions, LoggedPractice, LoggedRepeat, LoggedSet, Measure, NotedSwimmer, Observation, SwimState, ValueSource,
};
use lengthwise::notebook::known::strokes_before;
use lengthwise::notebook::lengths::LengthRuns;
use lengthwise::notebook::{Notebook, OpenFor, Wanted};
use lengthwise::review::whole::Review;
use lengthwise::units::calendar::Day;
use std::time::Instant;

/// How many swimmers, and how many practices of each.
const SWIMMERS: u32 = 200;
const PRACTICES: u32 = 240;

fn repeat(number: u32, seed: u32) -> LoggedRepeat {
    // Tempos from 1.10 to 1.35 s, and counts that rise as the tempo does, with two strokes of scatter.
    let step = (number + seed) % 6;
    let count = f64::from(17 + step + seed * 7 % 3);
    LoggedRepeat {
        number,
        round: 1,
        metres: 50.0,
        lengths: 2,
        swim: "50 m swim".into(),
        plain: LengthRuns::of([1, 2]),
        test: false,
        tempo: Some(1.35 - 0.05 * f64::from(step)),
        predicted: Some(52.0),
        breaths: (6, 6),
        state: SwimState::Swum,
        observations: vec![Observation {
            measure: Measure::Count,
            length: Some(2),
            value: count,
            source: ValueSource::Counted,
        }],
        rehearsed: vec![(format!("phrase-{}", seed % 5), 36)],
    }
}

fn practice(swimmer: u32, number: u32) -> LoggedPractice {
    let first = Day::parse("2021-12-01").unwrap();
    // Every seventh to eighth day.
    let day = first.plus_days((number * 1820 / PRACTICES) as i32).unwrap();
    LoggedPractice {
        swimmer: format!("Swimmer {swimmer}"),
        script: None,
        title: "Tuesday".into(),
        day,
        begun: None,
        pool: "25 m".into(),
        minutes: Some(45.0),
        said: Impressions { effort: Some(5), ..Impressions::default() },
        record: None,
        sets: vec![LoggedSet {
            number: 1,
            title: "Range".into(),
            apart: None,
            repeats: (1..=3).map(|repeat_number| repeat(repeat_number, swimmer + number)).collect(),
        }],
    }
}

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("squad.sqlite");
    let mut notebook = Notebook::open(&path, OpenFor::Writing).unwrap();
    let begun = Instant::now();
    for swimmer in 0..SWIMMERS {
        let all: Vec<_> = (0..PRACTICES).map(|number| practice(swimmer, number)).collect();
        notebook.add("2026-11-29 18:00", "benchmark", &all).unwrap();
    }
    let rows = SWIMMERS * PRACTICES * (1 + 1 + 3 * 3);
    let bytes = std::fs::metadata(&path).unwrap().len();
    println!("{rows} rows written in {:.1} s, {} MB", begun.elapsed().as_secs_f64(), bytes / 1_000_000);
    drop(notebook);
    for (purpose, name) in [(OpenFor::Reading, "reading"), (OpenFor::Writing, "writing, with its check")] {
        let begun = Instant::now();
        drop(Notebook::open(&path, purpose).unwrap());
        println!("opened for {name}: {:.3} s", begun.elapsed().as_secs_f64());
    }
    let today = Day::parse("2026-11-29").unwrap();
    let before = strokes_before(&NotedSwimmer { name: "Swimmer".into(), profile: None });
    let notebook = Notebook::open(&path, OpenFor::Reading).unwrap();
    let one = |name: String| {
        let kept = notebook.practices(&Wanted { swimmer: Some(name.clone()), ..Wanted::default() }).unwrap();
        let practices: Vec<_> = kept.into_iter().map(|(_, practice)| practice).collect();
        Review::of(&name, &practices, &before, today, 8)
    };
    let begun = Instant::now();
    let review = one("Swimmer 7".into());
    println!("review of one: {:.3} s, {} tempos", begun.elapsed().as_secs_f64(), review.counts[0].rows.len());
    let begun = Instant::now();
    let practices: usize = (0..SWIMMERS).map(|swimmer| one(format!("Swimmer {swimmer}")).practices).sum();
    println!("review of the squad: {:.2} s, {practices} practices", begun.elapsed().as_secs_f64());
}
