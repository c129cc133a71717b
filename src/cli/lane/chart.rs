//! A start of a lane as a small distance-time picture of characters: time to the right, the far wall above, each swimmer by number.

use crate::cli::lane::report::LaneReport;
use crate::lane::run::{StartRun, from_wall};

/// Columns and rows of the picture.
const WIDTH: usize = 72;
const HEIGHT: usize = 9;

/// The set and the start that a picture of a lane shows: the one in which somebody is caught by the prediction, else that in which it is
/// likeliest, else the longest.
pub(super) fn choice(report: &LaneReport<'_>) -> Option<(usize, usize)> {
    let caught = |start: &StartRun| start.swims.iter().flatten().any(|swim| swim.contact.is_some());
    let predicted = report
        .outcomes
        .iter()
        .enumerate()
        .find_map(|(set, outcome)| Some((set, outcome.predicted.iter().position(caught)?)));
    let likely = || {
        let catches = report
            .outcomes
            .iter()
            .enumerate()
            .flat_map(|(set, outcome)| outcome.catches.iter().map(move |catch| (catch.chance, set, catch.start)));
        catches.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, set, start)| (set, start))
    };
    let longest = || {
        let of = |(set, outcome): (usize, &crate::lane::simulate::SetOutcome)| {
            Some((outcome.predicted.first()?.last_touch(), set))
        };
        let sets = report.outcomes.iter().enumerate().filter_map(of);
        sets.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, set)| (set, 0))
    };
    predicted.or_else(likely).or_else(longest)
}

/// The lines of the picture of a start; `pool` in metres.
pub(super) fn chart(start: &StartRun, pool: f64) -> Vec<String> {
    let end = start.last_touch().max(start.at + 1.0);
    let mut cells = vec![[' '; WIDTH]; HEIGHT];
    let column =
        |time: f64| (((time - start.at) / (end - start.at) * (WIDTH - 1) as f64).max(0.0) as usize).min(WIDTH - 1);
    let row = |metre: f64| {
        let up = libm::round(from_wall(metre, pool) / pool * (HEIGHT - 1) as f64).max(0.0) as usize;
        (HEIGHT - 1).saturating_sub(up)
    };
    for (place, path) in start.paths.iter().enumerate() {
        let number = char::from_digit(u32::try_from(place + 1).unwrap_or(0), 10).unwrap_or('?');
        for at in 0..WIDTH {
            let time = start.at + (end - start.at) * at as f64 / (WIDTH - 1) as f64;
            let Some(metre) = metre_at(path, time) else { continue };
            if let Some(cell) = cells.get_mut(row(metre)).and_then(|row| row.get_mut(at)) {
                *cell = number;
            }
        }
    }
    for contact in start.swims.iter().flatten().filter_map(|swim| swim.contact) {
        if let Some(cell) = cells.get_mut(row(contact.metre)).and_then(|row| row.get_mut(column(contact.at))) {
            *cell = '*';
        }
    }
    cells.iter().map(|row| row.iter().collect::<String>().trim_end().to_owned()).collect()
}

/// How far somebody is at a time; `None` before the push-off and after the touch.
fn metre_at(path: &[(f64, f64)], time: f64) -> Option<f64> {
    let after = path.iter().position(|(at, _)| *at >= time)?;
    let (to, far) = *path.get(after)?;
    let (from, near) = *path.get(after.checked_sub(1).unwrap_or(after))?;
    if to < time || from > time {
        return None;
    }
    Some(if to > from { near + (far - near) * (time - from) / (to - from) } else { far })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_swimmer_goes_up_and_comes_back() {
        let paths = vec![vec![(0.0, 0.0), (20.0, 25.0), (40.0, 50.0)]];
        let swim = crate::lane::run::SwimRun { go: 0.0, left: 0.0, touch: 40.0, contact: None };
        let start = StartRun { swims: vec![Some(swim)], paths, ..StartRun::default() };
        let lines = chart(&start, 25.0);
        assert_eq!(lines.len(), HEIGHT);
        assert!(lines[0].trim().chars().all(|c| c == '1') && lines[0].find('1') > Some(WIDTH / 2 - 5), "{lines:#?}");
        assert!(lines[HEIGHT - 1].starts_with('1') && lines[HEIGHT - 1].ends_with('1'), "{lines:#?}");
    }

    #[test]
    fn positions_fold_at_the_walls() {
        let cases = [(0.0, 0.0), (10.0, 10.0), (25.0, 25.0), (30.0, 20.0), (50.0, 0.0), (60.0, 10.0), (99.0, 1.0)];
        for (metre, wanted) in cases {
            assert!((from_wall(metre, 25.0) - wanted).abs() < 1e-9, "{metre}");
        }
    }
}
