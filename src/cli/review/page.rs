//! The review as text: one screen first, each topic whole when it is asked for.

use crate::cli::args::ReviewTopic;
use crate::cli::columns::columns;
use crate::diag::shown::{Shown, printable};
use crate::notebook::PhrasePair;
use crate::review::counts::{CountReview, TempoRow};
use crate::review::focus::{FocusRow, UNTOUCHED};
use crate::review::sides::Compared;
use crate::review::whole::Review;
use crate::review::words::{breaking, change, compared, critical, held, many, quickest, seconds, time, volume};

/// Blocks of rising height: the parts of a small chart.
const BLOCKS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];
/// So many phrases are on the first screen, and so many tempos.
const FIRST: usize = 5;

/// The page: the first screen, or one topic.
pub(super) fn page(review: &Review, topic: Option<ReviewTopic>) -> Shown {
    let mut page = Shown::heading(&format!("{} · {}", printable(&review.swimmer), review.today)) + "\n";
    page.push(format!("{}\n\n", volume(review)));
    let lines = match topic {
        None => first(review),
        Some(ReviewTopic::Counts) => review.counts.iter().flat_map(|counts| count_table(counts, usize::MAX)).collect(),
        Some(ReviewTopic::Speed) => speed(review),
        Some(ReviewTopic::Splits) => splits(review),
        Some(ReviewTopic::Focus) => {
            focus(&review.focus, usize::MAX).into_iter().chain(words(review)).chain(cues(review)).collect()
        }
        Some(ReviewTopic::Breaths) => breaths(review),
        Some(ReviewTopic::Load) => load(review),
    };
    page.extend(lines.into_iter().map(|line| printable(&line).into_owned() + "\n"));
    page
}

fn first(review: &Review) -> Vec<String> {
    let mut lines = match review.counts.first() {
        Some(counts) => count_table(counts, FIRST),
        None => vec!["No counts yet: log the strokes of a length that was swum to a beat, two tempos at first.".into()],
    };
    let mut section = |more: Vec<String>| {
        if !more.is_empty() {
            lines.push(String::new());
            lines.extend(more);
        }
    };
    section(focus(&review.focus, FIRST));
    section(
        words(review)
            .into_iter()
            .chain(held(review))
            .chain(breaths(review).into_iter().take(1))
            .chain(load(review).into_iter().take(1))
            .collect(),
    );
    lines.push(String::new());
    lines.push("More: --on counts, speed, splits, focus, breaths, load".into());
    lines
}

/// The counts of one pool, at most so many tempos spread over all that were counted.
fn count_table(counts: &CountReview, most: usize) -> Vec<String> {
    let all = counts.rows.len();
    let shown = all.min(most);
    let chosen = (0..shown).filter_map(|index| counts.rows.get(index * (all - 1) / shown.saturating_sub(1).max(1)));
    let header = ["tempo", "now (8 of 10)", "four weeks ago", "best", "counts"].map(str::to_owned);
    let rows: Vec<_> = std::iter::once(header).chain(chosen.map(count_row)).collect();
    let [in_all, recent] = counts.counts;
    let in_all = many(in_all, "count");
    let mut lines =
        vec![format!("Strokes of a length, {} pool: {in_all}, {recent} in the last four weeks", counts.pool)];
    lines.extend(columns(&rows).into_iter().map(|line| format!("  {line}")));
    lines.push(format!("  {}", change(counts)));
    lines.extend(quickest(counts).map(|line| format!("  {line}")));
    lines.extend(breaking(counts).map(|line| format!("  {line}")));
    lines
}

fn count_row(row: &TempoRow) -> [String; 5] {
    let now = row.now;
    [
        seconds(row.tempo),
        format!("{:.1}  ({:.0}-{:.0})", now.count, now.low, now.high),
        row.then.map_or_else(|| "-".into(), |then| format!("{then:.1}")),
        row.best.map_or_else(|| "-".into(), |(count, day)| format!("{count:.0} on {day}")),
        row.counts.to_string(),
    ]
}

/// A chart of one line; the largest value is a whole block, nothing is a dot.
fn chart(values: &[f64]) -> String {
    let most = values.iter().copied().fold(0.0, f64::max);
    let block = |value: &f64| {
        if *value <= 0.0 {
            return '·';
        }
        let step = libm::ceil(value / most * BLOCKS.len() as f64) as usize;
        BLOCKS.get(step.clamp(1, BLOCKS.len()) - 1).copied().unwrap_or('·')
    };
    values.iter().map(block).collect()
}

