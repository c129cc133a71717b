//! What simulating lanes costs: a whole pool of them over a practice of two hours, a thousand times, and how it grows with swimmers,
//! hours and runs.

#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, reason = "a benchmark")]

use divan::Bencher;
use lengthwise::cores;
use lengthwise::lane::figures::{LaneFigures, SetFigures, StartFigures, SwimmerFigures};
use lengthwise::lane::simulate::{Trials, simulate};

fn main() {
    divan::main();
}

/// So many lanes of so many swimmers, 1:20 to 2:10 for 100, in sets of ten starts, 100 m on about 20 s of rest, for so many minutes.
fn pool(lanes: usize, swimmers: usize, minutes: f64) -> Vec<LaneFigures> {
    let lane = |lane: usize| {
        let pace = |who: usize| 20.0 + 1.2 * lane as f64 + 0.3 * who as f64;
        let after = 4.0 * pace(swimmers - 1) + 20.0;
        let starts = (minutes * 60.0 / after) as usize;
        let start = |index: usize| StartFigures {
            regroup: 0.0,
            after: (index % 10 < 9).then_some(after),
            lengths: (0..swimmers).map(|who| Some(vec![pace(who); 4])).collect(),
        };
        let sets = (0..starts).collect::<Vec<_>>();
        let sets = sets.chunks(10).map(|set| SetFigures { starts: set.iter().map(|index| start(*index)).collect() });
        LaneFigures {
            pool: 25.0,
            gap: 5.0,
            swimmers: (0..swimmers).map(|who| SwimmerFigures { name: format!("S{who}"), who, spread: 0.04 }).collect(),
            sets: sets.collect(),
        }
    };
    (0..lanes).map(lane).collect()
}

/// Swims of all runs: what the time is to be divided by.
fn swims(lanes: &[LaneFigures], runs: u64) -> u64 {
    let of = |lane: &LaneFigures| {
        lane.sets.iter().flat_map(|set| &set.starts).map(|start| start.lengths.len() as u64).sum::<u64>()
    };
    lanes.iter().map(of).sum::<u64>() * runs
}

fn run(bencher: Bencher<'_, '_>, (lanes, swimmers, minutes, runs): (usize, usize, f64, u64)) {
    let pool = pool(lanes, swimmers, minutes);
    bencher
        .counter(divan::counter::ItemsCount::new(swims(&pool, runs)))
        .bench_local(|| simulate(&pool, Trials { runs, seed: 1, workers: cores::count() }));
}

/// What is asked of it is 10 s on two cores.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn ten_lanes_of_eight_two_hours_a_thousand_times(bencher: Bencher<'_, '_>) {
    run(bencher, (10, 8, 120.0, 1_000));
}

#[divan::bench(args = [2, 4, 8], sample_count = 3, sample_size = 1)]
fn by_swimmers(bencher: Bencher<'_, '_>, swimmers: usize) {
    run(bencher, (10, swimmers, 120.0, 250));
}

#[divan::bench(args = [30, 60, 120], sample_count = 3, sample_size = 1)]
fn by_minutes(bencher: Bencher<'_, '_>, minutes: u32) {
    run(bencher, (10, 8, f64::from(minutes), 250));
}

#[divan::bench(args = [62, 125, 250], sample_count = 3, sample_size = 1)]
fn by_runs(bencher: Bencher<'_, '_>, runs: u64) {
    run(bencher, (10, 8, 120.0, runs));
}
