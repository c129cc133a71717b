//! The deck sheet: what is swum, large enough to read wet at arm's length. It is the part that is printed.

use super::typed::typed;
use crate::plan::deck::{describe, far, focus, numbers, word};
use crate::plan::{RepeatPlan, SetPlan};
use crate::practice::Set;
use crate::script::Phase;
use maud::{Markup, html};

/// A set with its lines.
pub fn set(set: &Set, plan: &SetPlan, unit: &str) -> Markup {
    let foci: Vec<Option<String>> = set.lines.iter().map(focus).collect();
    // What all lines have in mind is said once.
    let shared = foci.windows(2).all(|pair| pair.first() == pair.last());
    let shown =
        |index: usize| foci.get(index).and_then(Option::as_deref).filter(|_| !shared || index + 1 == foci.len());
    html! {
        article {
            h2 {
                span.at { (plan.start) }
                " " (typed(&set.title.text))
                span.more {
                    @if let Some(phase) = set.phase { " · " (word(&Phase::ALL, phase)) }
                    @if set.rounds > 1 { " · " (set.rounds) " rounds" }
                    " · " (far(std::slice::from_ref(plan), plan.distance)) " " (unit)
                }
            }
            @for (index, line) in set.lines.iter().enumerate() {
                @let repeats: Vec<&RepeatPlan> = plan.repeats.iter().filter(|repeat| repeat.line == index).collect();
                @let numbers = numbers(line, &repeats);
                div.line {
                    p.what { (typed(&describe(line))) }
                    dl.numbers {
                        (number("tempo", &numbers.tempo))
                        (number("count", &numbers.count))
                        (number("swim", &numbers.swim))
                        (number("every", &numbers.every))
                        (number("rest", &numbers.rest))
                    }
                    @if let Some(focus) = shown(index) { p.focus { (typed(focus)) } }
                }
            }
        }
    }
}

fn number(what: &str, value: &str) -> Markup {
    html! {
        @if !value.is_empty() { div { dt { (what) } dd { (value) } } }
    }
}
