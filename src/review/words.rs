//! What a review says, in sentences that the screen and the page share.

use super::counts::{CountReview, HELD};
use super::held::{FellApart, HeldTotals};
use super::sides::Compared;
use super::trend::Trend;
use super::whole::Review;
use crate::swimmer::fit::breaking::{Breaking, CountsWanted};
use crate::swimmer::fit::compare::{CueVerdict, Cueing};
use crate::swimmer::fit::difference::Difference;
use crate::units::time::{Seconds, Tempo};

/// How much was swum, and when last.
pub fn volume(review: &Review) -> String {
    let last = match review.last.map(|last| review.today.days_since(last)) {
        None => return "no practice in the notebook yet".into(),
        Some(0) => "today".to_owned(),
        Some(1) => "yesterday".to_owned(),
        Some(days) => format!("{days} days ago"),
    };
    let recent = many(review.recent, "practice");
    let last = if review.practices == 1 { last } else { format!("the last of them {last}") };
    format!("{recent} in four weeks, {:.1} km; {} in all, {last}", review.metres / 1000.0, review.practices)
}

/// So many of something.
pub fn many(n: usize, of: &str) -> String {
    if n == 1 { format!("1 {of}") } else { format!("{n} {of}s") }
}

/// How the count has changed.
pub fn change(counts: &CountReview) -> String {
    let Some(change) = &counts.change else {
        return "Change: can't tell, it takes counts on two days of the last four weeks and on two of the four before."
            .into();
    };
    let interval = interval(change);
    match counts.trend() {
        Trend::Better => format!("Better: {:.1} strokes fewer at the same tempo ({interval}).", change.mean.abs()),
        Trend::Worse => format!("Worse: {:.1} strokes more at the same tempo ({interval}).", change.mean),
        Trend::Same => format!("The same within a miscount ({interval} strokes at the same tempo)."),
        Trend::Unclear => format!("Change: can't tell yet ({interval} strokes at the same tempo)."),
    }
}

/// An interval as `-1.2 to +0.3`.
pub fn interval(change: &Difference) -> String {
    format!("{:+.1} to {:+.1}", change.low, change.high)
}

/// The quickest tempo that is held.
pub fn quickest(counts: &CountReview) -> Option<String> {
    let quickest = counts.quickest?;
    let relaxed = counts.relaxed;
    let then =
        counts.quickest_then.map_or_else(String::new, |then| format!("; four weeks ago {}", seconds(then.tempo)));
    Some(format!(
        "Quickest tempo within {HELD:.0} stroke of relaxed ({:.1} at {}): {}{then}.",
        relaxed.count,
        seconds(relaxed.tempo),
        seconds(quickest.tempo)
    ))
}

/// A tempo with its unit.
pub fn seconds(tempo: Tempo) -> String {
    format!("{:.2} s", tempo.as_f64())
}

/// A time in seconds, to a tenth, as a swimmer reads it.
pub fn time(seconds: f64) -> String {
    Seconds::from_estimate(libm::round(seconds * 10.0) / 10.0).to_string()
}

/// What a comparison of two kinds of lengths says; `one` and `other` name them.
pub fn compared(compared: &Compared, one: &str, other: &str) -> String {
    let [of_one, of_other] = compared.counts;
    let found = &compared.found;
    let bounded = found.low.is_finite() && found.high.is_finite();
    let interval = if bounded { format!(", {:+.1} to {:+.1}", found.low, found.high) } else { String::new() };
    let strokes = found.difference.unwrap_or(0.0).abs();
    match found.verdict {
        CueVerdict::Same => format!("the same {one} and {other} ({}{interval})", many(of_one + of_other, "count")),
        CueVerdict::Lower(Cueing::First) => format!("{strokes:.1} strokes fewer {one} than {other}{interval}"),
        CueVerdict::Lower(Cueing::Second) => format!("{strokes:.1} strokes fewer {other} than {one}{interval}"),
        CueVerdict::CannotTell { more } => {
            let more = match more {
                Some(more) => format!("; about {} more could tell", many(more as usize, "practice")),
                None => String::new(),
            };
            format!("can't tell: {} {one}, {of_other} {other}{interval}{more}", many(of_one, "count"))
        }
    }
}

/// Where the count leaves its line.
pub fn breaking(counts: &CountReview) -> Option<String> {
    let wanted =
        |wanted: &CountsWanted| format!("{} more at {}", many(wanted.counts as usize, "count"), seconds(wanted.tempo));
    Some(match counts.breaking? {
        Breaking::At { tempo, low, high, more } => {
            let more = more.as_ref().map_or_else(String::new, |more| format!("; {} would narrow it", wanted(more)));
            format!("The count leaves its line at {tempo:.2} s ({low:.2} to {high:.2} s){more}.")
        }
        Breaking::HoldsTo { tempo, next } => {
            format!(
                "The count stays on its line down to {tempo:.2} s; {} would show whether quicker too.",
                wanted(&next)
            )
        }
        Breaking::NotEnough(more) => {
            format!("Where the count leaves its line: can't tell; {} would settle it.", wanted(&more))
        }
    })
}

/// Whether the stroke held, where somebody said so.
pub fn held(review: &Review) -> Option<String> {
    let HeldTotals { told, held, last } = &review.held;
    let place = last.as_ref().map_or_else(String::new, |FellApart { day, set, repeat }| {
        format!("; it last fell apart on {day}, {set}, from repeat {repeat} on")
    });
    (*told > 0)
        .then(|| format!("Stroke   held in {held} of {} in four weeks, by the log{place}", many(*told, "practice")))
}

/// The critical speed, or why there is none.
pub fn critical(review: &Review) -> String {
    match &review.critical {
        Ok(critical) => {
            let within = critical.interval().map_or_else(
                || "from two swims: no interval".to_owned(),
                |(low, high)| format!("{} to {}", time(100.0 / high), time(100.0 / low)),
            );
            let pace = time(critical.per_hundred());
            format!(
                "Critical speed: {pace} for 100 m ({within}), from {} tests of three months; it varies by 0.04 m/s",
                critical.trials
            )
        }
        Err(why) => format!("Critical speed: none, {}", why.words()),
    }
}
