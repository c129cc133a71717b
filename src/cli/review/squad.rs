//! A squad at a glance: a row each.

use crate::cli::columns::columns;
use crate::diag::shown::{Shown, printable};
use crate::review::focus::FocusRow;
use crate::review::whole::Review;

/// The table, and how to see more of one.
pub(super) fn page(reviews: &[Review]) -> Shown {
    let header = ["swimmer", "last", "four weeks", "km", "strokes", "held to", "untouched"].map(str::to_owned);
    let rows = reviews.iter().map(row);
    let mut page = Shown::default();
    page.extend(columns(&std::iter::once(header).chain(rows).collect::<Vec<_>>()).into_iter().map(|line| line + "\n"));
    page.push("\nstrokes: of a length at the same tempo, against four weeks ago. held to: the quickest tempo within one stroke of relaxed.\n");
    page.push("One of them: --swimmer NAME\n");
    page
}

fn row(review: &Review) -> [String; 7] {
    let counts = review.counts.first();
    let ago = review.last.map(|last| review.today.days_since(last));
    let untouched = review.focus.iter().filter(|row| FocusRow::is_untouched(row)).count();
    let dash = || "-".to_owned();
    [
        printable(&review.swimmer).into_owned(),
        ago.map_or_else(dash, |days| if days == 0 { "today".into() } else { format!("{days} d ago") }),
        review.recent.to_string(),
        format!("{:.1}", review.metres / 1000.0),
        counts.map_or_else(dash, |counts| counts.trend().words().to_owned()),
        counts.and_then(|counts| counts.quickest).map_or_else(dash, |held| format!("{:.2} s", held.tempo.as_f64())),
        if untouched == 0 { dash() } else { format!("{untouched} phrases") },
    ]
}
