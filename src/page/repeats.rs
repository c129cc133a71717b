//! Every start in numbers: the text that stands for the picture, and what a coach compares the clock with.

use super::typed::typed;
use crate::plan::deck::whole;
use crate::plan::{Plan, RepeatPlan, SetPlan};
use crate::units::time::Seconds;
use maud::{Markup, html};

const COLUMNS: [&str; 9] = ["start", "far", "tempo", "count", "swim", "due", "every", "rest", "focus"];

/// The starts of all sets.
pub fn table(plan: &Plan) -> Markup {
    html! {
        div.wide tabindex="0" role="region" aria-label="Every start, a table that scrolls sideways" {
            table {
                thead { tr { @for column in COLUMNS { th scope="col" { (column) } } } }
                @for set in &plan.sets { (rows(set, plan.unit)) }
            }
        }
        p.note {
            "Times of day of the practice, from its first sound. Tempo in seconds a stroke, count in strokes a length; "
            "swim, due and rest are predicted."
        }
    }
}

fn rows(set: &SetPlan, unit: &str) -> Markup {
    html! {
        tbody {
            tr { th.set scope="rowgroup" colspan=(COLUMNS.len()) { (typed(&set.title)) } }
            @for repeat in &set.repeats { (row(repeat, unit)) }
        }
    }
}

fn row(repeat: &RepeatPlan, unit: &str) -> Markup {
    let time = |time: Option<Seconds>| time.map(whole).unwrap_or_default();
    html! {
        tr {
            th scope="row" { (repeat.start) }
            td { @if repeat.estimated { "about " } (repeat.distance) " " (unit) }
            td { @if let Some(tempo) = repeat.tempo { (format!("{:.2}", tempo.as_f64())) } }
            td { @if let Some(count) = repeat.count { (format!("{count:.1}")) } }
            td { (whole(repeat.predicted)) }
            td { (whole(repeat.start + repeat.predicted)) }
            td { (time(repeat.send_off)) }
            td { (time(repeat.rest)) }
            td.words { (typed(&repeat.focus.join(", "))) }
        }
    }
}