fn focus(rows: &[FocusRow], most: usize) -> Vec<String> {
    if rows.is_empty() {
        return Vec::new();
    }
    let weeks = rows[0].weeks.len();
    let row = |row: &FocusRow| {
        let weeks: Vec<f64> = row.weeks.iter().map(|strokes| *strokes as f64).collect();
        let ago = match row.days {
            0 => "today".to_owned(),
            1 => "yesterday".to_owned(),
            days => format!("{days} days ago"),
        };
        let untouched = if row.is_untouched() { ": untouched" } else { "" };
        let strokes: u64 = row.weeks.iter().sum();
        [row.phrase.clone(), chart(&weeks), strokes.to_string(), format!("{ago}{untouched}")]
    };
    let mut lines = vec![format!("Focus, counted strokes in each of {weeks} weeks")];
    let table: Vec<_> = rows.iter().take(most).map(row).collect();
    lines.extend(columns(&table).into_iter().map(|line| format!("  {line}")));
    let hidden = rows.iter().skip(most).filter(|row| row.is_untouched()).count();
    if hidden > 0 {
        lines.push(format!("  and {hidden} more untouched for {UNTOUCHED} days"));
    }
    lines
}

/// Which of two phrases holds the count.
fn words(review: &Review) -> Vec<String> {
    let line = |(pair, of): &(PhrasePair, Compared)| {
        let (one, other) = (format!("with {}", pair.first), format!("with {}", pair.second));
        format!("Words    {}", compared(of, &one, &other))
    };
    review.words.iter().map(line).collect()
}

fn cues(review: &Review) -> Vec<String> {
    let line =
        |(phrase, of): &(String, Compared)| format!("  {phrase}: {}", compared(of, "in silence", "with the cue"));
    let lines: Vec<String> = review.cues.iter().map(line).collect();
    let head = (!lines.is_empty()).then(|| "Test swims in silence against swims with the cue, same tempo".to_owned());
    head.into_iter().chain(lines).collect()
}

fn breaths(review: &Review) -> Vec<String> {
    let Some(left) = review.breaths.share_left() else {
        return vec!["Breaths  no pattern in four weeks".into()];
    };
    let (left, right) = (libm::round(left * 100.0), libm::round((1.0 - left) * 100.0));
    let mut lines = vec![format!("Breaths  {left:.0} % left, {right:.0} % right in four weeks")];
    lines.extend(
        review.sides.as_ref().map(|sides| format!("Count    {}", compared(sides, "breathing left", "breathing right"))),
    );
    lines
}

fn load(review: &Review) -> Vec<String> {
    let loads: Vec<f64> = review.weeks.iter().map(|(week, _)| week.load()).collect();
    let unrated: usize = review.weeks.iter().map(|(week, _)| week.unrated).sum();
    let lack =
        if unrated > 0 { format!("; {} without effort or minutes", many(unrated, "practice")) } else { String::new() };
    let mut lines = vec![format!("Load     {}  effort × minutes by week{lack}", chart(&loads))];
    let header = ["week of", "practices", "km", "minutes", "load", "monotony"].map(str::to_owned);
    let rows = review.weeks.iter().map(|(week, load)| {
        [
            week.monday.to_string(),
            week.practices.to_string(),
            format!("{:.1}", week.metres / 1000.0),
            format!("{:.0}", week.minutes),
            format!("{:.0}", load.total),
            load.monotony.map_or_else(|| "-".into(), |monotony| format!("{monotony:.1}")),
        ]
    });
    lines.extend(columns(&std::iter::once(header).chain(rows).collect::<Vec<_>>()));
    lines.push("Load is session RPE × minutes (Foster 2001). That it foretells injury is weakly supported: how you feel goes first.".into());
    lines
}

fn splits(review: &Review) -> Vec<String> {
    if review.splits.is_empty() {
        return vec!["No times yet: log one, or key the touches while it plays.".into()];
    }
    let header = ["day", "set", "timed", "planned", "swum", "second half", "the stroke"].map(str::to_owned);
    let rows = review.splits.iter().rev().map(|row| {
        [
            row.day.to_string(),
            row.set.clone(),
            row.timed.to_string(),
            time(row.planned),
            time(row.swum),
            row.faded.map_or_else(|| "-".into(), |faded| format!("{:+.1} %", faded * 100.0)),
            match (row.apart, row.held) {
                (Some(repeat), _) => format!("fell apart from repeat {repeat}"),
                (None, Some(true)) => "held".to_owned(),
                (None, _) => String::new(),
            },
        ]
    });
    columns(&std::iter::once(header).chain(rows).collect::<Vec<_>>())
}

fn speed(review: &Review) -> Vec<String> {
    let mut lines = Vec::new();
    if review.speeds.is_empty() {
        lines.push("No length yet with both a count and a time.".into());
    } else {
        let header = ["day", "tempo", "speed", "a stroke", "stroke index"].map(str::to_owned);
        let rows = review.speeds.iter().map(|row| {
            [
                row.day.to_string(),
                format!("{:.2} s", row.tempo),
                format!("{:.2} m/s", row.speed),
                format!("{:.2} m", row.per_stroke),
                format!("{:.2}", row.index()),
            ]
        });
        lines.extend(columns(&std::iter::once(header).chain(rows).collect::<Vec<_>>()));
    }
    lines.push(String::new());
    lines.push(critical(review));
    lines
}
